"""Loops of silicone: how often a region of void closes a ring through the solid.

A region is a sheet of voids side by side, and opens sideways into free space at its exits. All free space hangs
together around the part, so each way through the region from one exit to another, or around solid within it and back,
is a loop that no stretching opens. Their number is the rank of the first homology of the sheet relative to its exits:

    loops = b2 − χ(sheet) + χ(exits),    χ = voids − neighbours − diagonals + threes − fours

where neighbours overlap in height, and diagonals, threes and fours share some height around one corner (the nerve of
the voids); a diagonal counts only where a third void joins it, so that voids that touch at a corner alone stay
apart. b2 is 1 for a sheet with no wall at all.
Lines are those of `kernels.dexels`, voids those of `kernels.voids`.
"""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def overlap(z, k, m):  # type: ignore[no-untyped-def]
    """Whether the voids that begin at crossings k and m share some height."""
    return min(z[k + 1], z[m + 1]) > max(z[k], z[m])


@compiled()
def line_beside(i, j, step, nx, ny):  # type: ignore[no-untyped-def]
    """The line next to (i, j) in one of four directions, −1 outside the grid."""
    i2 = i + (1 if step == 0 else (-1 if step == 1 else 0))
    j2 = j + (1 if step == 2 else (-1 if step == 3 else 0))
    return j2 * nx + i2 if (0 <= i2 < nx) & (0 <= j2 < ny) else -1


@compiled()
def mark_borders(offsets, z, first, nx, ny, exits, walls):  # type: ignore[no-untyped-def]
    """Mark the voids that have an exit at some side, (v,) bool, and those that have a wall."""
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            for v in range(first[a], first[a + 1]):
                k = offsets[a] + 2 * (v - first[a]) + 1
                for step in range(4):
                    b = line_beside(i, j, step, nx, ny)
                    if (
                        b < 0
                        or offsets[b] == offsets[b + 1]
                        or z[k + 1] > z[offsets[b + 1] - 1]
                        or z[k] < z[offsets[b]]
                    ):
                        exits[v] = True
                    else:
                        goes_on = False
                        for w in range(first[b], first[b + 1]):
                            goes_on |= overlap(z, k, offsets[b] + 2 * (w - first[b]) + 1)
                        walls[v] |= not goes_on


@compiled()
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


@compiled()
def meet(z, k, m, n):  # type: ignore[no-untyped-def]
    """Whether the voids that begin at three crossings share some height."""
    return min(z[k + 1], z[m + 1], z[n + 1]) > max(z[k], z[m], z[n])


@compiled()
def add_corner(offsets, z, first, region, a, nx, wide, sheet, opened):  # type: ignore[no-untyped-def]
    """Add what happens around the corner above and right of line a to the sums of each region."""
    b, c, d = a + 1, a + nx, a + nx + 1
    for v in range(first[a], first[a + 1]):
        k = offsets[a] + 2 * (v - first[a]) + 1
        for w in range(first[b], first[b + 1]):
            m = offsets[b] + 2 * (w - first[b]) + 1
            for x in range(first[c], first[c + 1]):
                n = offsets[c] + 2 * (x - first[c]) + 1
                for y in range(first[d], first[d + 1]):
                    q = offsets[d] + 2 * (y - first[d]) + 1
                    if min(z[k + 1], z[m + 1], z[n + 1], z[q + 1]) > max(z[k], z[m], z[n], z[q]):
                        sheet[region[v]] -= 1
                        opened[region[v]] -= wide[v] & wide[w] & wide[x] & wide[y]
    for one, other, near, far in ((a, d, b, c), (b, c, a, d)):
        for v in range(first[one], first[one + 1]):
            k = offsets[one] + 2 * (v - first[one]) + 1
            for w in range(first[other], first[other + 1]):
                m = offsets[other] + 2 * (w - first[other]) + 1
                if not overlap(z, k, m):
                    continue
                threes = wide_threes = 0
                for line in (near, far):
                    for x in range(first[line], first[line + 1]):
                        joined = meet(z, k, m, offsets[line] + 2 * (x - first[line]) + 1)
                        threes += joined
                        wide_threes += joined and wide[x] and wide[v] and wide[w]
                sheet[region[v]] += max(0, threes - 1)
                opened[region[v]] += max(0, wide_threes - 1)


@compiled()
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
    walled, narrow, free = np.zeros(regions, np.bool_), np.ones(regions, np.bool_), np.zeros(regions, np.bool_)
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            right, above = (a + 1 if i + 1 < nx else -1), (a + nx if j + 1 < ny else -1)
            for v in range(first[a], first[a + 1]):
                k, r = offsets[a] + 2 * (v - first[a]) + 1, region[v]
                sheet[r] += 1
                opened[r] += wide[v]
                walled[r] |= walls[v]
                narrow[r] &= wide[v]
                free[r] |= exits[v]
                for b in (right, above):
                    for w in range(first[b], first[b + 1]) if b >= 0 else range(0):
                        if overlap(z, k, offsets[b] + 2 * (w - first[b]) + 1):
                            sheet[r] -= 1
                            opened[r] -= wide[v] & wide[w]
            if right >= 0 and above >= 0:
                add_corner(offsets, z, first, region, a, nx, wide, sheet, opened)
    out = np.zeros((regions, 2), np.int64)
    for r in range(regions):
        out[r, 1] = sheet[r]
        if free[r] and not narrow[r]:
            out[r, 0] = max(0, (0 if walled[r] else 1) - sheet[r] + opened[r])
    return out
