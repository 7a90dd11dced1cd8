"""Shrinkage: how much larger the master must be so that the copy comes out right."""

import math
from collections.abc import Iterable

from firstpour.formulas.limits import within

_REMEDY = "Give linear shrinkage as a share, e.g. 0.004 for 0.4 %."


def scale_for_shrinkage(shrinkage_ratio: float) -> float:
    """Scale that makes up for a linear shrinkage taken on the mould's dimension: 1/(1 − s).

    Raises
    ------
    OutOfRange
        If s is below −0.05 or above 0.2: no casting material behaves so.

    References
    ----------
    ISO 294-4: moulding shrinkage is the difference as a percentage of the mould's dimension (from memory).

    >>> round(scale_for_shrinkage(0.005), 8)
    1.00502513
    """
    within(shrinkage_ratio, low=-0.05, high=0.2, what="shrinkage", unit="mm per mm", remedy=_REMEDY)
    return 1 / (1 - shrinkage_ratio)


def scale_for_chain(shrinkage_ratios: Iterable[float]) -> float:
    """Scale for shrinkages that follow one another (master, silicone, copy): the product of their scales.

    >>> round(scale_for_chain([0.001, 0.004]), 8)
    1.00502109
    """
    return math.prod(scale_for_shrinkage(ratio) for ratio in shrinkage_ratios)
