"""How many pours it takes to have enough good copies."""

import math
from dataclasses import dataclass

from firstpour.errors import OutOfRange
from firstpour.formulas.limits import within

MOST_POURS = 100_000
_REMEDY = "Give the chance as a share between 0 and 1, e.g. 0.9."


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldBelief:
    """What is known of the chance that a pour comes out good: a beta distribution of `good` and `bad` pours."""

    good: float
    bad: float

    @property
    def mean_ratio(self) -> float:
        return self.good / (self.good + self.bad)


def learned(belief: YieldBelief, *, good: int, bad: int) -> YieldBelief:
    """The belief after seeing `good` good and `bad` spoiled pours: counts add (beta prior, binomial pours).

    References
    ----------
    Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4, p. 37

    >>> round(learned(YieldBelief(good=1, bad=1), good=437, bad=543).mean_ratio, 8)
    0.44602851
    """
    return YieldBelief(good=belief.good + good, bad=belief.bad + bad)


def pours_for_good(good: int, *, yield_ratio: float, confidence_ratio: float) -> int:
    """Fewest pours n for which at least `good` come out good with the wanted confidence, each pour on its own.

    P(at least k of n) = Σ C(n, i) p^i (1−p)^(n−i), i = k…n.

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
    missed = 0.0
    for pours in range(good, MOST_POURS):
        # the k-th good copy comes exactly at pour n: C(n−1, k−1) p^k (1−p)^(n−k)
        missed += math.exp(
            _log_choose(pours - 1, good - 1)
            + good * math.log(yield_ratio)
            + (pours - good) * math.log1p(-yield_ratio)
        )
        if missed >= confidence_ratio - 1e-12:
            return pours
    raise _never_enough(good)


def pours_for_good_believed(good: int, *, belief: YieldBelief, confidence_ratio: float) -> int:
    """As `pours_for_good`, the yield itself uncertain: the good copies in n pours are beta-binomial.

    Raises
    ------
    OutOfRange
        If more than 100 000 pours would be needed.

    >>> [pours_for_good_believed(10, belief=YieldBelief(good=19, bad=3), confidence_ratio=c) for c in (0.5, 0.99)]
    [11, 18]
    """
    within(confidence_ratio, low=0.0, high=0.999999, what="confidence", unit="", remedy=_REMEDY)
    if good == 0:
        return 0
    reached = 0.0
    base = -_log_beta(belief.good, belief.bad)
    for pours in range(good, MOST_POURS):
        spoiled = pours - good
        reached += math.exp(
            _log_choose(pours - 1, good - 1) + _log_beta(belief.good + good, belief.bad + spoiled) + base
        )
        if reached >= confidence_ratio - 1e-12:
            return pours
    raise _never_enough(good)


def _never_enough(good: int) -> OutOfRange:
    return OutOfRange(
        f"{good} good copies would take more than {MOST_POURS} pours.",
        remedy="Raise the yield first: look at why pours are spoiled.",
    )


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
