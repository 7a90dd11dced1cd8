"""Triangles of faces with any number of corners: a fan where the face is convex, cut properly where it is not."""

import manifold3d
import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.values import BoolArray, FloatArray, IntArray, frame_along

TURN_SLACK = 1e-6
"""A corner that turns back by less than this angle (rad) is straight."""


def triangles_of(points: FloatArray, corners: IntArray, sizes: IntArray) -> IntArray:
    """Triangles (m, 3) of faces in file order: `corners` one face after the other, `sizes` (faces,) corners each.

    Faces of fewer than three corners have none. Corners that name no point of `points` (n, 3) are left to the caller
    to refuse: their face becomes a fan.

    Raises
    ------
    UnreadablePart
        If a face crosses itself.

    >>> square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    >>> triangles_of(square, np.arange(4), np.array([4])).tolist()
    [[0, 1, 2], [0, 2, 3]]
    """
    start = np.cumsum(sizes) - sizes
    out_start = np.cumsum(np.maximum(sizes - 2, 0))
    triangles = np.empty((int(out_start[-1]) if len(sizes) else 0, 3), np.int64)
    for size in np.unique(sizes[sizes >= 3]).tolist():
        chosen = np.flatnonzero(sizes == size)
        rings = corners[start[chosen][:, None] + np.arange(size)]
        cut = np.stack([np.broadcast_to(rings[:, :1], (len(rings), size - 2)), rings[:, 1:-1], rings[:, 2:]], axis=2)
        for n in np.flatnonzero(_bent(points, rings)).tolist():
            cut[n] = rings[n][_cut(points[rings[n]])]
        first = out_start[chosen] - (size - 2)
        triangles[first[:, None] + np.arange(size - 2)] = cut
    return triangles


def _bent(points: FloatArray, rings: IntArray) -> BoolArray:
    """Which rings (r, k) are not convex: seen along their mean normal, they turn back or go round more than once."""
    bent: BoolArray = np.zeros(len(rings), np.bool_)
    there: BoolArray = np.asarray(((rings >= 0) & (rings < len(points))).all(axis=1))
    if rings.shape[1] == 3 or not there.any():
        return bent
    ring_mm = points[rings[there]]
    there[there] = np.isfinite(ring_mm).all(axis=(1, 2))
    ring_mm = points[rings[there]]
    with np.errstate(over="ignore", invalid="ignore"):
        step = np.roll(ring_mm, -1, axis=1) - ring_mm
        after = np.roll(step, -1, axis=1)
        normal = _newell(ring_mm)[:, None, :]
        turned = np.einsum("rki,rki->rk", np.cross(step, after), np.broadcast_to(normal, step.shape))
        length = np.linalg.norm(normal, axis=2)
        turn = np.arctan2(turned, np.einsum("rki,rki->rk", step, after) * length)
        bent[there] = (turn < -TURN_SLACK).any(axis=1) | (turn.sum(axis=1) > 3.0 * np.pi)
        bent[there] &= (length[:, 0] > 1e-12 * (step**2).sum(axis=(1, 2))) & np.isfinite(length[:, 0])
    return bent


def _newell(ring_mm: FloatArray) -> FloatArray:
    """Area vectors (r, 3) of rings (r, k, 3): half the sum of the cross products of their corners (Newell)."""
    from_first = ring_mm - ring_mm[:, :1]
    area: FloatArray = 0.5 * np.cross(from_first, np.roll(from_first, -1, axis=1)).sum(axis=1)
    return area


def _cut(ring_mm: FloatArray) -> IntArray:
    """Triangles (k − 2, 3) of one face, as numbers of its corners."""
    flat = (ring_mm - ring_mm[0]) @ frame_along(_newell(ring_mm[None])[0]).T[:, :2]
    triangles = np.asarray(manifold3d.triangulate([flat]), np.int64).reshape(-1, 3)
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    areas = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    slack = 1e-9 * float(np.ptp(flat, axis=0).max()) ** 2
    if len(triangles) != len(flat) - 2 or areas.min() < -slack:
        raise UnreadablePart(
            f"a face of {len(flat)} corners crosses itself",
            remedy="export the part again with its faces cut into triangles",
        )
    return triangles
