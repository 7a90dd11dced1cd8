"""What lies under a point of the surface where a gate or a vent might go."""

import numpy as np
from numpy.typing import NDArray

from firstpour.fill.cavity import mark_rank
from firstpour.fill.values import PlaceKind
from firstpour.part.part import Part
from firstpour.values import FloatArray

SEAM_REACH_MM = 1.5
"""A place this near to the parting line lies on it, as a channel's radius goes."""
RANKED = (PlaceKind.HIDDEN, PlaceKind.UNMARKED, PlaceKind.SHOW, PlaceKind.KEEP_CLEAR)
WORDS = {
    PlaceKind.HIDDEN: "on a hidden face",
    PlaceKind.SEAM: "on the parting line, where it cuts clean with the flash",
    PlaceKind.UNMARKED: "on an unmarked face",
    PlaceKind.SHOW: "on a show face",
    PlaceKind.KEEP_CLEAR: "on a face to keep clear",
}


def places_of(
    part: Part, points_mm: FloatArray, faces: NDArray[np.int64], *, seam_mm: tuple[FloatArray, ...] | None
) -> tuple[PlaceKind, ...]:
    """The kind of place of each point (k, 3) on `faces` (k,): hidden, else on the parting line, else as marked."""
    rank = mark_rank(part.marks[faces])
    near = seam_distance_mm(points_mm, seam_mm) <= SEAM_REACH_MM
    return tuple(
        PlaceKind.SEAM if close and RANKED[r] in (PlaceKind.UNMARKED, PlaceKind.SHOW) else RANKED[r]
        for r, close in zip(rank, near, strict=True)
    )


def seam_distance_mm(points_mm: FloatArray, seam_mm: tuple[FloatArray, ...] | None) -> FloatArray:
    """Distance of points (k, 3) from the closed polylines of the parting line, mm; infinite without one."""
    points = np.atleast_2d(points_mm)
    least = np.full(len(points), np.inf)
    for loop in seam_mm or ():
        least = np.minimum(least, polyline_distance_mm(points, np.vstack([loop, loop[:1]])))
    return least


def polyline_distance_mm(points_mm: FloatArray, line_mm: FloatArray) -> FloatArray:
    """Distance of points (k, 3) from the polyline (s, 3), mm."""
    a, along = line_mm[:-1], np.diff(line_mm, axis=0)
    length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
    least = np.full(len(points_mm), np.inf)
    for k, point in enumerate(points_mm):
        t = np.clip(np.einsum("ij,ij->i", point - a, along) / length2, 0, 1)
        least[k] = np.sqrt(((a + t[:, None] * along - point) ** 2).sum(axis=1).min())
    return least
