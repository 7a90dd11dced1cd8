"""How long a part takes if hands and printers never keep it waiting: to the first copy, and to the last.

A quick reckoning from the plan's own figures, one thing after the other; it knows no hours and no other part.
"""

from dataclasses import dataclass

from firstpour.choosing.choice import Chosen, PartChoice
from firstpour.plan.printing import PartPrinting


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


def elapsed_of(printing: PartPrinting, choice: PartChoice | None) -> Elapsed:
    """Minutes to mould, first copy and last copy of one part."""
    order = ["print", *(step.name for step in printing.steps)]
    silicone = None if choice is None else choice.silicone
    casting = None if choice is None else choice.casting
    if choice is None or silicone is None or casting is None:
        return Elapsed(
            prints_min=printing.print_min,
            mould_min=None,
            first_copy_min=None,
            all_copies_min=None,
            order=tuple(order),
        )
    on_surface = sum(step.hands_min + step.wait_min for step in printing.steps)
    mould_min = printing.print_min + on_surface + silicone.ready_min + _work_min(silicone) * len(silicone.mixes)
    once = [one.step for one in casting.steps if one.before == "casting" and not one.step.each_pour]
    each = [one.step for one in casting.steps if one.before == "casting" and one.step.each_pour]
    round_min = _work_min(casting) + casting.demould_min + sum(step.hands_min + step.wait_min for step in each)
    order += [step.step.name for step in silicone.steps if step.step not in printing.steps]
    order += ["pour silicone", "demould", *(step.name for step in (*once, *each)), "cast", "demould"]
    first_min = mould_min + round_min
    return Elapsed(
        prints_min=printing.print_min,
        mould_min=mould_min,
        first_copy_min=first_min,
        all_copies_min=first_min + (choice.rounds - 1) * round_min,
        order=tuple(one for n, one in enumerate(order) if n == 0 or one != order[n - 1]),
    )


def _work_min(chosen: Chosen) -> float:
    """Minutes of one pour, weighing and all."""
    return sum(step.time.mean_min for step in chosen.pours[0].fit.steps) if chosen.pours else 0.0
