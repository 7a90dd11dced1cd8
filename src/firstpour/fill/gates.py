"""Where the gate goes, and how it meets the part: round, as a fan along a thin rim, or over a pointed tip."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from firstpour.fill.cavity import Cavity, highest_place, in_pixels, node_top_mm
from firstpour.fill.places import BAD_PLACES, near_seam, place_at, places_at, places_of, points_along
from firstpour.fill.spots import nearest_faces
from firstpour.fill.values import MadeAs, PlaceKind
from firstpour.fill.ways import Way, Ways, on_seam
from firstpour.fill.widths import LEAST_RADIUS_MM, LOOK_BELOW_MM, SHARE_OF_WIDTH, widths_below
from firstpour.kernels import locate
from firstpour.values import FloatArray

TOO_NARROW = 0.6
"""A gate narrowed below this share of its radius goes elsewhere, and its peak gets a vent. An estimate of our own."""
MOST_PLACES = 12
"""So many places of each kind are tried: all round a level rim the parting line alone has more."""
MOST_LOOKED_AT = 400
SAME_HEIGHT_MM = 0.05
"""Places this much lower count as being as high."""
TIP_SHARE = 0.95
"""A tip whose section stays within this share of the gate's is swallowed by it."""
POINTED_AT, POINTED_RATIO = (0.3, 1.0), 0.7
"""A part is pointed whose width at the first depth (radii of the gate) is within this share of that at the second."""
TIP_DEPTH_RATIO = 2.0
"""No more of a tip is swallowed than so many radii of the gate."""
LONG_RATIO = 4.0
"""A thin section longer than so many radii of the gate is a rim: it takes a fan."""
MOST_FAN_RATIO = 8.0
"""A fan is no longer than so many radii of the gate."""


FAN_STEEP = 0.45
"""A fan's feet stand where the parting line rises or falls by at most this share of its length (27°): farther down a
round wall a foot that looks the way of the fan comes out behind the wall. An estimate of our own."""
ROUGH_MM = 0.01
"""Steps of the line up or down by so much do not count as steep."""
FAN_STEP_MM = 1.5
"""Feet of a fan stand about so far apart; the parting line's own corners come between."""
MOST_FAN_ALONG = 0.85
"""Cosine of the way to a fan's neck with the draw, the most: 32° off the draw at the least (our own choice)."""


class FootKind(StrEnum):
    """How a gate meets the part."""

    ROUND = "round"
    TIP = "tip"
    FAN = "fan"
    NARROW = "narrow"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foot:
    """The foot of a gate: its radius at the part, the part's width there, how deep a tip lies in it, a fan's feet."""

    kind: FootKind
    radius_mm: float
    width_mm: float
    tip_mm: float = 0.0
    feet_mm: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    foot_radius_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GatePlace:
    """A place that may carry the gate, how far it lies below the highest one, and the foot that fits there."""

    at_mm: FloatArray
    kind: PlaceKind
    below_top_mm: float
    foot: Foot


def gate_places(ways: Ways, *, radius_mm: float) -> list[GatePlace]:
    """Places for a gate of `radius_mm`, the best first: none that shows or fits something, wide enough, high.

    Among places as high as each other hidden ones come first, then the parting line. Where nothing better is in the
    upper half of the cavity, places that show or are narrow follow. No more than `MOST_PLACES` of a kind.
    """
    good: list[GatePlace] = []
    poor: list[GatePlace] = []
    places, belows = _candidates(ways)
    kinds = places_at(ways.cavity.part, places, up=ways.cavity.up, seam=ways.seam)
    free = np.ones(len(places), bool)
    for k, (at, below, kind) in enumerate(zip(places, belows, kinds, strict=True)):
        if not free[k] or sum(other.kind is kind for other in good) >= MOST_PLACES:
            continue
        foot = gate_foot(ways, at, radius_mm=radius_mm)
        bad = kind in BAD_PLACES or foot.kind is FootKind.NARROW
        place = GatePlace(at_mm=at, kind=kind, below_top_mm=float(below), foot=foot)
        (poor if bad else good).append(place)
        free &= np.linalg.norm(places - at, axis=1) >= 2 * radius_mm
    poor.sort(key=lambda one: (one.kind in BAD_PLACES, one.below_top_mm > SAME_HEIGHT_MM))
    return good + poor[:MOST_PLACES]


def _candidates(ways: Ways) -> tuple[FloatArray, FloatArray]:
    """Places (k, 3) in the upper half of the cavity, the highest first, and how far below the top each is (k,).

    Those from where no channel could leave are left out.
    """
    cavity = ways.cavity
    d, up = cavity.dexels, cavity.up
    top = highest_place(cavity)
    middle = 0.5 * (d.z_mm[1::2].max() + d.z_mm[0::2].min())
    points = [top[None]]
    if ways.surface is None or ways.lone_serves:
        nodes = np.flatnonzero(d.z_mm[1::2] > middle)
        nodes = nodes[np.argsort(-d.z_mm[2 * nodes + 1], kind="stable")]
        nodes = nodes[:: max(1, len(nodes) // MOST_LOOKED_AT)]
        points += [node_top_mm(cavity, int(n))[None] for n in nodes]
    points += [_upper(points_along(loop), up, middle) for loop in (ways.seam.loops_mm if ways.seam else ())]
    places = np.concatenate(points)
    if ways.surface is not None and not ways.lone_serves:
        places = places[near_seam(places, ways.seam)]
    if len(places) == 0:
        return places, np.empty(0)
    faces = nearest_faces(cavity.part, places)
    kinds = places_of(cavity.part, places, faces, seam=ways.seam)
    below: FloatArray = float(d.z_mm[1::2].max()) - places @ up
    order = sorted(
        range(len(places)),
        key=lambda k: (
            kinds[k] in BAD_PLACES,
            round(max(0.0, float(below[k])) / SAME_HEIGHT_MM),
            list(PlaceKind).index(kinds[k]),
            float(np.linalg.norm(places[k] - top)),
        ),
    )
    return places[order], np.maximum(0.0, below[order])


def _upper(places: FloatArray, up: FloatArray, middle: float) -> FloatArray:
    kept = places[places @ up > middle]
    kept = kept[np.argsort(-(kept @ up), kind="stable")]
    fewer: FloatArray = kept[:: max(1, len(kept) // MOST_LOOKED_AT)]
    return fewer


def gate_foot(ways: Ways, at_mm: FloatArray, *, radius_mm: float) -> Foot:
    """How a gate of `radius_mm` meets the part at a place."""
    cavity = ways.cavity
    least, most = widths_below(cavity, at_mm, below_mm=LOOK_BELOW_MM)
    if SHARE_OF_WIDTH * least >= TOO_NARROW * radius_mm:
        return Foot(kind=FootKind.ROUND, radius_mm=min(radius_mm, SHARE_OF_WIDTH * least), width_mm=least)
    if most <= 2.0 * TIP_SHARE * radius_mm and _is_pointed(cavity, at_mm, radius_mm):
        return Foot(
            kind=FootKind.TIP, radius_mm=radius_mm, width_mm=least, tip_mm=_tip_depth_mm(cavity, at_mm, radius_mm)
        )
    narrow_mm = max(LEAST_RADIUS_MM, SHARE_OF_WIDTH * least)
    if most >= LONG_RATIO * radius_mm and ways.surface is not None:
        feet = _fan_feet(ways, at_mm, radius_mm=radius_mm, foot_mm=narrow_mm)
        if len(feet) >= 3:
            return Foot(
                kind=FootKind.FAN, radius_mm=radius_mm, width_mm=least, feet_mm=feet, foot_radius_mm=narrow_mm
            )
    return Foot(kind=FootKind.NARROW, radius_mm=narrow_mm, width_mm=least)


def _is_pointed(cavity: Cavity, at_mm: FloatArray, radius_mm: float) -> bool:
    """Whether the part tapers towards the place, unlike a leg that is as thick all along."""
    near, far = (widths_below(cavity, at_mm, below_mm=share * radius_mm)[1] for share in POINTED_AT)
    return near <= POINTED_RATIO * far


def _tip_depth_mm(cavity: Cavity, at_mm: FloatArray, radius_mm: float) -> float:
    """How far below the tip its section still lies within the gate."""
    step = max(0.25, 0.5 * cavity.dexels.pitch_mm)
    depth = 0.0
    while depth + step <= TIP_DEPTH_RATIO * radius_mm:
        if widths_below(cavity, at_mm, below_mm=depth + step)[1] > 2.0 * TIP_SHARE * radius_mm:
            break
        depth += step
    return depth


def _fan_feet(ways: Ways, at_mm: FloatArray, *, radius_mm: float, foot_mm: float) -> FloatArray:
    """Places (k, 3) along the parting line on both sides of `at_mm` that give a slot as large as the round gate."""
    if ways.surface is None or not near_seam(at_mm[None], ways.seam)[0]:
        return np.empty((0, 3))
    half = 0.5 * min(MOST_FAN_RATIO * radius_mm, np.pi * radius_mm**2 / (2.0 * foot_mm))
    start = on_seam(at_mm, ways.surface.seam_mm)
    loop = min(ways.surface.seam_mm, key=lambda one: float(np.linalg.norm(on_seam(start, (one,)) - start)))
    places = points_along(loop, step_mm=max(FAN_STEP_MM, foot_mm))
    places = np.roll(places, -int(np.argmin(np.linalg.norm(places - start, axis=1))), axis=0)
    after = _level_stretch(places, ways.cavity.up, half_mm=half)
    before = _level_stretch(np.roll(places[::-1], 1, axis=0), ways.cavity.up, half_mm=half)
    feet: FloatArray = np.concatenate([before[:0:-1], after])
    if np.linalg.norm(np.diff(feet, axis=0), axis=1).sum() < 2.0 * radius_mm:
        return np.empty((0, 3))
    return feet


def _level_stretch(places: FloatArray, up: FloatArray, *, half_mm: float) -> FloatArray:
    """The first of `places` (k, 3), as far as they lie within `half_mm` of way and the line runs nearly level."""
    steps = np.diff(places, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    steep = np.abs(steps @ up) > FAN_STEEP * lengths + ROUGH_MM
    ends = np.flatnonzero(steep | (np.cumsum(lengths) > half_mm))
    stretch: FloatArray = places[: 1 + (int(ends[0]) if len(ends) else len(lengths))]
    return stretch


def fan_path(ways: Ways, way: Way, foot: Foot) -> FloatArray | None:
    """The way (k, 3) of a fan gate, its second point the neck; None where the fan would meet the part.

    The neck lies as far out as half the fan is long, no farther than half of the way. None, too, where it would lie
    over or under the feet along the draw: a fan that narrows along the draw is undercut in the half behind its feet.
    """
    if way.made_as is not MadeAs.BOTH_HALVES or ways.surface is None:
        return None
    half = 0.5 * float(np.linalg.norm(np.diff(foot.feet_mm, axis=0), axis=1).sum())
    lengths = np.linalg.norm(np.diff(way.path_mm, axis=0), axis=1)
    ahead = np.concatenate([[0.0], np.cumsum(lengths)])
    reach = min(half, 0.5 * float(ahead[-1]))
    neck = np.array([np.interp(reach, ahead, way.path_mm[:, k]) for k in range(3)])
    if abs(float((neck - way.path_mm[0]) @ ways.surface.frame[2])) > MOST_FAN_ALONG * reach:
        return None
    d = ways.cavity.dexels
    share = np.linspace(0.0, 1.0, 12)[:, None, None]
    places = (foot.feet_mm + share * (neck - foot.feet_mm)).reshape(-1, 3)
    left = np.linalg.norm(places - np.repeat(foot.feet_mm[None], 12, axis=0).reshape(-1, 3), axis=1)
    pixels = in_pixels(ways.cavity, places[left > 2.0 * foot.foot_radius_mm + d.pitch_mm])
    if locate.inside_solid(pixels, d.z_mm, ways.cavity.start, d.nx, d.ny).any():
        return None
    path: FloatArray = np.vstack([way.path_mm[:1], neck, way.path_mm[ahead > reach + 1e-6]])
    return path


def place_of(ways: Ways, at_mm: FloatArray) -> PlaceKind:
    """What lies under a place of the surface."""
    return place_at(ways.cavity.part, at_mm, up=ways.cavity.up, seam=ways.seam)
