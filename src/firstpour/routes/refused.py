"""A route that will not do, why, and by how much it misses the feel."""

from collections.abc import Iterable
from dataclasses import dataclass

from firstpour.materials.feel import Hardness, Scale, hardness_of, points_above
from firstpour.materials.material import Material

END_OF_SCALE = {Scale.A: 100.0, Scale.D: 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """What was left out, the reason, what would let it in, and by how many points of hardness it misses."""

    name: str
    reason: str
    remedy: str = ""
    by_points: float | None = None


def nearest_of(refused: Iterable[Refused]) -> Refused | None:
    """The one that misses the feel by least, before those that miss something else; None of none."""
    return min(refused, key=lambda one: (one.by_points is None, abs(one.by_points or 0.0)), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss:
    """By how many points of the wanted scale a material is too hard (above 0) or too soft, in words."""

    points: float
    words: str


def miss_of(material: Material, wanted: Hardness) -> Miss | None:
    """How far the material lies outside of the wanted hardness; None where it reaches it, or nothing can be said.

    A plastic without a counterpart on A lies beyond its end, a rubber without one on D below its beginning.
    """
    have = hardness_of(material)
    if have is None:
        return None
    above = points_above(have, wanted)
    at_least = ""
    if above is None:
        if Scale.GEL in (have.scale, wanted.scale) or have.scale is wanted.scale:
            return None
        above, at_least = END_OF_SCALE[wanted.scale] - wanted.points, "at least "
    if abs(above) <= wanted.tolerance_points:
        return None
    side = "hard" if above > 0 else "soft"
    return Miss(
        points=above,
        words=f"{have} is {at_least}{abs(above):.0f} points too {side} for {wanted} "
        f"(±{wanted.tolerance_points:g} on Shore {wanted.scale.value}).",
    )
