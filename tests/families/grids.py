"""Solids on a grid of points, by level sections, and what can be reached through them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from skimage.draw import polygon
from skimage.morphology import reconstruction

from families.solids import Solid
from firstpour.values import FloatArray

BoolGrid = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Points (nz, ny, nx), a pitch apart; the first at `origin_mm`. Set half a pitch off so that no plane is met."""

    origin_mm: FloatArray
    pitch_mm: float
    shape: tuple[int, int, int]

    def heights_mm(self) -> FloatArray:
        """Heights of the layers (nz,)."""
        return self.origin_mm[2] + self.pitch_mm * np.arange(self.shape[0])

    def index_of(self, points_mm: FloatArray) -> tuple[NDArray[np.int64], ...]:
        """Layer, row and column of the grid point nearest to each point (k, 3)."""
        near = np.rint((np.atleast_2d(points_mm) - self.origin_mm) / self.pitch_mm).astype(np.int64)
        near = np.clip(near, 0, np.array(self.shape[::-1]) - 1)
        return near[:, 2], near[:, 1], near[:, 0]


def grid_over(low_mm: FloatArray, high_mm: FloatArray, *, pitch_mm: float, margin: int = 2) -> Grid:
    """A grid that covers a box with `margin` points around it."""
    count = np.ceil((high_mm - low_mm) / pitch_mm).astype(int) + 2 * margin
    origin = 0.5 * (low_mm + high_mm) - 0.5 * (count - 1) * pitch_mm + 0.0137 * pitch_mm
    return Grid(origin_mm=origin, pitch_mm=pitch_mm, shape=(int(count[2]), int(count[1]), int(count[0])))


def inside(solid: Solid, grid: Grid) -> BoolGrid:
    """Which grid points lie inside the solid: each layer's section, its rings taken one against the other."""
    filled = np.zeros(grid.shape, bool)
    bounds = solid.bounding_box()
    for k, z in enumerate(grid.heights_mm()):
        if not bounds[2] < z < bounds[5]:
            continue
        for ring in solid.slice(float(z)).to_polygons():
            at = (np.asarray(ring) - grid.origin_mm[:2]) / grid.pitch_mm
            rows, columns = polygon(at[:, 1], at[:, 0], grid.shape[1:])
            filled[k, rows, columns] ^= True
    return filled


def joined_inside(solids: list[Solid], grid: Grid) -> BoolGrid:
    """Which grid points lie inside any of the solids."""
    filled = np.zeros(grid.shape, bool)
    for solid in solids:
        filled |= inside(solid, grid)
    return filled


def reached_from(open_space: BoolGrid, seeds: BoolGrid) -> BoolGrid:
    """What of `open_space` hangs together with the seeds, from neighbour to neighbour along the axes."""
    labels, _ = ndimage.label(open_space)
    reached: BoolGrid = np.isin(labels, np.unique(labels[seeds & open_space])) & open_space
    return reached


def air_left(cavity: BoolGrid, openings: list[tuple[tuple[int, int, int], float]], grid: Grid) -> BoolGrid:
    """Which points of the cavity keep air when liquid rises along +z.

    `openings` are points with the level down to which air gets out there. Air at x leaves if some way leads to an
    opening that never goes below x: the greatest over all ways of their lowest level is grown from the openings.
    """
    low = grid.origin_mm[2] - 10.0
    level = np.where(cavity, grid.heights_mm()[:, None, None], low)
    seed = np.full(grid.shape, low)
    for at, out_mm in openings:
        if cavity[at]:
            seed[at] = max(seed[at], min(level[at], out_mm))
    leaves_at = reconstruction(seed, level, method="dilation", footprint=ndimage.generate_binary_structure(3, 1))
    kept: BoolGrid = cavity & (leaves_at < level - 0.25 * grid.pitch_mm)
    return kept
