"""Dexel intervals as nodes of the cavity: their order from the top, their roofs and where they touch.

A node is one interval of a dexel line inside the cavity: number n enters at z[2n] and leaves at z[2n + 1]
(mm along up). Two nodes of neighbouring lines touch where their intervals overlap; air passes between them
down to the lowest roof on the way.
"""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
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


@compiled()
def odd_lines(offsets):  # type: ignore[no-untyped-def]
    """Whether any line enters without leaving."""
    odd = 0
    for c in range(offsets.shape[0] - 1):
        odd |= (offsets[c + 1] - offsets[c]) & 1
    return odd == 1


@compiled()
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


@compiled()
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


@compiled(inline="always")
def find(parent, n):  # type: ignore[no-untyped-def]
    """Root of n, halving the way to it."""
    while parent[n] != n:
        parent[n] = parent[parent[n]]
        n = parent[n]
    return n


@compiled(inline="always")
def roof_slopes(n, face, pix, faces):  # type: ignore[no-untyped-def]
    """Slopes of the face that roofs node n, in mm a pixel along x and y."""
    f = face[2 * n + 1]
    a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
    ux, uy, uz = pix[b, 0] - pix[a, 0], pix[b, 1] - pix[a, 1], pix[b, 2] - pix[a, 2]
    vx, vy, vz = pix[c, 0] - pix[a, 0], pix[c, 1] - pix[a, 1], pix[c, 2] - pix[a, 2]
    area2 = ux * vy - vx * uy
    if area2 == 0.0:
        return 0.0, 0.0
    return (uz * vy - vz * uy) / area2, (vz * ux - uz * vx) / area2


@compiled(inline="always")
def doubt_at(n, face, pix, faces, pitch):  # type: ignore[no-untyped-def]
    """How far the roof may rise within the pixel of node n, mm: what the grid cannot tell; at most one pitch."""
    sx, sy = roof_slopes(n, face, pix, faces)
    return min(pitch, 0.5 * (abs(sx) + abs(sy)))


@compiled()
def contact_level(a, b, z, column, nx, face, pix, faces, pitch):  # type: ignore[no-untyped-def]
    """Level of the lowest roof between nodes a and b of neighbouring lines, mm.

    Where the roof falls from one line and rises to the other it is a crease between them, and its depth follows from
    the two slopes.
    """
    level = min(z[2 * a + 1], z[2 * b + 1])
    dx = column[b] % nx - column[a] % nx
    dy = column[b] // nx - column[a] // nx
    ax, ay = roof_slopes(a, face, pix, faces)
    fall = ax * dx + ay * dy
    if fall >= 0.0:
        return level
    bx, by = roof_slopes(b, face, pix, faces)
    rise = bx * dx + by * dy
    if rise <= 0.0:
        return level
    t = (z[2 * b + 1] - rise - z[2 * a + 1]) / (fall - rise)
    crease = z[2 * a + 1] + fall * min(1.0, max(0.0, t))
    floor = max(z[2 * a], z[2 * b], level - pitch)
    return min(level, max(crease, floor))
