"""Dexels of a mesh along any direction: the checked way into the compiled loops."""

from dataclasses import dataclass

import numba
import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest, UnreadablePart
from firstpour.kernels import dexels as kernel
from firstpour.kernels.crossings import MOST_LINES
from firstpour.values import FloatArray, IntArray, Mesh, Remembered, frame_along, frozen_array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dexels:
    """The solid cut by `nx` × `ny` parallel lines, `pitch_mm` apart, along the third row of `frame`.

    `frame` (3, 3): rows u, v, d. Line (i, j), flat number j·nx + i, runs along d through
    `origin_mm` + (i·pitch_mm, j·pitch_mm) in (u, v). It crosses the surface at `z_mm[offsets[n]:offsets[n + 1]]`
    (along d, sorted, entries and exits in turn) on the faces `face[offsets[n]:offsets[n + 1]]`.
    """

    frame: FloatArray
    origin_mm: FloatArray
    pitch_mm: float
    nx: int
    ny: int
    offsets: IntArray
    z_mm: FloatArray
    face: NDArray[np.int32]

    def point_mm(self, line: int, z_mm: float) -> FloatArray:
        """The point (3,) at `z_mm` on the line of flat number `line`, in the mesh's own coordinates."""
        j, i = divmod(int(line), self.nx)
        u, v = self.origin_mm + self.pitch_mm * np.array([i, j])
        point: FloatArray = np.array([u, v, z_mm]) @ self.frame
        return point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class Grid:
    """A grid of lines in a frame, and the mesh's vertices in its pixels (`pix` (n, 3): x, y in pixels, z in mm)."""

    frame: FloatArray
    origin_mm: FloatArray
    pitch_mm: float
    nx: int
    ny: int
    pix: FloatArray


GRIDS_REMEMBERED = 32
"""Directions of one mesh whose grids and dexels are kept while the mesh is there: some MB each."""
_GRIDS: Remembered[Mesh, Grid] = Remembered(GRIDS_REMEMBERED)
_DEXELS: Remembered[Grid, Dexels] = Remembered(1)


def grid_along(mesh: Mesh, direction: FloatArray, *, resolution: int, margin: int = 0) -> Grid:
    """Lay a grid of lines along `direction`: `resolution` pixels on the longer side, `margin` empty ones around.

    Raises
    ------
    BadRequest
        If `direction` has no length or is not finite, or the grid has no lines or more than `MOST_LINES` a side.
    UnreadablePart
        If the mesh is empty, has coordinates that are not finite, or is flat along the grid.
    """
    frame = frame_of(direction)
    key = ((np.round(frame[2], 12) + 0.0).tobytes(), resolution, margin)
    return _GRIDS.of(mesh, key, lambda: _grid(mesh, frame, resolution=resolution, margin=margin))


def frame_of(direction: FloatArray) -> FloatArray:
    """`frame_along` for a direction that comes from outside: it must be finite and have a length."""
    direction = np.asarray(direction, dtype=np.float64)
    if direction.shape != (3,) or not np.isfinite(direction).all() or not np.linalg.norm(direction) > 1e-9:
        raise BadRequest(
            f"a direction needs three finite numbers, not all zero; got {direction.tolist()}",
            remedy="give it as x,y,z, for example 0,0,1",
        )
    return frame_along(direction)


def _grid(mesh: Mesh, frame: FloatArray, *, resolution: int, margin: int) -> Grid:
    if resolution < 1:
        raise BadRequest(f"a grid of {resolution} lines a side", remedy="ask for at least 1, usually 128 to 512")
    if resolution + 2 * margin > MOST_LINES:
        raise BadRequest(
            f"a grid of {resolution + 2 * margin} lines a side, margin included",
            remedy=f"ask for at most {MOST_LINES}, usually 128 to 512",
        )
    if len(mesh.faces) == 0 or not np.isfinite(mesh.vertices_mm).all():
        raise UnreadablePart(
            "the mesh has no faces or has coordinates that are not numbers", remedy="export it again"
        )
    pix, corners, pitch_mm = kernel.turn_to_grid(mesh.vertices_mm, frame, resolution, margin)
    if not pitch_mm > 0:
        raise UnreadablePart("the mesh has no extent across the grid", remedy="give a solid with a volume")
    low, high = corners
    nx, ny = (max(1, int(np.ceil((high[k] - low[k]) / pitch_mm - 1e-6))) + 2 * margin for k in range(2))
    origin_mm = low[:2] + (0.5 - margin) * pitch_mm
    return Grid(
        frame=frozen_array(frame, np.float64),
        origin_mm=frozen_array(origin_mm, np.float64),
        pitch_mm=pitch_mm,
        nx=nx,
        ny=ny,
        pix=frozen_array(pix, np.float64),
    )


def cut_dexels(mesh: Mesh, direction: FloatArray, *, resolution: int, margin: int = 0) -> Dexels:
    """Cut a closed mesh into dexels along `direction`.

    Raises
    ------
    BadRequest, UnreadablePart
        As `grid_along`; also if the mesh is not closed, which shows as a line that enters without leaving.
    """
    return dexels_of(grid_along(mesh, direction, resolution=resolution, margin=margin), mesh.faces)


def dexels_of(grid: Grid, faces: IntArray) -> Dexels:
    """Cut the faces (m, 3) whose vertices are `grid.pix` by the lines of `grid`; done once a grid."""
    return _DEXELS.of(grid, None, lambda: _dexels_of(grid, faces))


def _dexels_of(grid: Grid, faces: IntArray) -> Dexels:
    offsets, z_mm, face, odd = kernel.dexel_lines_in_bands(grid.pix, faces, grid.nx, grid.ny, numba.get_num_threads())
    if odd:
        raise UnreadablePart(
            f"{odd} of {grid.nx * grid.ny} lines enter the part without leaving it",
            remedy="close the mesh first: every edge must have exactly two faces",
        )
    return Dexels(
        frame=grid.frame,
        origin_mm=grid.origin_mm,
        pitch_mm=grid.pitch_mm,
        nx=grid.nx,
        ny=grid.ny,
        offsets=frozen_array(offsets, np.int64),
        z_mm=frozen_array(z_mm, np.float64),
        face=frozen_array(face, np.int32),
    )


def dexel_volume_mm3(dexels: Dexels) -> float:
    """Volume inside the solid by the dexels: Σ (exit − entry) · pitch²."""
    z = dexels.z_mm
    return float((z[1::2] - z[0::2]).sum()) * dexels.pitch_mm**2


def top_map_mm(dexels: Dexels) -> FloatArray:
    """Highest exit of each line (ny, nx), −inf where it misses."""
    return _extreme(dexels, last=True)


def bottom_map_mm(dexels: Dexels) -> FloatArray:
    """Lowest entry of each line (ny, nx), +inf where it misses."""
    return _extreme(dexels, last=False)


def _extreme(dexels: Dexels, *, last: bool) -> FloatArray:
    hit = np.diff(dexels.offsets) > 0
    values = np.full(dexels.nx * dexels.ny, -np.inf if last else np.inf)
    values[hit] = dexels.z_mm[dexels.offsets[1:][hit] - 1 if last else dexels.offsets[:-1][hit]]
    return values.reshape(dexels.ny, dexels.nx)


def voxels_of(dexels: Dexels, *, z0_mm: float, layers: int) -> NDArray[np.uint8]:
    """Cubic voxels (layers, ny, nx): 1 where the middle of the voxel lies inside the solid."""
    voxels: NDArray[np.uint8] = kernel.fill_columns(
        dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny, layers, z0_mm, dexels.pitch_mm
    )
    return voxels
