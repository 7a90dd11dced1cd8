"""How often a part is cast: shots, rounds, and cavities that a round fills."""

from collections.abc import Sequence
from functools import lru_cache
from math import ceil

from firstpour.choosing.need import PartNeed
from firstpour.formulas.yields import pours_for_good, pours_for_good_seen

ENOUGH_CONFIDENCE = 0.9
BEFORE_SEEN = 20.0
"""The yield that is taken counts like so many shots once one was seen: our own choice (decision 0072)."""


def shots(need: PartNeed) -> int:
    """Shots to reckon with so that nine times in ten enough of them are good; by what was seen, where it was."""
    return shots_for(need.copies, yield_ratio=need.yield_ratio, seen_good=need.seen_good, seen_shots=need.seen_shots)


@lru_cache(maxsize=20_000)
def shots_for(copies: int, *, yield_ratio: float, seen_good: float = 0, seen_shots: float = 0) -> int:
    """Shots, or prints, for so many good copies: nine times in ten they are enough.

    >>> shots_for(12, yield_ratio=0.9), shots_for(12, yield_ratio=0.9, seen_good=10, seen_shots=20)
    (15, 22)
    """
    if seen_shots:
        return pours_for_good_seen(
            copies,
            good_weight=BEFORE_SEEN * yield_ratio + seen_good,
            spoiled_weight=BEFORE_SEEN * (1 - yield_ratio) + seen_shots - seen_good,
            confidence_ratio=ENOUGH_CONFIDENCE,
        )
    return pours_for_good(copies, yield_ratio=yield_ratio, confidence_ratio=ENOUGH_CONFIDENCE)


def round_sizes(shots: int, *, moulds: int, cavities: int = 1, ready: Sequence[int] = ()) -> tuple[int, ...]:
    """Copies of each round in order, told alike by plan, routes and schedule.

    The first mould alone proves itself; then there is one more mould a round, for each is poured around the one
    master while those before it are cast in. `ready`: moulds that there are in each round, where better known.

    >>> round_sizes(8, moulds=3), round_sizes(8, moulds=3, ready=(1, 3)), round_sizes(8, moulds=1, cavities=4)
    ((1, 1, 2, 3, 1), (1, 3, 3, 1), (4, 4))
    """
    sizes: list[int] = []
    left = shots
    while left > 0:
        number = len(sizes) + 1
        by_now = ready[number - 1] if number <= len(ready) else max(number - 1, *ready, 1)
        sizes.append(min(left, min(moulds, max(1, by_now)) * cavities))
        left -= sizes[-1]
    return tuple(sizes)


def pours_in(need: PartNeed, cavities: int) -> int:
    """Times that one pours to fill so many cavities: each by itself, or each mould by its basin."""
    return ceil(cavities / need.cavities) if need.basin else cavities


def rounds_of(need: PartNeed) -> tuple[int, ...]:
    """Copies of each round of the part."""
    return round_sizes(shots(need), moulds=need.moulds, cavities=need.cavities)


def rounds(need: PartNeed) -> int:
    """Times that one goes to fill the moulds that there are."""
    return len(rounds_of(need))


def full_mixes(need: PartNeed) -> int:
    """Mixes for all moulds that the shots take; where fewer are filled, less is mixed."""
    return ceil(shots(need) / filled_at_once(need))


def filled_at_once(need: PartNeed) -> int:
    """Cavities that a round fills."""
    return need.moulds * need.cavities


def fillings(need: PartNeed) -> int:
    """Times that a mould is closed and filled, whichever it is."""
    return ceil(shots(need) / need.cavities)


def rounds_words(copies: Sequence[int]) -> str:
    """Rounds by the shots in them, where the first mould proves itself before the others are filled; else nothing.

    >>> rounds_words((1, 1, 2, 3, 3, 3, 1)), rounds_words((1, 1, 1)), rounds_words((4, 4, 2))
    ('1, 1, 2, then 3 each, the last 1', '', '')
    """
    most = max(copies, default=0)
    first = copies.index(most) if most else 0
    if first == 0:
        return ""
    rest = copies[first:]
    again = f"then {most} each" if len(rest) > 1 else str(most)
    last = f", the last {rest[-1]}" if rest[-1] != most else ""
    return f"{', '.join(str(one) for one in copies[:first])}, {again}{last}"
