"""A shape given as a signed distance, made into a closed mesh of about the number of faces asked for."""

from collections.abc import Callable

import numpy as np

from firstpour.errors import BadRequest
from firstpour.surface.isosurface import isosurface_mesh
from firstpour.values import FloatArray, Mesh

Distance = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
"""From x, y, z (n,) in mm to the distance (n,) in mm, negative inside. Its slope must not exceed 1."""

BLOCK = 4
"""Nodes on a side of the blocks that are looked at whole first."""
CHUNK = 256
"""Blocks sampled at once: keeps the memory low."""
TRIAL_FACES = 4000
FEWEST_FACES, MOST_FACES = 5000, 2_000_000
"""Below, thin walls fall apart between the nodes of the grid."""


def mesh_of_distance(distance: Distance, *, low_mm: FloatArray, high_mm: FloatArray, faces: int) -> Mesh:
    """The solid inside `distance` within the box `low_mm`–`high_mm`, in about `faces` faces.

    The faces go with 1 ÷ pitch², so a coarse trial gives the pitch.

    Raises
    ------
    BadRequest
        If `faces` is outside `FEWEST_FACES`–`MOST_FACES`, or as `isosurface_mesh`.
    """
    if not FEWEST_FACES <= faces <= MOST_FACES:
        raise BadRequest(
            f"a shape of {faces} faces", remedy=f"ask for {FEWEST_FACES} to {MOST_FACES} faces, usually 20000"
        )
    pitch_mm = float((high_mm - low_mm).max()) / 40
    for wanted in (min(TRIAL_FACES, faces), faces):
        trial = _mesh_at(distance, low_mm, high_mm, pitch_mm)
        pitch_mm *= float(np.sqrt(len(trial.faces) / wanted))
    return _mesh_at(distance, low_mm, high_mm, pitch_mm)


def _mesh_at(distance: Distance, low_mm: FloatArray, high_mm: FloatArray, pitch_mm: float) -> Mesh:
    origin_mm = low_mm - 2.5 * pitch_mm
    values = sample_distance(distance, origin_mm=origin_mm, high_mm=high_mm + 2.5 * pitch_mm, pitch_mm=pitch_mm)
    return isosurface_mesh(values, level=0.0, origin_mm=origin_mm, pitch_mm=pitch_mm)


def sample_distance(distance: Distance, *, origin_mm: FloatArray, high_mm: FloatArray, pitch_mm: float) -> FloatArray:
    """The distance on a grid (nz, ny, nx) from `origin_mm` to at least `high_mm`; exact near the surface.

    A block whose middle is further from the surface than its own corners and their neighbours keeps the middle's
    distance: the sign is right there, which is all that a surface needs.
    """
    counts = np.ceil(np.ceil((high_mm - origin_mm) / pitch_mm + 1) / BLOCK).astype(np.int64)
    middles = np.meshgrid(*(np.arange(n) * BLOCK + (BLOCK - 1) / 2 for n in counts[::-1]), indexing="ij")
    z, y, x = (origin_mm[2 - k] + pitch_mm * middles[k].ravel() for k in range(3))
    coarse = distance(x, y, z)
    near = np.flatnonzero(np.abs(coarse) <= (BLOCK + 1) / 2 * np.sqrt(3.0) * pitch_mm)
    blocks = np.repeat(coarse, BLOCK**3).reshape(-1, BLOCK**3)
    offsets = (np.arange(BLOCK) - (BLOCK - 1) / 2) * pitch_mm
    dz, dy, dx = (grid.ravel() for grid in np.meshgrid(offsets, offsets, offsets, indexing="ij"))
    for start in range(0, len(near), CHUNK):
        some = near[start : start + CHUNK]
        nodes = ((x[some, None] + dx).ravel(), (y[some, None] + dy).ravel(), (z[some, None] + dz).ravel())
        blocks[some] = distance(*nodes).reshape(-1, BLOCK**3)
    cx, cy, cz = (int(n) for n in counts)
    stacked = blocks.reshape(cz, cy, cx, BLOCK, BLOCK, BLOCK).transpose(0, 3, 1, 4, 2, 5)
    return np.ascontiguousarray(stacked.reshape(cz * BLOCK, cy * BLOCK, cx * BLOCK))
