"""Copies printed one by one: every printable material on every printer that takes it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor

from firstpour.choosing.need import PartNeed
from firstpour.choosing.supplies import LEAST_G, MM2_PER_DM2, area_mm2
from firstpour.materials.feel import Hardness, Scale, hardness_of, points_above
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Kind, Material, value_or
from firstpour.materials.steps import Step, step
from firstpour.printing.estimate import SMOOTH_MM
from firstpour.printing.printers import Printer, Process
from firstpour.routes.labour import work_of
from firstpour.routes.money import grams_cost
from firstpour.routes.recipe import Recipe, Standing, Way
from firstpour.routes.refused import Refused, miss_of
from firstpour.routes.work import Work
from firstpour.stock.stock import Amount, stock_line
from firstpour.values import Finding
from firstpour.workshop.workshop import Workshop

PRINTED_OF = {Kind.FILAMENT: Process.FILAMENT, Kind.PHOTOPOLYMER: Process.VAT}
GAP_MM = 5.0
"""Room between prints on one plate: our own choice (decision 0051)."""
PRINTED_IN = "printed in "
"""What the names of prints begin with, refused ones too."""
LEAST_TOLD_MM = 0.01
"""Steps are told in hundredths."""
DUSTY = frozenset({"dusty"})
"""What is sanded."""
PRINT_YIELD = 0.95
"""Prints that come out good: our own estimate (decision 0051)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintWay:
    """The part on one printer the best way up. `size_mm`: its box as it stands; `material_ml` with its supports."""

    printer: Printer
    size_mm: tuple[float, float, float]
    layer_mm: float
    step_mm: float
    print_min: float
    material_ml: float
    support_mm2: float
    fits: bool
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)
    """Which way is up, in the part's coordinates."""
    smoothing: tuple[Step, ...] = ()
    """The work on a print until no step shows."""
    fit_misses: tuple[str, ...] = ()
    """Fits that the print would not keep, in words."""
    fit_doubts: tuple[Finding, ...] = ()
    """The same as findings, with the size to expect."""
    fit_miss_mm: float = 0.0
    """How far those lie outside of their tolerances, in all."""


def on_a_plate(size_mm: Sequence[float], plate_mm: Sequence[float], *, gap_mm: float = GAP_MM) -> int:
    """How many boxes stand side by side on a plate in rows, the better way round.

    >>> on_a_plate((30, 20, 10), (200, 200, 200)), on_a_plate((210, 20, 10), (200, 200, 200))
    (40, 0)
    """
    width, depth = (one + gap_mm for one in size_mm[:2])
    wide, deep = (one + gap_mm for one in plate_mm[:2])
    return max(floor(wide / a) * floor(deep / b) for a, b in ((width, depth), (depth, width)))


def print_routes(
    need: PartNeed, wanted: Hardness, ways: Sequence[PrintWay], workshop: Workshop
) -> tuple[tuple[Recipe, ...], tuple[Refused, ...]]:
    """A recipe, or the reason against it, for each printable material."""
    recipes: list[Recipe] = []
    refused: list[Refused] = []
    for material in workshop.catalogue.of_kinds(PRINTED_OF):
        fitting = [one for one in ways if one.printer.process is PRINTED_OF[material.kind]]
        against = _against(need, wanted, material, fitting)
        if against is not None:
            refused.append(against)
            continue
        for one in fitting:
            if one.fits:
                as_printed = _recipe(need, wanted, material, one, workshop)
                recipes.append(as_printed)
                if _can_be_sanded(material) and one.smoothing:
                    recipes.append(_smoothed(as_printed, one, need, workshop))
    refused.sort(key=lambda one: (one.by_points is None, abs(one.by_points or 0.0)))
    return tuple(recipes), tuple(refused)


def _against(need: PartNeed, wanted: Hardness, material: Material, ways: Sequence[PrintWay]) -> Refused | None:
    name = f"{PRINTED_IN}{material.name}"
    miss = miss_of(material, wanted)
    if miss is not None:
        nearest = hardness_of(material)
        remedy = f"Cast it; or ask for about {nearest} instead."
        return Refused(name=name, reason=miss.words, remedy=remedy, by_points=miss.points)
    have = hardness_of(material)
    if have is None or points_above(have, wanted) is None:
        told = "No hardness is known of it" if have is None else f"{have} cannot be compared with {wanted}"
        return Refused(name=name, reason=f"{told}.", remedy="Enter its hardness on the scale that is wanted.")
    if need.clear and "clear" not in material.traits:
        return Refused(name=name, reason="It is not clear.", remedy="Cast it in a clear plastic.")
    if not ways:
        process = PRINTED_OF[material.kind].value
        return Refused(
            name=name, reason=f"No {process} printer is in the workshop.", remedy=f"Get a {process} printer."
        )
    if not any(one.fits for one in ways):
        one = ways[0]
        size = " × ".join(f"{side:.0f}" for side in one.size_mm)
        room = " × ".join(f"{side:.0f}" for side in one.printer.size_mm)
        return Refused(
            name=name,
            reason=f"The part takes {size} mm; the {one.printer.name} has {room} mm.",
            remedy="Print it in pieces and glue them, or on a larger printer.",
        )
    return None


def _recipe(need: PartNeed, wanted: Hardness, material: Material, way: PrintWay, workshop: Workshop) -> Recipe:
    have = hardness_of(material)
    grams = way.material_ml * value_or(material, FigureName.DENSITY, way.printer.density_g_ml)
    plate = max(1, on_a_plate(way.size_mm, way.printer.size_mm))
    line = stock_line(workshop.stock, material, Amount(a_g=grams * need.copies / PRINT_YIELD), today=workshop.today)
    colour = () if need.colourant_ratio == 0.0 else (f"the colour is that of the {material.kind.value} bought",)
    return Recipe(
        name=f"{PRINTED_IN}{material.name} on the {way.printer.name}",
        way=Way.PRINTED,
        material=material.name,
        material_id=material.id,
        stands=Standing(
            printer=way.printer.name,
            process=way.printer.process,
            up=way.up,
            layer_mm=way.layer_mm,
            print_min=way.print_min,
            material_ml=way.material_ml,
            grams=grams,
        ),
        hardness=have,
        off_points=None if have is None else points_above(have, wanted),
        flaw_mm=way.step_mm,
        fit_miss_mm=way.fit_miss_mm,
        fit_doubts=way.fit_doubts,
        finish=_finish(way),
        each_go=_plate_work(way),
        a_go=plate,
        yield_ratio=PRINT_YIELD,
        money_try=(grams_cost(material, grams, workshop.stock),),
        notes=(
            f"{plate} on a plate in layers of {way.layer_mm:g} mm; no colour is mixed and no seam is left",
            *((material.note.rstrip("."),) if material.note else ()),
            *colour,
            *way.fit_misses,
        ),
        handled=material.traits,
        to_buy=() if line.enough else (f"{material.name}: {line.buy}" if line.buy else material.name,),
    )


def _finish(way: PrintWay) -> str:
    if way.step_mm < LEAST_TOLD_MM:
        return f"layer steps below {LEAST_TOLD_MM:g} mm hardly show"
    shows = "hardly show" if way.step_mm <= SMOOTH_MM else "show"
    return f"layer steps of {way.step_mm:.2f} mm {shows}"


def _can_be_sanded(material: Material) -> bool:
    """A rubber smears under sandpaper and throws its primer: common practice, no source."""
    have = hardness_of(material)
    return have is not None and have.scale is Scale.D


def _smoothed(recipe: Recipe, way: PrintWay, need: PartNeed, workshop: Workshop) -> Recipe:
    """The same print, every copy sanded and primed as a master is, so that it looks as smooth as a casting."""
    work = Work(
        what="sand and prime every copy",
        hands_min=sum(one.hands_min for one in way.smoothing),
        wait_min=sum(one.wait_min for one in way.smoothing),
        text=" ".join(one.text for one in way.smoothing),
    )
    coats = [workshop.catalogue.get(one.uses) for one in way.smoothing if one.uses is not None]
    used = [
        grams_cost(
            workshop.catalogue.get(one.uses),
            max(LEAST_G, one.uses_g_dm2 * area_mm2(need) / MM2_PER_DM2),
            workshop.stock,
        )
        for one in way.smoothing
        if one.uses is not None
    ]
    return replace(
        recipe,
        name=f"{recipe.name}, every copy sanded and primed",
        flaw_mm=0.0,
        finish="sanded and primed, no step shows; to be painted",
        sanded=True,
        each_good=(*recipe.each_good, work),
        money_good=(*recipe.money_good, *used),
        handled=recipe.handled.union(DUSTY, *(one.traits for one in coats)),
    )


def _plate_work(way: PrintWay) -> tuple[Work, ...]:
    """One plate, filament longer for each copy, a vat as long for many as for one; then the work on the prints."""
    printer = way.printer
    hands_min, run_min = printer.handling_min, printer.run_min(way.print_min)
    if printer.process is Process.FILAMENT:
        run = Work(what="print", hands_min=hands_min, wait_each_min=run_min, printing=True)
        return (run, *_support_work(way))
    run = Work(what="print", hands_min=hands_min, wait_min=run_min, printing=True)
    after = [step(name) for name in ("wash", "dry-wash", "post-cure")]
    return (run, *(work_of(one) for one in after), *_support_work(way))


def _support_work(way: PrintWay) -> tuple[Work, ...]:
    """Three minutes a copy and one to every 2 cm² that supports touched, as for a master (decision 0017)."""
    if way.support_mm2 <= 0.0:
        return ()
    text = step("supports-off").text
    return (Work(what="take supports off", hands_each_min=3.0 + way.support_mm2 / 200.0, text=text),)
