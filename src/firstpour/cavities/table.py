"""The table of cavities: what a mould of each number takes and how many copies a day it gives."""

from dataclasses import dataclass
from math import ceil, floor

DAY_MIN = 24.0 * 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CavityRow:
    """A mould of so many cavities; None where no casting material is known.

    `waste_g`: what of all copies' mixes is no copy: gates, vents, cups, and spoiled copies aside. `in_one_mix`: a
    single mix fills all of them before it thickens. `copies_a_day` counts the moulds that are asked for.
    """

    cavities: int
    block_mm: tuple[float, float, float]
    silicone_ml: float
    print_min: float
    waste_g: float | None
    pour_min: float | None
    rounds: int | None
    copies_a_day: float | None
    days: float | None
    """From the first print to the last copy by the hours of the workshop, as the routes reckon them."""
    cost: float | None
    """Money for all copies, prints and mould, as the routes reckon it."""
    in_one_mix: bool | None
    in_time: bool | None
    """None where no date is set."""
    made: bool
    """Whether the mould of the plan has so many."""
    basin: bool = False
    """Whether the gates of all are filled from one basin, as one mix fills them only so."""


def copies_a_day(copies_a_round: int, *, hands_min: float, cure_min: float, open_min: float) -> float:
    """Copies a day where rounds are begun only while somebody is there.

    The first round is begun as the day opens and each other one as the one before is out, if its work ends before
    the day does; the last cures overnight, and one that cures longer than to the next opening takes whole days.

    >>> copies_a_day(4, hands_min=30, cure_min=16 * 60, open_min=8 * 60)
    4.0
    >>> copies_a_day(1, hands_min=30, cure_min=120, open_min=8 * 60)
    4.0
    >>> copies_a_day(6, hands_min=30, cure_min=40 * 60, open_min=8 * 60)
    3.0
    """
    cycle_min = hands_min + cure_min
    if cycle_min > DAY_MIN:
        return copies_a_round / ceil(cycle_min / DAY_MIN)
    rounds = 1 + floor(max(0.0, open_min - hands_min) / cycle_min)
    while rounds > 1 and rounds * cycle_min > DAY_MIN:
        rounds -= 1
    return float(rounds * copies_a_round)


def best_row(rows: tuple[CavityRow, ...]) -> CavityRow | None:
    """The fewest cavities that meet the date; without a date, or where none does, those that are done soonest.

    Of equal days the one with less silicone. None where nothing is known of the days.
    """
    known = [row for row in rows if row.days is not None]
    in_time = [row for row in known if row.in_time]
    if in_time:
        return min(in_time, key=lambda row: row.cavities)
    return min(known, key=lambda row: (ceil(row.days or 0.0), row.silicone_ml), default=None)
