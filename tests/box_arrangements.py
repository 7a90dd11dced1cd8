"""Arrangements of boxes on a grid, whose volume is known by counting cells."""

import itertools

import numpy as np

from firstpour.values import FloatArray, IntArray

Box = tuple[int, int, int, int, int, int]
"""Lowest corner and highest corner, in cells."""
CELLS = 6
CELL_MM = 10.0


def cells_of(boxes: list[Box]) -> np.ndarray:
    """Cells that are in any of the boxes: bool (6, 6, 6)."""
    cells = np.zeros((CELLS,) * 3, bool)
    for x, y, z, u, v, w in boxes:
        cells[x:u, y:v, z:w] = True
    return cells


def volume_mm3(cells: np.ndarray) -> float:
    """Exact volume of the chosen cells."""
    return float(cells.sum()) * CELL_MM**3


def box_corners(box: Box, *, fine: bool, inward: bool, rng: np.random.Generator) -> FloatArray:
    """Corners (m, 3, 3) of the faces of a box; `fine` cuts its faces at every cell, so neighbours share edges."""
    low, high = np.array(box[:3]), np.array(box[3:])
    faces = []
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        us = np.arange(low[u], high[u] + 1) if fine else np.array([low[u], high[u]])
        vs = np.arange(low[v], high[v] + 1) if fine else np.array([low[v], high[v]])
        for level, outward in ((low[axis], False), (high[axis], True)):
            for a, b in itertools.pairwise(us):
                for c, d in itertools.pairwise(vs):
                    quad = np.zeros((4, 3))
                    quad[:, axis] = level
                    quad[:, u], quad[:, v] = [a, b, b, a], [c, c, d, d]
                    quad = np.roll(quad, int(rng.integers(4)), axis=0)
                    pair = [quad[[0, 1, 2]], quad[[0, 2, 3]]]
                    faces += pair if outward != inward else [tri[::-1] for tri in pair]
    return np.array(faces) * CELL_MM


def heap_of(corners: FloatArray, rng: np.random.Generator, *, shuffled: bool) -> tuple[FloatArray, IntArray]:
    """Vertices and faces that share nothing, in any order."""
    if shuffled:
        corners = rng.permutation(corners)
    return corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3)
