"""How many pours it takes to have enough good copies."""

from scipy.special import nbdtr

from firstpour.errors import OutOfRange
from firstpour.formulas.limits import within

MOST_POURS = 100_000
_REMEDY = "Give the chance as a share between 0 and 1, e.g. 0.9."


def pours_for_good(good: int, *, yield_ratio: float, confidence_ratio: float) -> int:
    """Fewest pours n for which at least `good` come out good with the wanted confidence, each pour on its own.

    The spoiled pours before the last good one follow the negative binomial distribution.

    Raises
    ------
    OutOfRange
        If the yield is not inside 0 to 1 or would need more than 100 000 pours.

    >>> [pours_for_good(10, yield_ratio=0.9, confidence_ratio=c) for c in (0.5, 0.9, 0.95, 0.99)]
    [11, 13, 13, 14]
    """
    within(yield_ratio, low=1e-3, high=1.0, what="yield", unit="", remedy=_REMEDY)
    within(confidence_ratio, low=0.0, high=0.999999, what="confidence", unit="", remedy=_REMEDY)
    if yield_ratio == 1.0 or good == 0:
        return good
    low, high = -1, MOST_POURS - good
    if high < 0 or nbdtr(high, good, yield_ratio) < confidence_ratio - 1e-12:
        raise OutOfRange(
            f"{good} good copies would take more than {MOST_POURS} pours.",
            remedy="Raise the yield first: look at why pours are spoiled.",
        )
    while high - low > 1:
        middle = (low + high) // 2
        enough = nbdtr(middle, good, yield_ratio) >= confidence_ratio - 1e-12
        low, high = (low, middle) if enough else (middle, high)
    return good + high
