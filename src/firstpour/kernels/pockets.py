"""Trapped air: a merge tree of dexel intervals, walked from the top down, as the level of the fluid seen backwards.

A node is one interval of a dexel line inside the cavity: number n enters at z[2n] and leaves at z[2n + 1]
(mm along up). Two nodes of neighbouring lines touch where their intervals overlap; the air passes
between them down to the lower of the two tops. Adding nodes from the highest top down, a group without an opening
that meets another at level L has been cut off there: what lies above L in it is a pocket.
"""

import numpy as np
from numba import njit

from firstpour.kernels.passages import contact_open

PEAK, LEVEL, VOLUME, SHOW_VOLUME, COLUMNS, INTO, DOUBT = 0, 1, 2, 3, 4, 5, 6
RECORD = 7
INTO_AIR, INTO_OPEN, INTO_NOTHING = 0.0, 1.0, 2.0
SMALL = 64  # lines: an unresolved group up to this size still has its volume added up


@njit(cache=True)
def grid_pixels(vertices, frame, resolution):  # type: ignore[no-untyped-def]
    """Vertices in the frame's pixels (n, 3); then origin u, v, pitch (mm), nx, ny, lowest and highest level (mm)."""
    n = vertices.shape[0]
    pix = np.empty((n, 3), np.float64)
    low_x = low_y = low_z = np.inf
    high_x = high_y = high_z = -np.inf
    for v in range(n):
        x, y, z = vertices[v, 0], vertices[v, 1], vertices[v, 2]
        px = frame[0, 0] * x + frame[0, 1] * y + frame[0, 2] * z
        py = frame[1, 0] * x + frame[1, 1] * y + frame[1, 2] * z
        pz = frame[2, 0] * x + frame[2, 1] * y + frame[2, 2] * z
        pix[v, 0], pix[v, 1], pix[v, 2] = px, py, pz
        low_x, high_x = min(low_x, px), max(high_x, px)
        low_y, high_y = min(low_y, py), max(high_y, py)
        low_z, high_z = min(low_z, pz), max(high_z, pz)
    pitch = max(high_x - low_x, high_y - low_y) / resolution
    inv = 1.0 / pitch
    for v in range(n):
        pix[v, 0] = (pix[v, 0] - low_x) * inv - 0.5
        pix[v, 1] = (pix[v, 1] - low_y) * inv - 0.5
    nx = max(1, int(np.ceil((high_x - low_x) * inv - 1e-6)))
    ny = max(1, int(np.ceil((high_y - low_y) * inv - 1e-6)))
    return pix, low_x + 0.5 * pitch, low_y + 0.5 * pitch, pitch, nx, ny, low_z, high_z


@njit(cache=True)
def odd_lines(offsets):  # type: ignore[no-untyped-def]
    """Whether any line enters without leaving."""
    odd = 0
    for c in range(offsets.shape[0] - 1):
        odd |= (offsets[c + 1] - offsets[c]) & 1
    return odd == 1


@njit(cache=True)
def node_columns(offsets):  # type: ignore[no-untyped-def]
    """Line of each node (n,) int32 and first node of each line (lines + 1,) int32."""
    lines = offsets.shape[0] - 1
    column = np.empty(offsets[lines] // 2, np.int32)
    start = np.empty(lines + 1, np.int32)
    for c in range(lines):
        start[c] = offsets[c] // 2
        for n in range(offsets[c] // 2, offsets[c + 1] // 2):
            column[n] = c
    start[lines] = offsets[lines] // 2
    return column, start


@njit(cache=True)
def order_from_top(z):  # type: ignore[no-untyped-def]
    """Nodes from the highest top to the lowest (n,) int32: a radix sort of the level in 2³² steps."""
    n = z.shape[0] // 2
    low = np.inf
    high = -np.inf
    for k in range(n):
        low = min(low, z[2 * k + 1])
        high = max(high, z[2 * k + 1])
    step = 4294967295.0 / (high - low) if high > low else 0.0
    key = np.empty(n, np.uint32)
    order = np.empty(n, np.int32)
    for k in range(n):
        key[k] = np.uint32((high - z[2 * k + 1]) * step)
        order[k] = k
    swap = np.empty(n, np.int32)
    for shift in (0, 11, 22):
        counts = np.zeros(2049, np.int32)
        for k in range(n):
            counts[((key[k] >> shift) & 2047) + 1] += 1
        for b in range(2048):
            counts[b + 1] += counts[b]
        for k in range(n):
            node = order[k]
            b = (key[node] >> shift) & 2047
            swap[counts[b]] = node
            counts[b] += 1
        order, swap = swap, order
    return order


@njit(cache=True, inline="always")
def find(parent, n):  # type: ignore[no-untyped-def]
    """Root of n, halving the way to it."""
    while parent[n] != n:
        parent[n] = parent[parent[n]]
        n = parent[n]
    return n


@njit(cache=True, inline="always")
def roof_slopes(n, face, pix, faces):  # type: ignore[no-untyped-def]
    """Slopes of the face that roofs node n, in mm a pixel along x and y."""
    f = face[2 * n + 1]
    a, b, c = pix[faces[f, 0]], pix[faces[f, 1]], pix[faces[f, 2]]
    area2 = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
    if area2 == 0.0:
        return 0.0, 0.0
    slope_x = ((b[2] - a[2]) * (c[1] - a[1]) - (c[2] - a[2]) * (b[1] - a[1])) / area2
    slope_y = ((c[2] - a[2]) * (b[0] - a[0]) - (b[2] - a[2]) * (c[0] - a[0])) / area2
    return slope_x, slope_y


@njit(cache=True, inline="always")
def doubt_at(n, face, pix, faces, pitch):  # type: ignore[no-untyped-def]
    """How far the roof may rise within the pixel of node n, mm: what the grid cannot tell; at most one pitch."""
    sx, sy = roof_slopes(n, face, pix, faces)
    return min(pitch, 0.5 * (abs(sx) + abs(sy)))


@njit(cache=True)
def contact_level(a, b, z, column, nx, face, pix, faces, pitch):  # type: ignore[no-untyped-def]
    """Level of the lowest roof between nodes a and b of neighbouring lines, mm.

    Where the roof falls from one line and rises to the other it is a crease between them, and its depth follows from
    the two slopes.
    """
    level = min(z[2 * a + 1], z[2 * b + 1])
    dx = column[b] % nx - column[a] % nx
    dy = column[b] // nx - column[a] // nx
    ax, ay = roof_slopes(a, face, pix, faces)
    bx, by = roof_slopes(b, face, pix, faces)
    fall = ax * dx + ay * dy
    rise = bx * dx + by * dy
    if fall >= 0.0 or rise <= 0.0:
        return level
    t = (z[2 * b + 1] - rise - z[2 * a + 1]) / (fall - rise)
    crease = z[2 * a + 1] + fall * min(1.0, max(0.0, t))
    floor = max(z[2 * a], z[2 * b], level - pitch)
    return min(level, max(crease, floor))


@njit(cache=True)
def air_above(root, level, z, face, marks, following):  # type: ignore[no-untyped-def]
    """Length of air above `level` in the group of `root`, that under show faces, and its lines."""
    length = 0.0
    show = 0.0
    lines = 0
    n = root
    while n >= 0:
        piece = z[2 * n + 1] - max(level, z[2 * n])
        if piece > 0.0:
            length += piece
            lines += 1
            if marks[face[2 * n + 1]] & 1:
                show += piece
        n = following[n]
    return length, show, lines


@njit(cache=True)
def seal(root, level, into, doubt, area, z, face, marks, following, trapped_from, records, used):  # type: ignore[no-untyped-def]
    """Write down the pocket of the group of `root` cut off at `level`; gives the new number of records."""
    length, show, lines = air_above(root, level, z, face, marks, following)
    if used < records.shape[0]:
        records[used, PEAK] = root
        records[used, LEVEL] = level
        records[used, VOLUME] = length * area
        records[used, SHOW_VOLUME] = show * area
        records[used, COLUMNS] = lines
        records[used, INTO] = into
        records[used, DOUBT] = doubt
    if into != INTO_AIR:
        n = root
        while n >= 0:
            trapped_from[n] = level
            n = following[n]
    return used + 1


@njit(cache=True)
def rise(  # type: ignore[no-untyped-def]
    z,
    face,
    column,
    start,
    nx,
    ny,
    pix,
    faces,
    marks,
    pitch,
    open_node,
    open_level,
    source,
    passage,
    trapped_from,
    parent,
    records,
):
    """Walk the cavity from the top down and write down each pocket.

    `open_node` (o,) and `open_level` (o,): openings from the highest to the lowest; none at all: the highest peak is
    open. Fills `trapped_from` (n,) with the level above which the node holds trapped air (+inf: none), `parent` (n,)
    with the group each node ends in, and `records` (k, 7): node of the peak, sealing level, air (mm³), air under
    show faces, lines, what it was cut off by, doubt of the grid. Gives the number of records (it may exceed k) and
    of the shallow ones the grid cannot tell from its own steps, with their air (mm³).
    """
    n = z.shape[0] // 2
    area = pitch * pitch
    order = order_from_top(z)
    following = np.full(n, -1, np.int32)
    tail = np.empty(n, np.int32)
    size = np.zeros(n, np.int32)
    via = np.full(n, -1, np.int32)
    opened = np.zeros(n, np.uint8)
    for k in range(n):
        parent[k] = k
        tail[k] = k
        trapped_from[k] = np.inf
    used = 0
    unresolved = 0
    unresolved_air = 0.0
    next_open = 0
    for k in range(n + 1):
        m = order[k] if k < n else -1
        top = z[2 * m + 1] if k < n else -np.inf
        while next_open < open_node.shape[0] and open_level[next_open] > top:
            node = open_node[next_open]
            if size[node] == 0:
                break  # its own top equals this one to the last digits: not added yet
            root = find(parent, node)
            level = open_level[next_open]
            if opened[root] == 0:
                doubt = doubt_at(node, face, pix, faces, pitch)
                if z[2 * root + 1] - level > doubt + 1e-9:
                    used = seal(
                        root, level, INTO_OPEN, doubt, area, z, face, marks, following, trapped_from, records, used
                    )
                opened[root] = 1
            next_open += 1
        if m < 0:
            break
        size[m] = 1
        if k == 0 and open_node.shape[0] == 0:
            opened[m] = 1
        x, y = column[m] % nx, column[m] // nx
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            if x + dx < 0 or y + dy < 0 or x + dx >= nx or y + dy >= ny:
                continue
            c = column[m] + dx + dy * nx
            for q in range(start[c], start[c + 1]):
                if size[q] == 0 or z[2 * q] >= top or z[2 * m] >= z[2 * q + 1]:
                    continue
                if passage > 0.0 and not contact_open(m, q, z, column, nx, ny, start, source, passage, pitch):
                    continue
                keep = find(parent, q)
                gone = find(parent, m)
                if keep == gone:
                    continue
                if gone == m and size[m] == 1 and via[m] < 0:
                    via[m] = q
                elif not (opened[keep] and opened[gone]):
                    if opened[gone] or (not opened[keep] and z[2 * gone + 1] > z[2 * keep + 1]):
                        keep, gone = gone, keep
                    doubt = doubt_at(m, face, pix, faces, pitch)
                    level = min(
                        contact_level(m, q, z, column, nx, face, pix, faces, pitch),
                        contact_level(m, via[m], z, column, nx, face, pix, faces, pitch),
                    )
                    if z[2 * gone + 1] - level > doubt + 1e-9:
                        into = INTO_OPEN if opened[keep] else INTO_AIR
                        used = seal(
                            gone, level, into, doubt, area, z, face, marks, following, trapped_from, records, used
                        )
                    elif z[2 * gone + 1] - level > 1e-9:
                        unresolved += 1
                        if size[gone] <= SMALL:
                            unresolved_air += area * air_above(gone, level, z, face, marks, following)[0]
                parent[gone] = keep
                size[keep] += size[gone]
                following[tail[keep]] = gone
                tail[keep] = tail[gone]
    for k in range(n):
        if parent[k] == k and opened[k] == 0:
            used = seal(k, -np.inf, INTO_NOTHING, 0.0, area, z, face, marks, following, trapped_from, records, used)
    for k in range(n):
        parent[k] = find(parent, k)
    return used, unresolved, unresolved_air
