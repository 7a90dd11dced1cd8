"""What can be wrong with a copy, and where: the words that an outcome is told in."""

from dataclasses import dataclass
from enum import StrEnum

from firstpour.errors import BadRequest
from firstpour.store.runs import SeenDefect


class DefectKind(StrEnum):
    """What is seen on a copy, in the words of the trade."""

    TACKY = "tacky all over"
    SOFT_SPOTS = "soft spots"
    TACKY_SURFACE = "tacky at the surface only"
    LARGE_BUBBLE = "large bubble"
    SMALL_BUBBLES = "small bubbles"
    SHORT_FILL = "not filled"
    FLASH = "flash"
    TORN = "torn"
    MISMATCH = "halves out of line"
    SUNKEN = "sunken spot"
    CLOUDY = "cloudy"
    BRITTLE = "brittle"
    STICKING = "stuck in the mould"


class Place(StrEnum):
    """Where it sits."""

    ANYWHERE = "all over"
    HIGH = "highest places"
    LOW = "lowest places"
    GATE = "at the gate"
    SEAM = "along the parting line"
    THIN = "thin walls"
    THICK = "thick sections"
    POCKET = "where air was foretold"
    AGAINST_MOULD = "against the mould"


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """One defect of a copy and its place."""

    kind: DefectKind
    place: Place = Place.ANYWHERE

    def kept(self) -> SeenDefect:
        """The defect as the store holds it."""
        return SeenDefect(kind=self.kind.value, place=self.place.value)


def defect_said(words: str) -> Defect:
    """A defect as it is typed: “flash”, or “large bubble @ highest places”; the beginning of a word is enough.

    Raises
    ------
    BadRequest
        If it is none, or could be several.

    >>> defect_said("flash @ along").place.value
    'along the parting line'
    """
    kind, _, place = (one.strip() for one in words.partition("@"))
    found = _begins(kind, [one.value for one in DefectKind], "defect")
    where = _begins(place, [one.value for one in Place], "place") if place else Place.ANYWHERE.value
    return Defect(kind=DefectKind(found), place=Place(where))


def _begins(words: str, choices: list[str], what: str) -> str:
    said = words.lower()
    found = [one for one in choices if one == said] or [one for one in choices if said and one.startswith(said)]
    if len(found) != 1:
        raise BadRequest(
            f"“{words}” is no {what}." if not found else f"“{words}” may be {' or '.join(found)}.",
            remedy=f"Say one of: {', '.join(choices)}.",
        )
    return found[0]
