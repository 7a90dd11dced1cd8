"""What the routes of a part start from: its need, how it prints by itself, and the kinds of mould that it allows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import shapely

from firstpour.cavities.lay import COMPARED, Option
from firstpour.choosing.counts import shots
from firstpour.choosing.need import PartNeed
from firstpour.errors import BadJob
from firstpour.job.job import Job, Making, PartRequest
from firstpour.materials.steps import Step
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import block_around
from firstpour.parting.parting import choose_kind
from firstpour.parting.values import MouldKind
from firstpour.plan.kept import open_kept, stage_name
from firstpour.plan.look import Looked
from firstpour.plan.needs import IN_TRAYS, need_of, sized_by_block, sized_by_mould
from firstpour.plan.values import PartPlan, Plan
from firstpour.printing.allowance import FIT_IN_DOUBT, Allowance, Fit, work_out_allowance
from firstpour.printing.estimate import WANTED_STEP_MM, estimate_print
from firstpour.printing.orient import PrintDirection, measure_directions
from firstpour.printing.print_piece import fitting_layer_mm, ways_up, work_on_print
from firstpour.printing.printers import Printer
from firstpour.printing.to_print import ToPrint, part_to_print
from firstpour.routes.cast import Planned
from firstpour.routes.cast_recipe import MouldWay, PrintedPieces
from firstpour.routes.printed import PrintWay
from firstpour.routes.refused import Refused
from firstpour.routes.routes import Asked, PartRoutes, part_routes, rates_of
from firstpour.routes.taken import Taken, taken
from firstpour.store.learned import OTHER_WAY, Seen
from firstpour.values import FloatArray, frame_along, turned
from firstpour.workshop.equipment import pieces_printer
from firstpour.workshop.workshop import Workshop

DIRECTIONS = 40
"""Ways up that are tried for a print that is the copy itself."""
KINDS = tuple(MouldKind)
SMOOTHING = ("sand", "prime", "dry-primer", "sand-primer")
"""Steps of a master that make a print smooth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The part as it prints one way up: for a copy, and with the work that makes a master of it."""

    print: PrintWay
    master_steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standings:
    """By itself, the best way up of each printer; and along the draw, as it stands in trays."""

    alone: tuple[Standing, ...]
    in_trays: Standing


def routes_of(plan: Plan, workshop: Workshop, *, kept: Path | None = None) -> tuple[PartRoutes, ...]:
    """The routes of every part that was planned and has a hardness.

    Raises
    ------
    BadJob
        If no part says how hard its copies shall be.
    """
    job = plan.job
    parts = [one for one in plan.parts if one.request.hardness is not None]
    if not parts:
        raise BadJob(
            "no part says how its copies shall feel", remedy='add hardness = "A 20", or words such as "rigid"'
        )
    rates, begins = rates_of(job), job.first_day(workshop.today)
    workshop = _at_its_beginning(workshop, job)
    return tuple(
        part_routes(asked_of(one, job, begins=begins, kept=kept), workshop, rates=rates, prefer=job.prefer)
        for one in parts
    )


def route_taken(plan: PartPlan, job: Job, workshop: Workshop, *, kept: Path | None = None) -> Taken | Refused:
    """The route that this part takes: of those that it may, the one that the job prefers, else the cheapest."""
    made = part_routes(
        asked_of(plan, job, begins=job.first_day(workshop.today), kept=kept),
        _at_its_beginning(workshop, job),
        rates=rates_of(job),
    )
    asked = plan.request
    return taken(made, making=asked.route, prefer=job.prefer, print_in=asked.print_in, settled=settled(asked))


def settled(request: PartRequest) -> bool:
    """Whether its maker fixed that it is cast, in what kind of mould and of what: nothing is left to prefer."""
    named = (request.kind, request.silicone, request.casting)
    return request.route is Making.CAST and all(one is not None for one in named)


def _at_its_beginning(workshop: Workshop, job: Job) -> Workshop:
    """The workshop on the day on which the work begins: what is out of date by then is not in stock."""
    return replace(workshop, today=job.begin or workshop.today)


def asked_of(plan: PartPlan, job: Job, *, begins: date, kept: Path | None = None) -> Asked:
    """One part as the routes see it; its prints are kept with the other stages."""
    name = stage_name("route-prints", plan.worked_name, plan.request.fits, job.equipment.printers)
    store = open_kept(kept)
    standings = store.get(name)
    if standings is None:
        standings = standings_of(plan, job.equipment.printers)
        store.put(name, standings)
    needs = {kind: need_in(plan, job, kind) for kind in KINDS}
    own = needs[plan.mould.kind]
    moulds, refused = _own_moulds(plan, own)
    for kind in KINDS:
        if kind is plan.mould.kind:
            continue
        against = _against(kind, plan)
        if against is None:
            moulds.append(_other_mould(kind, plan, needs[kind], standings, job))
        else:
            refused.append(against)
    prints = tuple(one.print for one in standings.alone)
    return Asked(
        need=own,
        prints=prints,
        moulds=tuple(moulds),
        refused=tuple(refused),
        begins=begins,
        planned=planned_of(plan, moulds[0]),
    )


def planned_of(plan: PartPlan, way: MouldWay) -> Planned | None:
    """What the plan follows, in that mould; None where a material is missing."""
    choice = plan.choice
    if choice is None or choice.silicone is None or choice.casting is None:
        return None
    return Planned(
        kind=way.kind,
        silicone=choice.silicone.material.id,
        casting=choice.casting.material.id,
        cavities=way.need.cavities,
    )


def _own_moulds(plan: PartPlan, need: PartNeed) -> tuple[list[MouldWay], list[Refused]]:
    """The mould of the plan first, then with other numbers of cavities; and why there are no others."""
    own = own_mould(plan, need)
    made = next((one for one in plan.cavity_options if one.cavities == plan.mould.cavities), None)
    if made is None:
        return [own], []
    several = [with_cavities(own, one, made) for one in compared_options(plan, shots(need)) if one is not made]
    most = max(one.cavities for one in plan.cavity_options)
    refused = []
    if plan.request.cavities != 1 and len(plan.cavity_options) > 1:
        refused = [
            Refused(
                name="another number of cavities",
                reason=f"The job asks for cavities = {plan.request.cavities}.",
                remedy="Leave the number of cavities open.",
            )
        ]
    elif most < min(COMPARED, shots(need)):
        refused = [
            Refused(
                name=f"a {own.kind} mould of more than {'one cavity' if most == 1 else f'{most} cavities'}",
                reason="No more of them lie side by side in a tray that the printer takes, clear of gates and vents.",
                remedy="Make more moulds, enter a larger printer, or give up along the draw direction, so that gate "
                "and vents leave upwards.",
            )
        ]
    return [own, *several], refused


def standings_of(plan: PartPlan, printers: Sequence[Printer]) -> Standings:
    """How the part prints by itself on each printer, and along its draw."""
    thing = part_to_print(plan.part, features=plan.printing.features or None)
    alone = []
    for printer in printers:
        way = ways_up(thing, printer=printer, directions=DIRECTIONS).best[0]
        alone.append(_standing(thing, way, printer, plan.request.fits))
    printer = pieces_printer(printers, plan.request.process)
    up = plan.mould.draw.direction
    layer_mm = fitting_layer_mm(thing, up, printer=printer, wanted_step_mm=WANTED_STEP_MM)
    along = measure_directions(thing, up[None], printer=printer, layer_mm=layer_mm)[0]
    return Standings(alone=tuple(alone), in_trays=_standing(thing, along, printer, ()))


def _standing(thing: ToPrint, way: PrintDirection, printer: Printer, fits: Sequence[Fit]) -> Standing:
    width_mm, depth_mm = _least_rectangle_mm(thing.mesh.vertices_mm @ frame_along(way.direction).T)
    steps = work_on_print(thing, way, way.support_mm2, printer=printer)
    made = _allowance(thing, way, printer, fits)
    print_way = PrintWay(
        printer=printer,
        size_mm=(width_mm, depth_mm, way.height_mm),
        layer_mm=way.layer_mm,
        step_mm=way.step_mm,
        print_min=way.print_min,
        material_ml=way.estimate.material_ml,
        support_mm2=way.support_mm2,
        fits=way.fits,
        up=(float(way.direction[0]), float(way.direction[1]), float(way.direction[2])),
        smoothing=tuple(one for one in steps if one.id in SMOOTHING),
        fit_misses=() if made is None else _missed_words(made),
        fit_doubts=() if made is None else tuple(one for one in made.findings if one.code == FIT_IN_DOUBT),
        fit_miss_mm=0.0 if made is None else _miss_mm(made),
    )
    return Standing(print=print_way, master_steps=steps)


def _allowance(thing: ToPrint, way: PrintDirection, printer: Printer, fits: Sequence[Fit]) -> Allowance | None:
    """What the fits of a print that is the copy itself come to."""
    if not fits:
        return None
    return work_out_allowance(
        (), printer=printer, direction=way.direction, layer_mm=way.layer_mm, features=thing.features, fits=fits
    )


def _miss_mm(made: Allowance) -> float:
    """How far the fits lie outside of their tolerances, in all."""
    return sum(one.miss_mm for one in made.fits)


def _missed_words(made: Allowance) -> tuple[str, ...]:
    return tuple(
        f"a {one.fit.kind.value} of {one.fit.nominal_mm:g} ± {one.fit.tolerance_mm:g} mm would not hold, "
        f"by {one.miss_mm:.2f} mm"
        for one in made.fits
        if not one.holds
    )


def _least_rectangle_mm(points_mm: FloatArray) -> tuple[float, float]:
    """Sides of the least rectangle about the shadow of the points."""
    least = shapely.minimum_rotated_rectangle(shapely.MultiPoint(points_mm[:, :2]))
    if not isinstance(least, shapely.Polygon):
        return (1.0, 1.0)
    corners = np.asarray(least.exterior.coords)[:3]
    sides = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    return float(sides.max()), float(sides.min())


def need_in(plan: PartPlan, job: Job, kind: MouldKind) -> PartNeed:
    """The part in that kind of mould: as worked out for its own, by its block for another."""
    looked = Looked(part=plan.part, measures=plan.measures, draws=plan.draws, draw=plan.mould.draw, kind=kind)
    own = kind is plan.mould.kind
    sized = sized_by_mould(plan.mould) if own else sized_by_block(looked, job.settings)
    flow = plan.flow
    told = 1.0 if own else OTHER_WAY
    return need_of(
        looked,
        plan.request,
        sized,
        master=plan.printing.printer.process,
        master_steps=plan.printing.steps,
        pour_min=None if not own or flow is None or flow.fill_s is None else flow.fill_s / 60.0,
        seen=Seen(good=told * plan.seen.good, shots=told * plan.seen.shots),
    )


def _against(kind: MouldKind, plan: PartPlan) -> Refused | None:
    """Why the part's mould cannot be of that kind."""
    name, asked = f"{kind.value} mould", plan.request.kind
    if asked is not None:
        return Refused(
            name=name, reason=f"The job asks for kind = “{asked}”.", remedy="Leave the kind of mould open."
        )
    if kind is MouldKind.OPEN_FACE and choose_kind(plan.part, plan.mould.draw.direction) is not kind:
        return _no_back(name, plan)
    if plan.mould.kind is MouldKind.BLOCK and kind in (MouldKind.TRAYS, MouldKind.BEDDING):
        told = next((one for one in plan.mould.findings if one.code in ("closed-ring", "cut-open")), None)
        reason = "Two halves would not come apart." if told is None else f"{told.what[0].upper()}{told.what[1:]}."
        return Refused(name=name, reason=reason, remedy="" if told is None else told.remedy)
    return None


def _no_back(name: str, plan: PartPlan) -> Refused:
    """Why the part is not poured into its open back: it has none that is hidden, or its mould opens another way."""
    backs = (one for one in plan.draws if choose_kind(plan.part, one.direction) is MouldKind.OPEN_FACE)
    back = next(backs, None)
    if back is None:
        reason = "The part has no flat back that is hidden."
        return Refused(name=name, reason=reason, remedy="Mark its flat side hidden, if it has one that nobody sees.")
    along = ", ".join(f"{value + 0.0:.3g}" for value in back.direction)
    return Refused(
        name=name,
        reason="The mould does not open square to the hidden flat back.",
        remedy=f'Fix kind = "open-face" and draw = [{along}] in the job to have it so.',
    )


def own_mould(plan: PartPlan, need: PartNeed) -> MouldWay:
    """The mould of the plan as the routes take it."""
    prints = tuple(
        PrintedPieces.on(one.plan.printer, print_min=one.plan.print_min, grams=one.plan.estimate.material_g)
        for one in plan.printing.pieces
    )
    return MouldWay(
        kind=plan.mould.kind.value,
        need=need,
        pieces=prints,
        step_mm=plan.printing.surface.step_mm,
        seam_on_show_mm=0.0 if plan.mould.kind is MouldKind.OPEN_FACE else plan.mould.draw.seam_on_show_mm,
        estimated=False,
        cleaning=plan.printing.cleaning,
        fit_miss_mm=_miss_mm(plan.printing.allowance),
        notes=_missed_words(plan.printing.allowance),
    )


def with_cavities(own: MouldWay, option: Option, made: Option) -> MouldWay:
    """The mould of the plan with another number of cavities.

    Silicone by the block and prints by the plastic of the trays, against those that were worked out: an estimate.
    """
    if option is made:
        return own
    share, plastic = option.silicone_ml / made.silicone_ml, option.print_ml / made.print_ml
    pieces_ml = {name: share * ml for name, ml in own.need.pieces_ml.items()}
    return replace(
        own,
        need=replace(own.need, cavities=option.cavities, pieces_ml=pieces_ml),
        pieces=tuple(replace(one, run_min=plastic * one.run_min, grams=plastic * one.grams) for one in own.pieces),
        estimated=True,
    )


def compared_options(plan: PartPlan, shots: int) -> tuple[Option, ...]:
    """The numbers of cavities that routes are made of: about 1, 2, 4, 8 … as the table has them, no more than shots.

    Where the job asks for a number, that of the plan alone; so too where different parts lie together.
    """
    made = plan.mould.cavities
    known = {one.cavities: one for one in plan.cavity_options if one.cavities <= shots or one.cavities == made}
    if plan.request.cavities != 1 or plan.members:
        known = {count: one for count, one in known.items() if count == made}
    doubled = [max((count for count in known if count <= 2**k), default=made) for k in range(len(known))]
    return tuple(known[count] for count in sorted({*doubled, made} & set(known)))


def _other_mould(kind: MouldKind, plan: PartPlan, need: PartNeed, standings: Standings, job: Job) -> MouldWay:
    """A kind that was not worked out: a box or trays about the block, and the part in them or by itself."""
    in_trays = kind in IN_TRAYS
    best = min(standings.alone, key=lambda one: (not one.print.fits, one.print.step_mm))
    surface = standings.in_trays if in_trays else best
    printer = pieces_printer(job.equipment.printers, plan.request.process)
    pieces = [_box_print(kind, plan, job.settings, printer)]
    if not in_trays:
        grams = best.print.material_ml * best.print.printer.density_g_ml
        pieces.append(PrintedPieces.on(best.print.printer, print_min=best.print.print_min, grams=grams))
    return MouldWay(
        kind=kind.value,
        need=replace(need, master=surface.print.printer.process, master_steps=surface.master_steps),
        pieces=tuple(pieces),
        step_mm=surface.print.step_mm,
        seam_on_show_mm=0.0 if kind is MouldKind.OPEN_FACE else plan.mould.draw.seam_on_show_mm,
        estimated=True,
    )


def _box_print(kind: MouldKind, plan: PartPlan, settings: MouldSettings, printer: Printer) -> PrintedPieces:
    """Trays, or box and bedding, by the block around the part: an estimate of our own (decision 0051)."""
    vertices = turned(plan.part.mesh, rotation=frame_along(plan.mould.draw.direction)).vertices_mm
    block = block_around(vertices, wall_mm=settings.wall_mm, side_mm=settings.wall_mm)
    x, y, z = (float(one) for one in block.high_mm - block.low_mm)
    part_mm3, wall_mm = plan.measures.volume_mm3, settings.floor_mm
    count = 2 if kind is MouldKind.TRAYS else 1
    height_mm = z / count + settings.lip_mm
    walls_mm3 = count * wall_mm * (x * y + 2.0 * height_mm * (x + y))
    filled_mm3 = {
        MouldKind.TRAYS: part_mm3,
        MouldKind.OPEN_FACE: part_mm3,
        MouldKind.BEDDING: 0.5 * (x * y * z - part_mm3),
        MouldKind.BLOCK: 0.0,
    }[kind]
    layer_mm = max(printer.layer_heights_mm) if kind not in IN_TRAYS else min(0.1, max(printer.layer_heights_mm))
    made = estimate_print(
        printer=printer,
        layer_mm=layer_mm,
        height_mm=count * height_mm,
        volume_mm3=walls_mm3 + filled_mm3,
        area_mm2=2.0 * walls_mm3 / wall_mm + plan.measures.area_mm2,
        support_mm3=0.0,
    )
    return PrintedPieces.on(printer, print_min=made.print_min, grams=made.material_g, count=count)
