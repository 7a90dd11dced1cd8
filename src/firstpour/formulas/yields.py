"""How many pours it takes to have enough good copies."""

import numpy as np
from scipy.special import betaln, gammaln, nbdtr

from firstpour.errors import OutOfRange
from firstpour.formulas.limits import within

MOST_POURS = 100_000
FIRST_SPOILED = 256
"""So many spoiled pours are summed at once."""
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


def pours_for_good_seen(good: int, *, good_weight: float, spoiled_weight: float, confidence_ratio: float) -> int:
    r"""Fewest pours for `good` good ones where the yield itself is only known from what was seen: beta distributed.

    With weights α and β of good and spoiled pours the number k of spoiled pours before the last good one of g follows
    the beta negative binomial distribution,

    .. math:: P(k) = \frac{\Gamma(g + k)}{k!\,\Gamma(g)} \frac{B(\alpha + g, \beta + k)}{B(\alpha, \beta)}

    Raises
    ------
    OutOfRange
        If a weight is not above zero, or more than 100 000 pours would be needed.

    >>> seen = {"good_weight": 19, "spoiled_weight": 3}
    >>> [pours_for_good_seen(10, **seen, confidence_ratio=c) for c in (0.5, 0.9, 0.95, 0.99)]
    [11, 14, 15, 18]
    """
    for what, weight in (("good pours", good_weight), ("spoiled pours", spoiled_weight)):
        within(weight, low=1e-6, high=1e9, what=f"weight of {what}", unit="", remedy="Give a weight above 0.")
    within(confidence_ratio, low=0.0, high=0.999999, what="confidence", unit="", remedy=_REMEDY)
    if good == 0:
        return 0
    start = np.arange(FIRST_SPOILED)
    reached = 0.0
    while good + start[-1] <= MOST_POURS + FIRST_SPOILED:
        log_p = gammaln(good + start) - gammaln(start + 1) - gammaln(good)
        log_p += betaln(good_weight + good, spoiled_weight + start) - betaln(good_weight, spoiled_weight)
        chances = reached + np.cumsum(np.exp(log_p))
        enough = np.flatnonzero(chances >= confidence_ratio - 1e-12)
        if len(enough) and good + start[enough[0]] <= MOST_POURS:
            return good + int(start[enough[0]])
        reached, start = float(chances[-1]), start + len(start)
    raise OutOfRange(
        f"{good} good copies would take more than {MOST_POURS} pours.",
        remedy="Raise the yield first: look at why pours are spoiled.",
    )
