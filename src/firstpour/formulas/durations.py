"""Times with a spread: from three guesses to a mean and variance, and the chance to end before another time."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

from firstpour.errors import OutOfRange
from firstpour.formulas.limits import positive, within


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A time in minutes that is not known exactly: its mean and variance."""

    mean_min: float
    variance_min2: float


def three_point(*, low_min: float, likely_min: float, high_min: float) -> Spread:
    r"""Mean and variance of a beta distribution through shortest a, likeliest m, longest b.

    .. math:: \mu = (a + 4m + b)/6, \qquad \sigma^2 = (\mu - a)(b - \mu)/7

    The variance is that of the beta distribution itself; the classical (b − a)²/36 is its rounding.

    Raises
    ------
    OutOfRange
        If the three are not in order.

    References
    ----------
    Malcolm, Roseboom, Clark & Fazar, Oper. Res. 7 (1959) 646-669, doi:10.1287/opre.7.5.646 (mean; from memory)

    >>> three_point(low_min=2, likely_min=5, high_min=14)
    Spread(mean_min=6.0, variance_min2=4.571428571428571)
    """
    if not 0 <= low_min <= likely_min <= high_min:
        raise OutOfRange(
            f"the three times {low_min:g}, {likely_min:g}, {high_min:g} min are not in order.",
            remedy="Give shortest, likeliest and longest, each at least as long as the one before.",
        )
    mean_min = (low_min + 4 * likely_min + high_min) / 6
    return Spread(mean_min=mean_min, variance_min2=(mean_min - low_min) * (high_min - mean_min) / 7)


def in_series(spreads: Iterable[Spread], *, correlation_ratio: float) -> Spread:
    r"""Times one after another: means add; variances with what the same hands make alike.

    .. math:: \sigma^2 = (1 - \rho) \sum \sigma_i^2 + \rho \left(\sum \sigma_i\right)^2

    the variance of a sum whose terms are correlated by ρ, each with each (JCGM 100:2008, 5.2.2; from memory).

    Raises
    ------
    OutOfRange
        If ρ is not from 0 to 1.

    >>> steps = [Spread(mean_min=1, variance_min2=0.25), Spread(mean_min=2, variance_min2=0.25)]
    >>> in_series(steps, correlation_ratio=0.5)
    Spread(mean_min=3, variance_min2=0.75)
    """
    within(correlation_ratio, low=0.0, high=1.0, what="correlation", unit="", remedy="Give 0 to 1.")
    steps = list(spreads)
    own = sum(step.variance_min2 for step in steps)
    alike = sum(math.sqrt(step.variance_min2) for step in steps) ** 2
    return Spread(
        mean_min=sum(step.mean_min for step in steps),
        variance_min2=(1 - correlation_ratio) * own + correlation_ratio * alike,
    )


def chance_in_time(work: Spread, *, limit_min: float, limit_spread: float) -> float:
    r"""Chance that `work` ends before a limit that is itself not known exactly.

    Both are taken as lognormal: the work matched in mean and variance (Fenton 1960), the limit with its median and
    the
    standard deviation of its logarithm. With means m and deviations s of the logarithms:

    .. math:: P = \Phi\left[(m_l - m_w)/\sqrt{s_l^2 + s_w^2}\right]

    Raises
    ------
    OutOfRange
        If a time is not above zero, or the spread is below zero.

    References
    ----------
    Fenton, "The sum of log-normal probability distributions in scatter transmission systems",
    IRE Trans. Commun. Syst. 8 (1960) 57-67, doi:10.1109/TCOM.1960.1097606 (from memory)

    >>> chance_in_time(Spread(mean_min=10, variance_min2=0.0), limit_min=10, limit_spread=0.15)
    0.5
    """
    for minutes in (work.mean_min, limit_min):
        positive(minutes, what="time", unit="min", remedy="Give times above zero.")
    within(limit_spread, low=0.0, high=5.0, what="spread of the limit", unit="", remedy="Give a share, e.g. 0.15.")
    s2_work = math.log1p(work.variance_min2 / work.mean_min**2)
    m_work = math.log(work.mean_min) - s2_work / 2
    s = math.sqrt(s2_work + limit_spread**2)
    off = math.log(limit_min) - m_work
    if s == 0:
        return 0.5 if off == 0 else float(off > 0)
    return NormalDist().cdf(off / s)
