"""What a wanted feel means: a hardness, the materials that reach it, how stiff they are, how far a part gives way."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from firstpour.errors import BadRequest, OutOfRange
from firstpour.formulas.bending import cantilever_deflection_mm
from firstpour.formulas.hardness import (
    gent_modulus_mpa,
    gent_shore_a,
    log_modulus_mpa,
    modulus_from_irhd,
    shore_a_from_shore_d,
    shore_d_from_shore_a,
)
from firstpour.materials.additives import Additive
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Kind, Material

POINTS_TOLERANCE = 5.0
"""Two batches of one rubber differ by this much: common practice, no source."""
WORD_TOLERANCE = 8.0
STIFFEST_SHORE_D = 60.0
"""Above, a Shore number says little of stiffness: our own limit (decision 0004)."""


class Scale(StrEnum):
    """The scales of the durometer that the trade uses: A for rubbers, D for plastics, 00 for gels."""

    A = "A"
    D = "D"
    GEL = "00"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardness:
    """A Shore hardness; `tolerance_points` is how far off it still counts as reached."""

    scale: Scale
    points: float
    tolerance_points: float = POINTS_TOLERANCE

    def __str__(self) -> str:
        return f"{self.scale.value} {self.points:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeelWay:
    """One way to a wanted hardness: a material as it is, or with a softener."""

    material: Material
    reached: Hardness
    off_points: float
    softener: Additive | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stiffness:
    """Young's modulus as a range, and how far the thinnest section gives way: estimates, not promises."""

    modulus_low_mpa: float
    modulus_high_mpa: float
    deflection_low_mm: float | None = None
    deflection_high_mm: float | None = None
    bends_far: bool = False
    """True: the formula for small deflections is left behind; it simply folds."""


WORDS = {
    "very soft": (Scale.A, 10.0),
    "soft": (Scale.A, 20.0),
    "soft as rubber": (Scale.A, 30.0),
    "medium": (Scale.A, 40.0),
    "firm": (Scale.A, 60.0),
    "stiff": (Scale.A, 80.0),
    "hard": (Scale.D, 75.0),
    "rigid": (Scale.D, 75.0),
}
"""What the words mean here; common practice, no source."""


def wanted_hardness(text: str) -> Hardness:
    """The hardness that a text asks for: “A 30”, “30A”, “Shore D 70”, “A 25-35”, “00 30”, “IRHD 40”, or a word.

    Raises
    ------
    BadRequest
        If it says no hardness.

    >>> wanted_hardness("shore a 25-35")
    Hardness(scale=<Scale.A: 'A'>, points=30.0, tolerance_points=5.0)
    """
    plain = " ".join(text.lower().split())
    if plain in WORDS:
        scale, points = WORDS[plain]
        return Hardness(scale=scale, points=points, tolerance_points=WORD_TOLERANCE)
    number = r"(\d+(?:\.\d+)?)(?:\s*(?:-|–|to)\s*(\d+(?:\.\d+)?))?"
    plain = re.sub(r"\boo(?=\b|\d)", "00", plain)
    found = re.fullmatch(rf"(?:shore\s*)?(a|d|irhd|00(?=[\s-]|\d\d))[\s-]*{number}", plain)
    turned = re.fullmatch(rf"(?:shore\s*)?{number}\s*(?:shore\s*)?(a|d|irhd|(?<=[\s-])00)", plain)
    if found is not None:
        scale_text, low, high = found.groups()
    elif turned is not None:
        low, high, scale_text = turned.groups()
    else:
        raise BadRequest(
            f"“{text}” says no hardness.", remedy=f"Write e.g. “A 30” or “D 70”, or a word: {', '.join(WORDS)}."
        )
    return _numbered(scale_text, float(low), None if high is None else float(high))


def _numbered(scale_text: str, low: float, high: float | None) -> Hardness:
    points, tolerance = (low, POINTS_TOLERANCE) if high is None else ((low + high) / 2, abs(high - low) / 2)
    if not 0 <= points <= 100:
        raise BadRequest(f"a hardness of {points:g} is not on the scale.", remedy="Shore scales run from 0 to 100.")
    if scale_text == "irhd":
        shore_a = gent_shore_a(modulus_from_irhd(points))
        return Hardness(scale=Scale.A, points=round(shore_a, 1), tolerance_points=tolerance)
    return Hardness(scale=Scale(scale_text.upper()), points=points, tolerance_points=tolerance)


def hardness_of(material: Material) -> Hardness | None:
    """The hardness of a material's record; None if it holds none."""
    if FigureName.SHORE_A in material.figures:
        return Hardness(scale=Scale.A, points=material.figures[FigureName.SHORE_A].value)
    if FigureName.SHORE_D in material.figures:
        return Hardness(scale=Scale.D, points=material.figures[FigureName.SHORE_D].value)
    if FigureName.SHORE_00 in material.figures:
        return Hardness(scale=Scale.GEL, points=material.figures[FigureName.SHORE_00].value)
    return None


def points_above(have: Hardness, wanted: Hardness) -> float | None:
    """By how many points of the wanted scale `have` is harder; None where the two scales do not meet.

    >>> points_above(Hardness(scale=Scale.A, points=90), Hardness(scale=Scale.D, points=36))
    3.0
    """
    if have.scale is wanted.scale:
        return have.points - wanted.points
    if Scale.GEL in (have.scale, wanted.scale):
        return None
    turn = shore_d_from_shore_a if have.scale is Scale.A else shore_a_from_shore_d
    try:
        return turn(have.points) - wanted.points
    except OutOfRange:
        return None


def ways_to_reach(
    wanted: Hardness, *, materials: Iterable[Material], softeners: Sequence[Material]
) -> tuple[FeelWay, ...]:
    """Materials that reach the wanted hardness, as they are or with a softener inside its table; nearest first."""
    ways = [way for material in materials for way in _ways(wanted, material, softeners)]
    return tuple(sorted(ways, key=lambda way: (way.softener is not None, abs(way.off_points), way.material.id)))


def stiffness_of(
    hardness: Hardness,
    *,
    thickness_mm: float | None = None,
    length_mm: float | None = None,
    width_mm: float | None = None,
    load_n: float = 1.0,
) -> Stiffness | None:
    """Modulus range by two correlations, and the deflection of the thinnest section as a strip held at one end.

    An estimate: the correlations differ by 1.6 times at A 60. None where the hardness says nothing of stiffness.
    Without a width the strip is as wide as it is long.
    """
    moduli = _moduli_mpa(hardness)
    if not moduli:
        return None
    low, high = min(moduli), max(moduli)
    if thickness_mm is None or length_mm is None:
        return Stiffness(modulus_low_mpa=low, modulus_high_mpa=high)
    deflections = [
        cantilever_deflection_mm(
            load_n=load_n,
            length_mm=length_mm,
            width_mm=length_mm if width_mm is None else width_mm,
            thickness_mm=thickness_mm,
            modulus_mpa=modulus,
        )
        for modulus in (high, low)
    ]
    return Stiffness(
        modulus_low_mpa=low,
        modulus_high_mpa=high,
        deflection_low_mm=deflections[0],
        deflection_high_mm=deflections[1],
        bends_far=deflections[1] > length_mm / 10,
    )


def _moduli_mpa(hardness: Hardness) -> list[float]:
    moduli: list[float] = []
    if hardness.scale is Scale.GEL:
        return moduli
    if hardness.scale is Scale.D:
        return [log_modulus_mpa(hardness.points + 50)] if 30 <= hardness.points <= STIFFEST_SHORE_D else []
    if 10 <= hardness.points <= 80:
        moduli.append(gent_modulus_mpa(hardness.points))
    if 20 <= hardness.points <= 80:
        moduli.append(log_modulus_mpa(hardness.points))
    return moduli


def _ways(wanted: Hardness, material: Material, softeners: Sequence[Material]) -> list[FeelWay]:
    have = hardness_of(material)
    above = None if have is None else points_above(have, wanted)
    if have is None or above is None:
        return []
    if abs(above) <= wanted.tolerance_points:
        return [FeelWay(material=material, reached=have, off_points=above)]
    if above < 0 or have.scale is not Scale.A or wanted.scale is not Scale.A:
        return []
    return [way for softener in softeners for way in _softened(wanted, material, have, softener)]


def _softened(wanted: Hardness, material: Material, have: Hardness, softener: Material) -> list[FeelWay]:
    made_for = {material.id, *material.traits} & set(softener.works_in)
    refused = judge(first=material.traits, second=softener.traits, contact=Contact.MIXED_INTO).verdict
    if softener.kind is not Kind.SOFTENER or not made_for or refused is Verdict.REFUSED:
        return []
    dose_ratio = _dose_for(softener, wanted.points - have.points)
    if dose_ratio is None:
        return []
    reached = Hardness(scale=Scale.A, points=wanted.points)
    softened = Additive(material=softener, dose_ratio=dose_ratio)
    return [FeelWay(material=material, reached=reached, off_points=0.0, softener=softened)]


def _dose_for(softener: Material, points: float) -> float | None:
    """The dose whose table gives `points` (below zero); None where the table does not reach so far."""
    table = softener.doses
    for before, after in pairwise(table):
        if after.shore_points <= points <= before.shore_points and after.shore_points < before.shore_points:
            share = (points - before.shore_points) / (after.shore_points - before.shore_points)
            return before.dose_ratio + share * (after.dose_ratio - before.dose_ratio)
    return None
