"""Loops of silicone: how often a region of void closes a ring through the solid.

A region is a sheet of voids side by side, and opens sideways into free space at its exits. All free space hangs
together around the part, so each way through the region from one exit to another, or around solid within it and back,
is a loop that no stretching opens. Their number is the rank of the first homology of the sheet relative to its exits:

    loops = b2 − χ(sheet) + χ(exits),    χ = voids − neighbours + fours

where neighbours overlap in height, fours meet around one corner, and b2 is 1 for a sheet with no wall at all.
Lines are those of `kernels.dexels`, voids those of `kernels.voids`.
"""

import numpy as np
from numba import njit


@njit(cache=True)
def overlap(z, k, m):  # type: ignore[no-untyped-def]
    """Whether the voids that begin at crossings k and m share some height."""
    return min(z[k + 1], z[m + 1]) > max(z[k], z[m])


@njit(cache=True)
def line_beside(i, j, step, nx, ny):  # type: ignore[no-untyped-def]
    """The line next to (i, j) in one of four directions, −1 outside the grid."""
    i2 = i + (1 if step == 0 else (-1 if step == 1 else 0))
    j2 = j + (1 if step == 2 else (-1 if step == 3 else 0))
    return j2 * nx + i2 if (0 <= i2 < nx) & (0 <= j2 < ny) else -1


@njit(cache=True)
def mark_borders(offsets, z, first, nx, ny, exits, walls):  # type: ignore[no-untyped-def]
    """Mark the voids that have an exit at some side, (v,) bool, and those that have a wall."""
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            for v in range(first[a], first[a + 1]):
                k = offsets[a] + 2 * (v - first[a]) + 1
                for step in range(4):
                    b = line_beside(i, j, step, nx, ny)
                    if b < 0 or offsets[b] == offsets[b + 1]:
                        exits[v] = True
                    elif z[k + 1] > z[offsets[b + 1] - 1] or z[k] < z[offsets[b]]:
                        exits[v] = True
                    else:
                        goes_on = False
                        for w in range(first[b], first[b + 1]):
                            goes_on |= overlap(z, k, offsets[b] + 2 * (w - first[b]) + 1)
                        walls[v] |= not goes_on


@njit(cache=True)
def widen(offsets, z, first, nx, ny, exits, wide):  # type: ignore[no-untyped-def]
    """Mark in `wide` the exits and the voids next to one: along a slanting border exits meet only so."""
    wide[:] = exits
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            for v in range(first[a], first[a + 1]):
                if not exits[v]:
                    continue
                k = offsets[a] + 2 * (v - first[a]) + 1
                for step in range(4):
                    b = line_beside(i, j, step, nx, ny)
                    for w in range(first[b], first[b + 1]) if b >= 0 else range(0):
                        wide[w] |= overlap(z, k, offsets[b] + 2 * (w - first[b]) + 1)


@njit(cache=True)
def loops_by_region(offsets, z, first, region, regions, nx, ny):  # type: ignore[no-untyped-def]
    """For each of `regions`: loops, and the Euler characteristic of its sheet (regions, 2) int64.

    A sheet with characteristic 0 or less goes around something. One so narrow that every void lies next to an exit
    is not resolved and closes no loop.
    """
    count = first[-1]
    exits, walls, wide = np.zeros(count, np.bool_), np.zeros(count, np.bool_), np.zeros(count, np.bool_)
    mark_borders(offsets, z, first, nx, ny, exits, walls)
    widen(offsets, z, first, nx, ny, exits, wide)
    sheet, opened = np.zeros(regions, np.int64), np.zeros(regions, np.int64)
    walled, narrow = np.zeros(regions, np.bool_), np.ones(regions, np.bool_)
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            right = a + 1 if i + 1 < nx else -1
            above = a + nx if j + 1 < ny else -1
            for v in range(first[a], first[a + 1]):
                k, r = offsets[a] + 2 * (v - first[a]) + 1, region[v]
                sheet[r] += 1
                opened[r] += wide[v]
                walled[r] |= walls[v]
                narrow[r] &= wide[v]
                for b in (right, above):
                    for w in range(first[b], first[b + 1]) if b >= 0 else range(0):
                        if overlap(z, k, offsets[b] + 2 * (w - first[b]) + 1):
                            sheet[r] -= 1
                            opened[r] -= wide[v] & wide[w]
                if right < 0 or above < 0:
                    continue
                for w in range(first[right], first[right + 1]):
                    m = offsets[right] + 2 * (w - first[right]) + 1
                    for x in range(first[above], first[above + 1]):
                        n = offsets[above] + 2 * (x - first[above]) + 1
                        corner = above + 1
                        for y in range(first[corner], first[corner + 1]):
                            q = offsets[corner] + 2 * (y - first[corner]) + 1
                            low, high = max(z[k], z[m], z[n], z[q]), min(z[k + 1], z[m + 1], z[n + 1], z[q + 1])
                            if high > low:
                                sheet[r] += 1
                                opened[r] += wide[v] & wide[w] & wide[x] & wide[y]
    out = np.zeros((regions, 2), np.int64)
    for r in range(regions):
        out[r, 1] = sheet[r]
        if not narrow[r] and opened[r] != 0 or not narrow[r] and walled[r]:
            out[r, 0] = max(0, (0 if walled[r] else 1) - sheet[r] + opened[r])
    return out
