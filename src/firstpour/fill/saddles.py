"""The level at which a pocket is cut off, to the corner of the mesh that the air passes last.

On a surface of flat faces the way between two peaks leads over a vertex: a saddle of the height. The grid finds the
pocket; where such a vertex lies beside it, at the level found but for the steps of the grid, its height is taken.

References
----------
Banchoff, "Critical points and curvature for embedded polyhedra", J. Differential Geom. 1 (1967) 245-256 (from
memory).
"""

import numpy as np
from scipy.spatial import cKDTree

from firstpour.fill.cavity import Cavity
from firstpour.kernels import locate
from firstpour.values import FloatArray, IntArray, Mesh

BESIDE_LINES, OFF_LINES = 3.0, 1.0
"""How far a saddle may lie from the nearest line of the pocket, and from the level found, in pitches of the grid.

A line lies within 0.71 pitches of the saddle; roofs that fall away from it by 55° are then a pitch lower there.
"""
SAME_MM = 1e-9


def saddle_vertices(mesh: Mesh, height_mm: FloatArray) -> IntArray:
    """Vertices (k,) around which the height (n,) passes their own four times or more: up, down, up, down."""
    over = [height_mm[mesh.faces[:, k]] for k in range(3)]
    crossings = np.zeros(len(height_mm), np.int64)
    for k in range(3):
        here, a, b = over[k], over[(k + 1) % 3], over[(k + 2) % 3]
        crossings += np.bincount(mesh.faces[:, k], weights=(a > here) != (b > here), minlength=len(height_mm)).astype(
            np.int64
        )
    return np.flatnonzero(crossings >= 4)


def at_saddles(cavity: Cavity, trapped_from_mm: FloatArray, openings_mm: FloatArray) -> FloatArray:
    """`trapped_from_mm` (n,) with each pocket cut off at the saddle beside it; at an opening it stays."""
    if not np.isfinite(trapped_from_mm).any():
        return trapped_from_mm
    d = cavity.dexels
    bounded = np.where(np.isfinite(trapped_from_mm), trapped_from_mm, np.inf)
    group = locate.join_trapped(d.z_mm, cavity.column, cavity.start, d.nx, d.ny, bounded, SAME_MM)
    held = np.flatnonzero(group >= 0)
    if len(held) == 0:
        return trapped_from_mm
    places = cavity.part.mesh.vertices_mm @ d.frame.T
    saddles = places[saddle_vertices(cavity.part.mesh, places[:, 2])]
    if len(saddles) == 0:
        return trapped_from_mm
    made = trapped_from_mm.copy()
    line = cavity.column[held]
    flat = d.origin_mm + np.stack([line % d.nx, line // d.nx], axis=1) * d.pitch_mm
    near = cKDTree(flat).query_ball_point(saddles[:, :2], BESIDE_LINES * d.pitch_mm)
    best: dict[float, tuple[float, float]] = {}
    for saddle, beside in zip(saddles, near, strict=True):
        for level in np.unique(bounded[held[beside]]):
            off = abs(float(saddle[2] - level))
            if off > OFF_LINES * d.pitch_mm or not _leads_out(cavity, saddle, float(level), bounded):
                continue
            if off < best.get(float(level), (np.inf, 0.0))[0]:
                best[float(level)] = (off, float(saddle[2]))
    for level, (_, height) in best.items():
        if np.abs(openings_mm - level).min(initial=np.inf) > SAME_MM:
            made[trapped_from_mm == level] = height
    return made


def _leads_out(cavity: Cavity, saddle: FloatArray, level_mm: float, bounded_mm: FloatArray) -> bool:
    """Whether roofs that do not belong to the pocket rise over its level beside the saddle: the air passes there."""
    d = cavity.dexels
    i, j = (int(n) for n in np.round((saddle[:2] - d.origin_mm) / d.pitch_mm))
    most = int(BESIDE_LINES)
    for row in range(max(0, j - most), min(d.ny, j + most + 1)):
        low, high = row * d.nx + max(0, i - most), row * d.nx + min(d.nx, i + most + 1)
        nodes = np.arange(cavity.start[low], cavity.start[max(low, high)])
        if np.any((d.z_mm[2 * nodes + 1] > level_mm) & (bounded_mm[nodes] != level_mm)):
            return True
    return False
