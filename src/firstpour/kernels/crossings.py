"""Where faces cross lines, decided the same way by every face that shares an edge.

Vertices come in the frame of a grid (`pix`): x and y in pixels, line (i, j) running along +z through x = i,
y = j; z in mm. Each edge is taken from its lower to its higher end (by y) whichever face names it, spans are
half-open, and a crossing never passes the edge's ends; so two faces that share an edge agree to the bit, and
a closed mesh is entered as often as it is left. numba's cache does not see that a function imported
from another file has changed: after editing this file remove the `__pycache__` beside it.
"""

import numpy as np

from firstpour.kernels.compiled import compiled

MOST_LINES = 32_000
"""Lines a side that fit the packed numbers of `packed_line`. The caller checks it."""
LAST = float(MOST_LINES)


@compiled()
def packed_line(x, y, bits):  # type: ignore[no-untyped-def]
    """The first line at or after a point, as an int32: column << 16 | row.

    Both are held between 0 and `MOST_LINES`, which loses no line of the grid. With `bits` above 0 each of the two
    has so many binary places more, which say how far before the line the point lies: ⌈x·2^bits⌉ + 2^bits − 1,
    which shifted down is ⌈x⌉ still.
    """
    fine = float(1 << bits)
    column = min(max(np.ceil(x * fine) + (fine - 1.0), 0.0), LAST)
    row = min(max(np.ceil(y * fine) + (fine - 1.0), 0.0), LAST)
    return np.int32(column) << 16 | np.int32(row)


@compiled()
def line_ahead(pix):  # type: ignore[no-untyped-def]
    """`packed_line` of the vertices (n, 3), whole lines only: (n,) int32."""
    ahead = np.empty(pix.shape[0], np.int32)
    for v in range(pix.shape[0]):
        ahead[v] = packed_line(pix[v, 0], pix[v, 1], 0)
    return ahead


@compiled()
def between_lines(a, b, c, bits):  # type: ignore[no-untyped-def]
    """Whether a face lies between two neighbouring rows or columns of lines, from its corners' lines ahead."""
    columns, rows = -1 << (16 + bits), 0xFFFF >> bits << bits
    spread = (a ^ b) | (a ^ c)
    return (spread & rows == 0) | (spread & columns == 0)


@compiled()
def lines_in_box(a, b, c, bits, nx, ny):  # type: ignore[no-untyped-def]
    """Columns i0 to i1 and rows j0 to j1 (half-open) in the box of a face, from its corners' lines ahead."""
    ca, cb, cc = a >> (16 + bits), b >> (16 + bits), c >> (16 + bits)
    ra, rb, rc = (a & 0xFFFF) >> bits, (b & 0xFFFF) >> bits, (c & 0xFFFF) >> bits
    i0, i1 = min(ca, cb, cc), min(max(ca, cb, cc), nx)
    j0, j1 = min(ra, rb, rc), min(max(ra, rb, rc), ny)
    return i0, max(i0, i1), j0, max(j0, j1)


@compiled()
def in_order(swap, p, q):  # type: ignore[no-untyped-def]
    """q, p if `swap`, else p, q; without a branch."""
    return (q if swap else p), (p if swap else q)


@compiled()
def corners_by_row(ax, ay, az, bx, by, bz, cx, cy, cz):  # type: ignore[no-untyped-def]
    """The corners of a face from low to high y, and whether an odd number of swaps brought them there."""
    first = ay > by
    (ax, bx), (ay, by), (az, bz) = in_order(first, ax, bx), in_order(first, ay, by), in_order(first, az, bz)
    second = by > cy
    (bx, cx), (by, cy), (bz, cz) = (
        in_order(second, bx, cx),
        in_order(second, by, cy),
        in_order(second, bz, cz),
    )
    third = ay > by
    (ax, bx), (ay, by), (az, bz) = in_order(third, ax, bx), in_order(third, ay, by), in_order(third, az, bz)
    return ax, ay, az, bx, by, bz, cx, cy, cz, first ^ second ^ third


@compiled()
def edge_at_row(ax, ay, bx, slope, y):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height y, never past its ends; slope is dx/dy."""
    x = ax + (y - ay) * slope
    return min(max(x, min(ax, bx)), max(ax, bx))


@compiled(error_model="numpy")
def plane_slopes(ax, ay, az, bx, by, bz, cx, cy, cz):  # type: ignore[no-untyped-def]
    """dz/dx and dz/dy of the face's plane; both 0 where it stands on edge and so covers no line."""
    ux, uy, uz = bx - ax, by - ay, bz - az
    vx, vy, vz = cx - ax, cy - ay, cz - az
    area2 = ux * vy - vx * uy
    per_area = 1.0 / area2
    per_area = per_area if area2 != 0.0 else 0.0
    return (uz * vy - vz * uy) * per_area, (vz * ux - uz * vx) * per_area


@compiled()
def order_by(keys, n_keys):  # type: ignore[no-untyped-def]
    """The items in the order of their keys, which run from 0 to n_keys − 1; equal keys as they come: (n,) uint32."""
    start = np.zeros(n_keys + 1, np.int64)
    for k in keys:
        start[k + 1] += 1
    for k in range(n_keys):
        start[k + 1] += start[k]
    order = np.empty(keys.shape[0], np.uint32)
    for n in range(keys.shape[0]):
        order[start[keys[n]]] = n
        start[keys[n]] += 1
    return order
