"""How long a part takes if hands and printers never keep it waiting: to the first copy, and to the last.

A quick reckoning from the plan's own figures, one thing after the other, as the routes reckon it; it knows no hours
and no other part.
"""

from dataclasses import dataclass

from firstpour.choosing.choice import Chosen
from firstpour.choosing.need import SHOT_YIELD
from firstpour.parting.values import MouldKind
from firstpour.plan.printing import PartPrinting
from firstpour.plan.values import PartPlan
from firstpour.routes.course import until_first, works_for
from firstpour.routes.labour import Poured, cast_labour, cast_steps, work_of
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.work import Work, minutes_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Elapsed:
    """Minutes from the start of the first print. None where a material is missing. `order` is the work in words."""

    prints_min: float
    mould_min: float | None
    """The mould is ready for its first cast."""
    first_copy_min: float | None
    """The first copy is out of the mould: the first moment at which a bad mould can be seen."""
    all_copies_min: float | None
    order: tuple[str, ...]


def elapsed_of(one: PartPlan) -> Elapsed:
    """Minutes to mould, first copy and last copy of one part."""
    recipe, printing = recipe_of(one), one.printing
    if recipe is None:
        return Elapsed(
            prints_min=printing.print_min,
            mould_min=None,
            first_copy_min=None,
            all_copies_min=None,
            order=_order((*_prints(printing), *map(work_of, printing.steps))),
        )
    to_mould = (*recipe.once, *recipe.each_mould)
    to_first = until_first(recipe, 1)
    return Elapsed(
        prints_min=printing.print_min,
        mould_min=minutes_of(to_mould).elapsed_min,
        first_copy_min=minutes_of(to_first).elapsed_min,
        all_copies_min=minutes_of(works_for(recipe, one.request.copies)).elapsed_min,
        order=_order((*to_first, *recipe.each_good)),
    )


def recipe_of(one: PartPlan) -> Recipe | None:
    """The work of the plan as a recipe; None where silicone or casting material is missing."""
    choice, printing, moulds = one.choice, one.printing, one.request.moulds
    if choice is None or choice.silicone is None or choice.casting is None:
        return None
    silicone, casting, cavities = choice.silicone, choice.casting, one.mould.cavities
    labour = cast_labour(
        _prints(printing),
        cast_steps(printing.steps, (*silicone.steps, *casting.steps)),
        _poured(silicone, "pour silicone", cavities),
        _poured(casting, "cast", cavities),
        serial=one.mould.kind is MouldKind.BEDDING,
        open_face=one.mould.kind is MouldKind.OPEN_FACE,
        cavities=cavities,
    )
    return Recipe(
        name="as planned",
        way=Way.CAST,
        material=casting.material.name,
        once=labour.once,
        each_mould=labour.each_mould,
        each_go=labour.each_go,
        now_and_then=labour.now_and_then,
        each_good=labour.each_good,
        moulds=moulds,
        a_go=moulds * cavities,
        a_mould=cavities,
        life_shots=None if choice.mould_life is None else choice.mould_life.low * cavities,
        yield_ratio=SHOT_YIELD,
        seen_good=choice.seen_good,
        seen_shots=choice.seen_shots,
    )


def _poured(chosen: Chosen, what: str, cavities: int) -> Poured:
    return Poured(
        what=what,
        fit=chosen.fit,
        mixes=chosen.mixes,
        demould_min=chosen.demould_min,
        at_once=chosen.at_once * cavities,
    )


def _prints(printing: PartPrinting) -> tuple[Work, ...]:
    """Every piece on its printer, cleaned."""
    pieces = [one.plan for one in printing.pieces]
    run = Work(
        what="print",
        hands_min=sum(one.printer.handling_min for one in pieces),
        wait_min=sum(one.printer.run_min(one.print_min) for one in pieces),
        printing=True,
    )
    return (run, *(work_of(one) for one in printing.cleaning))


def _order(works: tuple[Work, ...]) -> tuple[str, ...]:
    """Work and waits in words, nothing twice in a row."""
    names = [one.what for one in works]
    return tuple(one for n, one in enumerate(names) if n == 0 or one != names[n - 1])
