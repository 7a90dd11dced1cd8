"""One casting as a recipe: a kind of mould, a silicone, a casting material, so many moulds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from firstpour.choosing.counts import filled_at_once
from firstpour.choosing.need import PartNeed
from firstpour.choosing.options import Option
from firstpour.choosing.preparing import casting_steps
from firstpour.choosing.supplies import LEAST_G, MM2_PER_DM2, area_mm2
from firstpour.choosing.trial import Trial, needs_of
from firstpour.materials.compatibility import mould_life
from firstpour.materials.material import Kind, Material
from firstpour.materials.steps import Step
from firstpour.parting.values import MouldKind
from firstpour.printing.estimate import SMOOTH_MM
from firstpour.printing.printers import Printer, Process
from firstpour.routes.labour import Poured, cast_labour, cast_steps, work_of
from firstpour.routes.money import Cost, grams_cost
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.work import Work
from firstpour.stock.stock import Amount
from firstpour.workshop.workshop import Workshop

RIGID_PRINTS = {Process.FILAMENT: Kind.FILAMENT, Process.VAT: Kind.PHOTOPOLYMER}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedPieces:
    """What is printed for one mould: hands at the printer, minutes that it runs, grams, by process."""

    process: Process
    hands_min: float
    run_min: float
    grams: float

    @classmethod
    def on(cls, printer: Printer, *, print_min: float, grams: float, count: int = 1) -> "PrintedPieces":
        """So many pieces on that printer that take `print_min` in all."""
        return cls(
            process=printer.process,
            hands_min=count * printer.handling_min,
            run_min=printer.run_min(print_min),
            grams=grams,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldWay:
    """One kind of mould for the part: what the shelf must know of it, its prints, and the steps left on the master.

    `estimated`: it was not worked out; volumes are those of a block around the part.
    """

    kind: str
    need: PartNeed
    pieces: tuple[PrintedPieces, ...]
    step_mm: float
    seam_on_show_mm: float
    estimated: bool
    cleaning: tuple[Step, ...] = ()
    """Work that the prints other than the master's own surface need."""
    fit_miss_mm: float = 0.0
    """How far the fits of the copies lie outside of their tolerances, in all."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cast:
    """A casting material with so much accelerator, and the mix for each number of moulds."""

    casting: Option
    quick_ratio: float
    fillings: dict[int, "Filling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubber:
    """A silicone with so much accelerator."""

    trial: Trial
    quick_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """So many moulds filled, `at_once` of them from one mix, which is the `trial`."""

    trial: Trial
    at_once: int


def cast_recipe(
    way: MouldWay, cast_in: Cast, in_rubber: Rubber, filling: Filling, workshop: Workshop, *, moulds: int
) -> Recipe:
    """So many moulds of that silicone filled with that casting material."""
    casting, rubber, cast = cast_in.casting, in_rubber.trial, filling.trial
    need, silicone = replace(way.need, moulds=moulds), rubber.material
    before = casting_steps(need, casting.material, silicone, workshop.kit)
    life = mould_life(casting=casting.material.traits, silicone=silicone.traits)
    steps = cast_steps(need.master_steps, (*rubber.steps, *before, *cast.steps))
    labour = cast_labour(
        _prints(way),
        steps,
        Poured(
            what=f"weigh, mix and pour {silicone.name}",
            fit=rubber.fit,
            mixes=rubber.mixes,
            demould_min=rubber.demould_min,
        ),
        Poured(
            what=f"weigh, mix and pour {casting.material.name}",
            fit=cast.fit,
            mixes=cast.mixes,
            demould_min=cast.demould_min,
            at_once=filling.at_once * need.cavities,
        ),
        serial=need.serial_pours > 1,
        open_face=way.kind == MouldKind.OPEN_FACE.value,
        cavities=need.cavities,
    )
    stock = workshop.stock
    grams = {key: _total_g(amount) for key, amount in needs_of(cast.mixes).items()}
    mixed = cast.mixes[0].times * min(moulds, filling.at_once) * need.cavities
    per_shot = [grams_cost(workshop.catalogue.get(key), g / mixed, stock) for key, g in grams.items()]
    made = way.need.moulds
    rubber_g = {key: Amount(a_g=one.a_g / made, b_g=one.b_g / made) for key, one in needs_of(rubber.mixes).items()}
    per_mould = [grams_cost(workshop.catalogue.get(key), _total_g(one), stock) for key, one in rubber_g.items()]
    count = "" if moulds == 1 else f", {moulds} moulds"
    reached = casting.way.reached if casting.way is not None else None
    stirred = f"{_softened(casting)}{quick_words(cast_in.quick_ratio)}"
    mould = f"{way.kind} mould of {silicone.name}{quick_words(in_rubber.quick_ratio)}{cavity_words(need)}"
    used = _Used(need=need, workshop=workshop)
    return Recipe(
        name=f"cast in {casting.material.name}{stirred}, {mould}{count}",
        way=Way.CAST,
        material=casting.material.name,
        material_id=casting.material.id,
        silicone=silicone.name,
        silicone_id=silicone.id,
        kind=way.kind,
        hardness=reached,
        off_points=casting.way.off_points if casting.way is not None else None,
        flaw_mm=_left_mm(way),
        seam_mm=way.seam_on_show_mm,
        fit_miss_mm=way.fit_miss_mm,
        accelerator_ratio=cast_in.quick_ratio or None,
        silicone_accelerator_ratio=in_rubber.quick_ratio or None,
        finish=_finish(way),
        once=labour.once,
        each_mould=labour.each_mould,
        each_go=labour.each_go,
        now_and_then=labour.now_and_then,
        each_good=labour.each_good,
        moulds=moulds,
        a_go=filled_at_once(need),
        life_shots=None if life is None else life.low * need.cavities,
        a_mould=need.cavities,
        yield_ratio=need.yield_ratio,
        seen_good=need.seen_good,
        seen_shots=need.seen_shots,
        in_time=cast.fit.chance,
        money_once=(*_print_money(way, workshop), *used.money(steps.once)),
        money_mould=(*per_mould, *used.money((*steps.between_halves, *steps.while_it_cures, *steps.once_a_mould))),
        money_now_and_then=used.money(steps.now_and_then),
        money_try=(*per_shot, *used.money(steps.each_shot)),
        money_good=used.money(steps.each_good),
        notes=_notes(way, cast, casting, moulds=moulds, at_once=filling.at_once),
        estimated=way.estimated,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Used:
    """What steps use up on one part."""

    need: PartNeed
    workshop: Workshop

    def money(self, steps: Sequence[Step]) -> tuple[Cost, ...]:
        """Release, primer, sealer and paint of these steps, each done once."""
        area = area_mm2(self.need)
        return tuple(
            grams_cost(
                self.workshop.catalogue.get(one.uses),
                max(LEAST_G, one.uses_g_dm2 * area / MM2_PER_DM2),
                self.workshop.stock,
            )
            for one in steps
            if one.uses is not None
        )


def _prints(way: MouldWay) -> tuple[Work, ...]:
    """Master and mould pieces, one after the other, cleaned."""
    prints = Work(
        what="print master and mould pieces",
        hands_min=sum(one.hands_min for one in way.pieces),
        wait_min=sum(one.run_min for one in way.pieces),
        printing=True,
    )
    return (prints, *(work_of(one) for one in way.cleaning))


def _print_money(way: MouldWay, workshop: Workshop) -> tuple[Cost, ...]:
    """The printed pieces in the cheapest material of their process."""
    found = []
    for one in way.pieces:
        known = workshop.catalogue.of_kinds([RIGID_PRINTS[one.process]])
        if not known:
            found.append(Cost(what=f"{one.process.value} for prints", amount=one.grams, unit="g", each=None))
            continue
        costs = [grams_cost(material, one.grams, workshop.stock) for material in known]
        found.append(min(costs, key=lambda cost: (cost.each is None, cost.money)))
    return tuple(found)


def quick_words(ratio: float) -> str:
    return f" with {100.0 * ratio:.2g} % accelerator" if ratio else ""


def cavity_words(need: PartNeed) -> str:
    return "" if need.cavities == 1 else f", {need.cavities} cavities"


def _softened(casting: Option) -> str:
    return f" softened to {casting.way.reached}" if casting.way is not None and casting.softened else ""


def _left_mm(way: MouldWay) -> float:
    """Steps that the copies show: those of the print, unless it is sanded or primed before silicone copies it."""
    smooth = any(one.id in ("sand", "prime", "sand-primer") for one in way.need.master_steps)
    return 0.0 if smooth else way.step_mm


def _finish(way: MouldWay) -> str:
    seam = f", {way.seam_on_show_mm:.0f} mm of seam on show faces" if way.seam_on_show_mm > 1.0 else ""
    left = _left_mm(way)
    smooth = "smooth as the sanded master" if left == 0.0 else f"copies steps of {left:.2f} mm of the master"
    smooth = "smooth as the master" if 0.0 < left <= SMOOTH_MM else smooth
    return f"{smooth}, its gloss too{seam}"


def _notes(way: MouldWay, cast: Trial, casting: Option, *, moulds: int, at_once: int) -> tuple[str, ...]:
    notes = list(way.notes)
    if moulds > at_once:
        notes.append(
            f"one mix fills {at_once} of the {moulds} moulds: a filling takes {ceil(moulds / at_once)} mixes"
        )
    mix = cast.mixes[0].mix
    colour = [one for one in mix.additives if one.mass_g > 0 and _colours(one.id, casting.material)]
    notes += [
        f"{one.mass_g:.2f} g of {one.id} for each mix of {mix.total_g:.0f} g, the same every time" for one in colour
    ]
    notes.append("a copy takes its master's gloss: matt sealer, matt copies")
    if way.estimated:
        notes.append("its mould was not worked out: volumes and prints are estimates")
    return tuple(notes)


def _colours(additive_id: str, material: Material) -> bool:
    return additive_id == material.colourant


def _total_g(amount: Amount) -> float:
    return amount.a_g + amount.b_g
