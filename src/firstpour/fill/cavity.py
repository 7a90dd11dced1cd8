"""The space to be filled: cut along up, and the openings that lie on its surface."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from firstpour.errors import BadRequest
from firstpour.fill.spots import nearest_spot
from firstpour.kernels import locate
from firstpour.kernels import nodes as kernel
from firstpour.part.part import FaceMark, Part
from firstpour.surface.dexels import Dexels, Grid, dexels_of, grid_along
from firstpour.values import FloatArray, IntArray

SAME_LEVEL_MM = 1e-4
"""Roofs closer than this lie at one level: rounding of part files stays below it."""
SAME_DEPTH_LINES = 0.5
"""Places this much less far inside a patch count as being as far inside."""
REACH_LINES = 2
LEAST_LINES, MOST_LINES = 8, 4096


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cavity:
    """The space to be filled, cut along up: dexels, their nodes and the part they came from."""

    part: Part
    grid: Grid
    dexels: Dexels
    column: NDArray[np.int32]
    start: NDArray[np.int32]

    @property
    def up(self) -> FloatArray:
        """The unit direction the air rises in."""
        up: FloatArray = self.dexels.frame[2]
        return up


def cut_cavity(part: Part, up: FloatArray, *, resolution: int) -> Cavity:
    """Cut the part along `up`, `resolution` lines on the longer side.

    Raises
    ------
    BadRequest, UnreadablePart
        As `surface.dexels.cut_dexels`.
    """
    if not LEAST_LINES <= resolution <= MOST_LINES:
        raise BadRequest(
            f"a grid of {resolution} lines a side",
            remedy=f"ask for {LEAST_LINES} to {MOST_LINES}, usually 128 to 512",
        )
    grid = grid_along(part.mesh, up, resolution=resolution)
    dexels = dexels_of(grid, part.mesh.faces)
    if len(dexels.z_mm) == 0:
        raise BadRequest(
            f"no line of a grid of {resolution} meets the part",
            remedy="ask for a finer resolution, usually 128 to 512",
        )
    column, start = kernel.node_columns(dexels.offsets)
    return Cavity(part=part, grid=grid, dexels=dexels, column=column, start=start)


def node_top_mm(cavity: Cavity, node: int) -> FloatArray:
    """Where the line of `node` leaves the cavity, in the part's coordinates (3,)."""
    return cavity.dexels.point_mm(int(cavity.column[node]), float(cavity.dexels.z_mm[2 * node + 1]))


def in_pixels(cavity: Cavity, points_mm: FloatArray) -> FloatArray:
    """Points (k, 3) of the part in the grid: x, y in pixels, level in mm."""
    d = cavity.dexels
    turned: FloatArray = np.atleast_2d(points_mm) @ d.frame.T
    turned[:, :2] = (turned[:, :2] - d.origin_mm) / d.pitch_mm
    return turned


def opening_nodes(cavity: Cavity, points_mm: FloatArray) -> tuple[NDArray[np.int32], FloatArray]:
    """Node and level (mm) of each opening at `points_mm` (k, 3).

    Raises
    ------
    BadRequest
        If a point has no line of the grid near it.
    """
    d = cavity.dexels
    points = in_pixels(cavity, points_mm)
    nodes, _ = locate.nearest_nodes(points, d.z_mm, cavity.start, d.nx, d.ny, d.pitch_mm, REACH_LINES)
    if (nodes < 0).any():
        place = np.round(points_mm[int(np.argmin(nodes))], 2).tolist()
        raise BadRequest(
            f"the opening at {place} mm lies where the cavity is thinner than the grid ({d.pitch_mm:.2f} mm)",
            remedy="move it to a thicker place or ask for a finer resolution",
        )
    levels: FloatArray = np.clip(points[:, 2], d.z_mm[2 * nodes], d.z_mm[2 * nodes + 1])
    return nodes, levels


def highest_place(cavity: Cavity) -> FloatArray:
    """The highest peak (3,) mm; on a level roof its hidden faces first, then its most inward place."""
    d = cavity.dexels
    top = d.z_mm[1::2]
    ties = np.flatnonzero(top >= top.max() - SAME_LEVEL_MM)
    rank = mark_rank(cavity.part.marks[d.face[2 * ties + 1]])
    best = ties[rank == rank.min()]
    return node_top_mm(cavity, int(best[most_inside(cavity, best)]))


def most_inside(cavity: Cavity, nodes: IntArray) -> int:
    """Which of `nodes` (k,) lies farthest inside the patch they make, seen from above; of several the middle one."""
    if len(nodes) == 1:
        return 0
    nx = cavity.dexels.nx
    x, y = cavity.column[nodes] % nx, cavity.column[nodes] // nx
    x, y = x - x.min() + 1, y - y.min() + 1
    patch = np.zeros((y.max() + 2, x.max() + 2), bool)
    patch[y, x] = True
    inside = distance_transform_edt(patch)[y, x]
    off_middle = np.hypot(x - x.mean(), y - y.mean())
    return int(np.argmin(np.where(inside >= inside.max() - SAME_DEPTH_LINES, off_middle, np.inf)))


def mark_rank(marks: NDArray[np.uint8]) -> NDArray[np.int64]:
    """0 hidden, 1 unmarked, 2 show, 3 keep clear: the order in which faces may carry an opening."""
    hidden, show, keep = ((marks & int(m)) != 0 for m in (FaceMark.HIDDEN, FaceMark.SHOW, FaceMark.KEEP_CLEAR))
    return np.select([keep, show, hidden], [3, 2, 0], default=1).astype(np.int64)


def on_surface(cavity: Cavity, point_mm: FloatArray, *, name: str) -> FloatArray:
    """The point of the part's surface nearest to `point_mm`, which must lie within one pitch (at least 1 mm) of it.

    Raises
    ------
    BadRequest
        If the point is not three finite numbers, or lies deeper inside the part or farther off it.
    """
    point = np.asarray(point_mm, dtype=np.float64)
    if point.shape != (3,) or not np.isfinite(point).all():
        raise BadRequest(f"{name} at {point.tolist()}", remedy="give three finite numbers x,y,z in mm")
    near = nearest_spot(cavity.part, point, up=cavity.up)
    d = cavity.dexels
    if near.distance_mm <= max(1.0, d.pitch_mm):
        return near.at_mm
    inside = bool(locate.inside_solid(in_pixels(cavity, point), d.z_mm, cavity.start, d.nx, d.ny)[0])
    where = "inside the cast part" if inside else "off the cavity, in the mould's own body or outside it"
    raise BadRequest(
        f"{name} at {np.round(point, 2).tolist()} mm lies {near.distance_mm:.1f} mm {where}",
        remedy=f"put it on the surface; the nearest place is {np.round(near.at_mm, 2).tolist()} mm",
    )
