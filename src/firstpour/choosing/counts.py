"""How often a part is cast: shots, rounds, and cavities that a round fills."""

from math import ceil

from firstpour.choosing.need import PartNeed
from firstpour.formulas.yields import pours_for_good, pours_for_good_seen

ENOUGH_CONFIDENCE = 0.9
BEFORE_SEEN = 20.0
"""The yield that is taken counts like so many shots once one was seen: our own choice (decision 0072)."""


def shots(need: PartNeed) -> int:
    """Shots to reckon with so that nine times in ten enough of them are good; by what was seen, where it was."""
    if need.seen_shots:
        return pours_for_good_seen(
            need.copies,
            good_weight=BEFORE_SEEN * need.yield_ratio + need.seen_good,
            spoiled_weight=BEFORE_SEEN * (1 - need.yield_ratio) + need.seen_shots - need.seen_good,
            confidence_ratio=ENOUGH_CONFIDENCE,
        )
    return pours_for_good(need.copies, yield_ratio=need.yield_ratio, confidence_ratio=ENOUGH_CONFIDENCE)


def rounds(need: PartNeed) -> int:
    """Times that all moulds are filled."""
    return ceil(shots(need) / filled_at_once(need))


def filled_at_once(need: PartNeed) -> int:
    """Cavities that a round fills."""
    return need.moulds * need.cavities


def fillings(need: PartNeed) -> int:
    """Times that a mould is closed and filled, whichever it is."""
    return ceil(shots(need) / need.cavities)
