"""Narrow passages: how wide the cavity is where two dexel intervals touch, and whether air gets through there."""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def inside_at(c, level, z, start):  # type: ignore[no-untyped-def]
    """Whether line c is inside the cavity at this level."""
    inside = False
    for n in range(start[c], start[c + 1]):
        inside |= z[2 * n] <= level <= z[2 * n + 1]
    return inside


@compiled()
def run_length(c, dx, dy, level, z, nx, ny, start, most):  # type: ignore[no-untyped-def]
    """Lines that stay inside at this level, walking from line c by (dx, dy), c not counted, at most `most`."""
    x, y = c % nx, c // nx
    for k in range(most):
        x += dx
        y += dy
        if x < 0 or y < 0 or x >= nx or y >= ny or not inside_at(y * nx + x, level, z, start):
            return k
    return most


@compiled()
def contact_width(a, b, z, column, nx, ny, start, passage, pitch):  # type: ignore[no-untyped-def]
    """Width of the cavity where a touches b, mm, from the three chords: 1/w² = 1/x² + 1/y² + 1/z².

    Exact for a slab however it lies; in a round tube it gives the side of the square that fits inside.
    """
    high = min(z[2 * a + 1], z[2 * b + 1])
    low = max(z[2 * a], z[2 * b])
    level = high - 0.5 * min(passage, high - low)
    most = 2 * int(passage / pitch) + 3
    ca, cb = column[a], column[b]
    dx, dy = cb % nx - ca % nx, cb // nx - ca // nx
    along = 2 + run_length(ca, -dx, -dy, level, z, nx, ny, start, most)
    along += run_length(cb, dx, dy, level, z, nx, ny, start, most)
    across = 1 + run_length(ca, dy, dx, level, z, nx, ny, start, most)
    across += run_length(ca, -dy, -dx, level, z, nx, ny, start, most)
    inverse2 = 1.0 / (along * pitch) ** 2 + 1.0 / (across * pitch) ** 2 + 1.0 / max(high - low, 1e-12) ** 2
    return 1.0 / np.sqrt(inverse2)


@compiled()
def contact_open(a, b, z, column, nx, ny, start, source, passage, pitch):  # type: ignore[no-untyped-def]
    """Whether air passes between touching nodes a and b: wide enough, or both dead ends off the same wide place."""
    if passage <= 0.0 or contact_width(a, b, z, column, nx, ny, start, passage, pitch) >= passage:
        return True
    sa, sb = source[a], source[b]
    if sa < 0 or sb < 0:
        return sa == sb
    apart_x = abs(column[sa] % nx - column[sb] % nx)
    apart_y = abs(column[sa] // nx - column[sb] // nx)
    return max(apart_x, apart_y) <= 2


@compiled()
def wide_sources(z, column, start, nx, ny, passage, pitch):  # type: ignore[no-untyped-def]
    """For each node the nearest node with a contact at least `passage` wide, itself if it has one; −1: none."""
    n = z.shape[0] // 2
    source = np.full(n, -1, np.int32)
    queue = np.empty(n, np.int32)
    tail = 0
    for m in range(n):
        x, y = column[m] % nx, column[m] // nx
        for dx, dy in ((1, 0), (0, 1)):
            if x + dx >= nx or y + dy >= ny:
                continue
            c = column[m] + dx + dy * nx
            for q in range(start[c], start[c + 1]):
                if z[2 * q] >= z[2 * m + 1] or z[2 * m] >= z[2 * q + 1]:
                    continue
                if contact_width(m, q, z, column, nx, ny, start, passage, pitch) < passage:
                    continue
                for end in range(2):
                    wide = m if end == 0 else q
                    if source[wide] < 0:
                        source[wide] = wide
                        queue[tail] = wide
                        tail += 1
    head = 0
    while head < tail:
        m = queue[head]
        head += 1
        x, y = column[m] % nx, column[m] // nx
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            if x + dx < 0 or y + dy < 0 or x + dx >= nx or y + dy >= ny:
                continue
            c = column[m] + dx + dy * nx
            for q in range(start[c], start[c + 1]):
                if source[q] < 0 and z[2 * q] < z[2 * m + 1] and z[2 * m] < z[2 * q + 1]:
                    source[q] = source[m]
                    queue[tail] = q
                    tail += 1
    return source
