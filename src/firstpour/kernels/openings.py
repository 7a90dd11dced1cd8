"""Loops of silicone: how often a region of void, seen along the draw, closes a ring round solid that lies over it.

The footprint of a region is an open sheet. Its border runs in rings; along each ring it meets solid (a wall) or free
space (an opening). All free space hangs together over the part, so two openings of one sheet, or a wall in its
middle with a wall around it, make a loop that no stretching opens. With b rings, e of them open all round, and s
separate openings the sheet closes (b − 1 − min(e, b − 1)) + (s − 1) loops: the rank of its homology relative to its
openings.
"""

import numpy as np
from numba import njit

REACH = 2
"""Openings nearer to each other than twice this many pixels are one."""
LEAST = 3
"""Openings and rings of fewer pixels are noise of the raster."""
OPEN_RATIO = 0.95
"""A ring is open all round if this share of it is."""


@njit(cache=True)
def flood(mask, i0, j0, mark, labels, stack, corners):  # type: ignore[no-untyped-def]
    """Give the connected set of `mask` that holds (j0, i0) the number `mark` in `labels`; its pixels are counted."""
    ny, nx = mask.shape
    steps = 8 if corners else 4
    stack[0] = j0 * nx + i0
    labels[j0, i0] = mark
    n, count = 1, 0
    while n > 0:
        n -= 1
        count += 1
        j, i = stack[n] // nx, stack[n] % nx
        for step in range(steps):
            di = (1, -1, 0, 0, 1, 1, -1, -1)[step]
            dj = (0, 0, 1, -1, 1, -1, 1, -1)[step]
            if 0 <= i + di < nx and 0 <= j + dj < ny and mask[j + dj, i + di] and labels[j + dj, i + di] == 0:
                labels[j + dj, i + di] = mark
                stack[n] = (j + dj) * nx + i + di
                n += 1
    return count


@njit(cache=True)
def beside(sheet, j, i):  # type: ignore[no-untyped-def]
    """Whether a pixel has one of the sheet next to it."""
    ny, nx = sheet.shape
    return (
        (i > 0 and sheet[j, i - 1])
        or (i + 1 < nx and sheet[j, i + 1])
        or (j > 0 and sheet[j - 1, i])
        or (j + 1 < ny and sheet[j + 1, i])
    )


@njit(cache=True)
def count_loops(sheet, free):  # type: ignore[no-untyped-def]
    """Loops that a sheet of void closes, its openings and its rings; without openings it is shut in on this side.

    `sheet` (ny, nx) bool: the footprint, clear of the border by a pixel. `free` (ny, nx) bool: pixels of free space
    beside it. Where both hold, the sheet ends there.
    """
    ny, nx = sheet.shape
    stack = np.empty(8 * ny * nx + 8, np.int64)
    rest = ~sheet | free
    held = ~rest
    near = np.zeros((ny, nx), np.bool_)
    for j in range(ny):
        for i in range(nx):
            if free[j, i]:
                for j2 in range(max(0, j - REACH), min(ny, j + REACH + 1)):
                    for i2 in range(max(0, i - REACH), min(nx, i + REACH + 1)):
                        near[j2, i2] |= rest[j2, i2]
    rings, n_rings = np.zeros((ny, nx), np.int64), 0
    sets, n_sets = np.zeros((ny, nx), np.int64), 0
    for j in range(ny):
        for i in range(nx):
            if rest[j, i] and rings[j, i] == 0:
                n_rings += 1
                flood(rest, i, j, n_rings, rings, stack, True)
            if near[j, i] and sets[j, i] == 0:
                n_sets += 1
                flood(near, i, j, n_sets, sets, stack, True)
    border, opened, hits = np.zeros(n_rings + 1), np.zeros(n_rings + 1), np.zeros(n_sets + 1)
    for j in range(ny):
        for i in range(nx):
            if rest[j, i] and beside(held, j, i):
                border[rings[j, i]] += 1
                opened[rings[j, i]] += near[j, i]
            hits[sets[j, i]] += free[j, i]
    all_open = real = openings = 0
    for ring in range(1, n_rings + 1):
        real += border[ring] >= LEAST
        all_open += border[ring] >= LEAST and opened[ring] >= OPEN_RATIO * border[ring]
    for k in range(1, n_sets + 1):
        openings += hits[k] >= LEAST
    if openings == 0 or real == 0:
        return 0, openings, real
    return (real - 1 - min(all_open, real - 1)) + openings - 1, openings, real
