"""The parting surface: a height field from the seam out to the rim of the block, flat along the rim.

The plane across the draw, less what the seam loops enclose, is triangulated with the loops as constraints and a
graded set of points between; the heights solve Laplace's equation (cotangent weights), seam and flat rim given.
So the surface passes exactly through the seam, and never over or under the part.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import manifold3d
import numpy as np
import shapely
from scipy.sparse import coo_array, csr_array
from scipy.sparse.linalg import spsolve

from firstpour.kernels import triangulation as kernel
from firstpour.parting.block import Block
from firstpour.values import FloatArray, IntArray, Remembered

FINE_RATIO, COARSE_RATIO = 1 / 120, 1 / 40
"""Spacing of the points near the seam and elsewhere, as a share of the block's longer side."""
WOBBLE_RATIO = 1e-4
"""Points in a straight row stand off the line by this share: one on a side of a triangle would be left out."""
FLAT_RATIO = 1e-9
"""A triangle turned over by no more than this share of the largest is flat, as where the seam runs upright."""
BAND_PLAY_MM = 1e-6
"""Rounding allowed to a point on the inner edge of the rim's band."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class Sheet:
    """`points_mm` (n, 3): the loops' vertices in their order, the rim's, then those between; `tri` (t, 3) facing up.

    `rim` are the numbers of the rim's points, counter-clockwise; `region` is the plan of the sheet.
    """

    points_mm: FloatArray
    tri: IntArray
    rim: IntArray
    rim_mm: float
    region: shapely.Polygon | shapely.MultiPolygon


_TREES: Remembered[Sheet, shapely.STRtree] = Remembered(1)
"""The triangles of a sheet in plan, to search in; made once a sheet."""


def sheet_height_mm(sheet: Sheet, xy_mm: FloatArray) -> FloatArray:
    """Height of the parting surface at places (n, 2): (n,).

    Inside the part, and past the rim, that of the nearest place on the sheet; where it stands upright, any of its
    heights there.
    """
    xy_mm = np.atleast_2d(xy_mm)
    corners = sheet.points_mm[sheet.tri]
    tree = _TREES.of(sheet, None, lambda: shapely.STRtree(shapely.polygons(corners[:, :, :2])))
    places = shapely.points(xy_mm)
    on, triangle = tree.query(places, predicate="intersects")
    on, first = np.unique(on, return_index=True)
    height = np.empty(len(xy_mm))
    height[on] = _heights_in(corners[triangle[first]], xy_mm[on])
    # the nearest triangle is looked for only where there is none under the place: that takes ten times as long
    off = np.setdiff1d(np.arange(len(xy_mm)), on)
    which, triangle = tree.query_nearest(places[off], all_matches=False)
    nearest = shapely.get_coordinates(shapely.shortest_line(tree.geometries[triangle], places[off][which]))[::2]
    height[off[which]] = _heights_in(corners[triangle], nearest)
    return height


def _heights_in(corners: FloatArray, xy_mm: FloatArray) -> FloatArray:
    """Heights (k,) of triangles (k, 3, 3) at a place (k, 2) in each; without area, that of the nearest corner."""
    a, b, c = (corners[:, k] for k in range(3))
    u, v, w = (b - a)[:, :2], (c - a)[:, :2], xy_mm - a[:, :2]
    area2 = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    longest2 = np.maximum((u * u).sum(axis=1), (v * v).sum(axis=1))
    flat = np.abs(area2) <= FLAT_RATIO * longest2
    whole = np.where(flat, 1.0, area2)
    s = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / whole
    t = (u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]) / whole
    inside = a[:, 2] + s * (b - a)[:, 2] + t * (c - a)[:, 2]
    nearest = np.argmin(((corners[:, :, :2] - xy_mm[:, None]) ** 2).sum(axis=2), axis=1)
    heights: FloatArray = np.where(flat, corners[np.arange(len(corners)), nearest, 2], inside)
    return heights


def loops_are_apart(loops_mm: tuple[FloatArray, ...]) -> bool:
    """Whether the loops (k, 3), seen along the draw, neither cross themselves nor each other."""
    rings = [shapely.LinearRing(loop[:, :2]) for loop in loops_mm]
    if not all(ring.is_simple for ring in rings):
        return False
    pairs = shapely.STRtree(rings).query(rings, predicate="intersects")
    return bool((pairs[0] == pairs[1]).all())


def footprint(loops_mm: Iterable[FloatArray]) -> shapely.Geometry:
    """What loops (k, 2 or 3) enclose seen along the draw: outer loops less the through holes in them."""
    rings = sorted((shapely.Polygon(loop[:, :2]) for loop in loops_mm), key=lambda ring: -ring.area)
    region: shapely.Geometry = shapely.Polygon()
    for ring in rings:
        region = region.symmetric_difference(ring)
    return region


def make_sheet(loops_mm: tuple[FloatArray, ...], block: Block, *, rim_band_mm: float) -> Sheet | None:
    """Lay the parting surface through the loops (k, 3), the upper half on their left; None where that fails."""
    spacing_mm = float((block.high_mm - block.low_mm)[:2].max())
    rim_xy = rim_points(block, step_mm=spacing_mm * COARSE_RATIO)
    seam_xyz = np.concatenate(loops_mm)
    fixed_xy = np.concatenate([seam_xyz[:, :2], rim_xy])
    plate = shapely.box(*block.low_mm[:2], *block.high_mm[:2])
    region = plate.difference(footprint(loops_mm))
    between = points_between(region, block, spacing_mm=spacing_mm, band_mm=rim_band_mm)
    xy = np.concatenate([fixed_xy, between])
    tri = _triangulate(xy, loops_mm, rim_count=len(rim_xy))
    if tri is None:
        return None
    rim_mm = mean_height_mm(loops_mm)
    known = np.full(len(xy), np.nan)
    known[: len(seam_xyz)] = seam_xyz[:, 2]
    flat = from_rim_mm(xy, block) <= rim_band_mm + BAND_PLAY_MM
    flat[: len(seam_xyz)] = False
    known[flat] = rim_mm
    used = np.unique(tri)
    height = harmonic_heights(xy, tri, known)
    points = np.column_stack([xy, height])
    place = np.full(len(xy), -1)
    place[used] = np.arange(len(used))
    return Sheet(
        points_mm=points[used],
        tri=place[tri],
        rim=place[len(seam_xyz) + np.arange(len(rim_xy))],
        rim_mm=rim_mm,
        region=region,
    )


def rim_points(block: Block, *, step_mm: float) -> FloatArray:
    """Points along the rim of the block, counter-clockwise (k, 2)."""
    (x0, y0), (x1, y1) = block.low_mm[:2], block.high_mm[:2]
    corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
    sides = []
    for a, b in pairwise(corners):
        count = max(1, round(float(np.linalg.norm(b - a)) / step_mm))
        sides.append(a + (b - a) * (np.arange(count) / count)[:, None])
    return np.concatenate(sides)


def from_rim_mm(xy: FloatArray, block: Block) -> FloatArray:
    """How far inside the rim of the block places (n, 2) lie: (n,)."""
    inside: FloatArray = np.minimum(xy - block.low_mm[:2], block.high_mm[:2] - xy).min(axis=1)
    return inside


def points_between(region: shapely.Geometry, block: Block, *, spacing_mm: float, band_mm: float) -> FloatArray:
    """Points inside the region (k, 2): close along the seam, wide elsewhere, none too near a border.

    A row of them runs along the inner edge of the rim's band, and no other stands so near that a side of a triangle
    could cross the row: what lies outside it can be kept flat.
    """
    fine, coarse = spacing_mm * FINE_RATIO, spacing_mm * COARSE_RATIO
    near = region.intersection(shapely.boundary(region).buffer(1.5 * coarse)).buffer(-0.7 * fine)
    points = np.concatenate(
        [_staggered(region.buffer(-1.5 * coarse), step_mm=coarse), _staggered(near, step_mm=fine)]
    )
    inner = Block(
        low_mm=block.low_mm + np.array([band_mm, band_mm, 0.0]),
        high_mm=block.high_mm - np.array([band_mm, band_mm, 0.0]),
    )
    if band_mm <= 0.0 or (inner.high_mm <= inner.low_mm)[:2].any():
        return points
    row = rim_points(inner, step_mm=fine)
    off_line = WOBBLE_RATIO * ((np.arange(len(row)) * 0.618034) % 1.0)
    row += off_line[:, None] * (row - 0.5 * (block.low_mm + block.high_mm)[:2])
    shapely.prepare(region)
    row = row[shapely.contains_xy(region, row)]
    aside = np.abs(from_rim_mm(points, block) - band_mm) > 0.6 * fine
    return np.concatenate([row, points[aside]])


def _staggered(region: shapely.Geometry, *, step_mm: float) -> FloatArray:
    """Points of a triangular lattice inside the region (k, 2)."""
    if region.is_empty:
        return np.empty((0, 2))
    x0, y0, x1, y1 = region.bounds
    rows = np.arange(y0, y1, step_mm * np.sqrt(0.75))
    x, y = np.meshgrid(np.arange(x0, x1 + step_mm, step_mm), rows)
    x = x + np.where(np.arange(len(rows)) % 2 == 0, 0.0, 0.5 * step_mm)[:, None]
    shapely.prepare(region)
    inside = shapely.contains_xy(region, x, y)
    return np.column_stack([x[inside], y[inside]])


def _triangulate(xy: FloatArray, loops_mm: tuple[FloatArray, ...], *, rim_count: int) -> IntArray | None:
    """Triangles (t, 3) of the plate less the loops, all `xy` (n, 2) put in where they fit."""
    starts = np.concatenate([[0], np.cumsum([len(loop) for loop in loops_mm])])
    rings = [starts[-1] + np.arange(rim_count)]
    # the upper half lies on the left of a loop, so the sheet lies on its right: turned round, each is a fit border
    rings += [starts[n] + np.arange(len(loop))[::-1] for n, loop in enumerate(loops_mm)]
    return triangulate_rings(xy, rings, first_new=int(starts[-1]) + rim_count)


def triangulate_rings(xy: FloatArray, rings: list[IntArray], *, first_new: int) -> IntArray | None:
    """Constrained Delaunay triangles (t, 3) of what lies on the left of the rings (vertex numbers).

    The vertices of `xy` (n, 2) from `first_new` on are put in where they fall inside. None where rings cross.
    """
    raw = manifold3d.triangulate([np.ascontiguousarray(xy[ring]) for ring in rings])
    start = np.concatenate(rings)[np.asarray(raw, dtype=np.int64)]
    return _refined(xy, start, first_new=first_new) if len(start) else None


def _refined(xy: FloatArray, start: IntArray, *, first_new: int) -> IntArray | None:
    """Make the triangles Delaunay, keep their border, and add the vertices from `first_new` on."""
    room = len(start) + 2 * (len(xy) - first_new)
    tri = np.zeros((room, 3), np.int64)
    tri[: len(start)] = start
    beside = np.full((room, 3), -1, np.int64)
    beside[: len(start)] = _neighbours(start, len(xy))
    fixed = beside == -1
    kernel.make_delaunay(xy, tri, beside, fixed, len(start))
    count = kernel.add_points(xy, tri, beside, fixed, len(start), first_new)
    done = tri[:count]
    a, b, c = (xy[done[:, k]] for k in range(3))
    area2 = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return done if area2.min() >= -FLAT_RATIO * area2.max() else None


def _neighbours(tri: IntArray, n_vertices: int) -> IntArray:
    """Triangle across each side (t, 3), −1 at the border."""
    start = tri.ravel()
    stop = np.roll(tri, -1, axis=1).ravel()
    there = start * n_vertices + stop
    back = stop * n_vertices + start
    order = np.argsort(there)
    place = np.minimum(np.searchsorted(there[order], back), len(there) - 1)
    found = there[order][place] == back
    neighbours: IntArray = np.where(found, order[place] // 3, -1).reshape(-1, 3)
    return neighbours


def mean_height_mm(loops_mm: tuple[FloatArray, ...]) -> float:
    """Height of the outermost seam, averaged along its length."""
    outer = max(loops_mm, key=lambda loop: shapely.Polygon(loop[:, :2]).area)
    after = np.roll(outer, -1, axis=0)
    lengths = np.linalg.norm(after - outer, axis=1)
    return float((0.5 * (outer[:, 2] + after[:, 2]) * lengths).sum() / lengths.sum())


def harmonic_heights(xy: FloatArray, tri: IntArray, known: FloatArray) -> FloatArray:
    """Heights (n,) that solve Laplace's equation on the triangulation, `known` where not nan."""
    weights = []
    for k in range(3):
        at, one, two = tri[:, (k + 2) % 3], tri[:, k], tri[:, (k + 1) % 3]
        u, v = xy[one] - xy[at], xy[two] - xy[at]
        cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        cotangent = np.einsum("ij,ij->i", u, v) / np.maximum(cross, 1e-12)
        weights.append((one, two, np.maximum(0.5 * cotangent, 1e-9)))
    one, two, weight = (np.concatenate([entry[k] for entry in weights]) for k in range(3))
    n = len(xy)
    link = coo_array((np.concatenate([weight, weight]), (np.r_[one, two], np.r_[two, one])), shape=(n, n)).tocsr()
    used = np.zeros(n, bool)
    used[tri] = True
    free = np.flatnonzero(np.isnan(known) & used)
    height = np.where(np.isnan(known), 0.0, known)
    if len(free) == 0:
        return height
    stiffness = csr_array((link.sum(axis=1), (np.arange(n), np.arange(n))), shape=(n, n)) - link
    rest = np.flatnonzero(~np.isnan(known))
    height[free] = spsolve(stiffness[free][:, free].tocsc(), -(stiffness[free][:, rest] @ known[rest]))
    return height
