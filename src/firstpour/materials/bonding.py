"""Whether what is cast around a copy holds on to it: by chemistry, or by shape alone."""

from dataclasses import dataclass
from enum import StrEnum


class Bond(StrEnum):
    """What holds two castings together."""

    CHEMISTRY = "it bonds"
    SHAPE = "only the shape holds them together"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bonding:
    """How one casting holds on to another, why, and what to do for it."""

    bond: Bond
    reason: str
    remedy: str


SILICONE = "addition silicone rubber"
FRESH = (
    "cast it around within about a day of taking the copy out; wash release off where it is cast over, roughen and "
    "degrease it, and test a pair"
)
INTERLOCK = "give the inner part holes, grooves or a rim that the outer one runs into, and test a pair"
_ALIKE = (
    ("urethane", "urethane bonds to urethane that is clean and still fresh"),
    (SILICONE, "addition-cure silicone bonds to itself where no release lies between"),
)
"""Families that bond to themselves (common practice, no source)."""


def bonding(*, outer: frozenset[str], inner: frozenset[str]) -> Bonding:
    """How a casting with the traits `outer` holds on to a copy with the traits `inner`.

    >>> bonding(outer=frozenset({"urethane"}), inner=frozenset({"urethane"})).bond.value
    'it bonds'
    """
    for family, reason in _ALIKE:
        if family in outer and family in inner:
            return Bonding(bond=Bond.CHEMISTRY, reason=reason, remedy=FRESH)
    with_silicone = SILICONE in outer | inner
    reason = "nothing but silicone bonds to silicone" if with_silicone else "no bond is known between these two"
    return Bonding(bond=Bond.SHAPE, reason=reason, remedy=INTERLOCK)
