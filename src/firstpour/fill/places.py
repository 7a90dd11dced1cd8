"""What lies under a point of the surface where a gate or a vent might go."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstpour.fill.cavity import mark_rank
from firstpour.fill.spots import nearest_spots
from firstpour.fill.values import PlaceKind
from firstpour.part.part import Part
from firstpour.values import BoolArray, FloatArray

SEAM_STEP_MM = 1.0
SEAM_REACH_MM = 1.5
"""A place this near to the parting line lies on it, as a channel's radius goes; its channel starts on the line."""
RANKED = (PlaceKind.HIDDEN, PlaceKind.UNMARKED, PlaceKind.SHOW, PlaceKind.KEEP_CLEAR)
BAD_PLACES = (PlaceKind.SHOW, PlaceKind.KEEP_CLEAR)
WORDS = {
    PlaceKind.HIDDEN: "on a hidden face",
    PlaceKind.SEAM: "on the parting line, where it cuts clean with the flash",
    PlaceKind.UNMARKED: "on an unmarked face",
    PlaceKind.SHOW: "on a show face",
    PlaceKind.KEEP_CLEAR: "on a face to keep clear",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeamLine:
    """The parting line as closed polylines (k, 3) on the part, and places along it to ask how near others are."""

    loops_mm: tuple[FloatArray, ...]
    tree: cKDTree


def seam_line(loops_mm: tuple[FloatArray, ...] | None) -> SeamLine | None:
    """The parting line ready to be asked; None where none is known."""
    if not loops_mm:
        return None
    places = np.concatenate([points_along(loop, step_mm=0.25 * SEAM_REACH_MM) for loop in loops_mm])
    return SeamLine(loops_mm=loops_mm, tree=cKDTree(places))


def places_of(
    part: Part, points_mm: FloatArray, faces: NDArray[np.int64], *, seam: SeamLine | None
) -> tuple[PlaceKind, ...]:
    """The kind of place of each point (k, 3) on `faces` (k,): hidden, else on the parting line, else as marked."""
    rank = mark_rank(part.marks[faces])
    near = near_seam(points_mm, seam)
    return tuple(
        PlaceKind.SEAM if close and RANKED[r] in (PlaceKind.UNMARKED, PlaceKind.SHOW) else RANKED[r]
        for r, close in zip(rank, near, strict=True)
    )


def places_at(part: Part, points_mm: FloatArray, *, up: FloatArray, seam: SeamLine | None) -> tuple[PlaceKind, ...]:
    """What lies under points (k, 3) of the surface; at an edge, on the face that looks up most."""
    return places_of(part, points_mm, nearest_spots(part, points_mm, up=up).faces, seam=seam)


def place_at(part: Part, at_mm: FloatArray, *, up: FloatArray, seam: SeamLine | None) -> PlaceKind:
    """What lies under a point of the surface; at an edge, on the face that looks up most."""
    return places_at(part, at_mm[None], up=up, seam=seam)[0]


def near_seam(points_mm: FloatArray, seam: SeamLine | None) -> BoolArray:
    """Whether points (k, 3) lie within `SEAM_REACH_MM` of the parting line, by places on it (a hundredth less)."""
    if seam is None:
        return np.zeros(len(points_mm), bool)
    away, _ = seam.tree.query(points_mm, distance_upper_bound=SEAM_REACH_MM)
    near: BoolArray = np.isfinite(away)
    return near


def points_along(loop_mm: FloatArray, *, step_mm: float = SEAM_STEP_MM) -> FloatArray:
    """Points (n, 3) along a closed polyline, its corners and places about `step_mm` apart between them."""
    after = np.roll(loop_mm, -1, axis=0)
    counts = np.maximum(1, np.ceil(np.linalg.norm(after - loop_mm, axis=1) / step_mm)).astype(int)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(len(first)) - first) / np.repeat(counts, counts)
    places: FloatArray = np.repeat(loop_mm, counts, axis=0) + share[:, None] * np.repeat(
        after - loop_mm, counts, axis=0
    )
    return places


def polyline_distance_mm(points_mm: FloatArray, line_mm: FloatArray) -> FloatArray:
    """Distance of points (k, 3) from the polyline (s, 3), mm."""
    a, along = line_mm[:-1], np.diff(line_mm, axis=0)
    length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
    least = np.full(len(points_mm), np.inf)
    for k, point in enumerate(points_mm):
        t = np.clip(np.einsum("ij,ij->i", point - a, along) / length2, 0, 1)
        least[k] = np.sqrt(((a + t[:, None] * along - point) ** 2).sum(axis=1).min())
    return least
