"""Limits of validity as code: a formula asked outside its limits says so instead of guessing."""

import math

from firstpour.errors import OutOfRange


def within(value: float, *, low: float, high: float, what: str, unit: str, remedy: str) -> float:
    """Return `value` if low ≤ value ≤ high.

    Raises
    ------
    OutOfRange
        If it lies outside, or is not a finite number.

    >>> within(5.0, low=0.0, high=10.0, what="dose", unit="g", remedy="Weigh again.")
    5.0
    """
    if not (math.isfinite(value) and low <= value <= high):
        between = f"between {low:g} and {high:g} {unit}".rstrip()
        raise OutOfRange(f"{what} is {value:g} {unit}".rstrip() + f"; it must lie {between}.", remedy=remedy)
    return value


def positive(value: float, *, what: str, unit: str, remedy: str) -> float:
    """Return `value` if it is a finite number above zero.

    Raises
    ------
    OutOfRange
        If it is zero, negative or not finite.

    >>> positive(1.05, what="density", unit="g/ml", remedy="Weigh 100 ml.")
    1.05
    """
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(f"{what} is {value:g} {unit}".rstrip() + "; it must be above zero.", remedy=remedy)
    return value
