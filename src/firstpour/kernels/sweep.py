"""A sweep of many directions over one mesh: the void that blocks each, without sorting anything.

Of a line only its lowest crossing, its highest, the signed sum and the number of crossings are kept.
The work a direction goes in steps that a processor likes: pick the faces whose box holds a line (no branch),
leave out those that for sure miss their only line, from one short number a corner (side by side, in float32),
copy the corners of the rest into short rows (a batch), decide all of them exactly (side by side, no branch),
then add the hits to their lines. See `crossings` for why no crossing is lost or counted twice.
"""

import numpy as np

from firstpour.kernels.compiled import compiled
from firstpour.kernels.crossings import (
    MOST_LINES,
    between_lines,
    corners_by_row,
    edge_at_row,
    lines_in_box,
    order_by,
    packed_line,
    plane_slopes,
)
from firstpour.kernels.threads import in_shares
from firstpour.values import FloatArray, IntArray

BATCH = 256
"""Candidates worked side by side; their rows together stay within the first-level cache."""
ROW = BATCH + 8
"""From one row of a batch to the next; a power of two would have them all compete for few places of the cache."""
AX, AY, AZ, BX, BY, BZ, CX, CY, CZ, LINE_X, LINE_Y, SIGN, DEPTH = (row * ROW for row in range(13))
"""Where each row of a batch starts in its one flat array: corners, line, and what comes out."""
BATCH_SIZE = 13 * ROW
FEW_LINES = 12
"""Up to so many lines in its box a face is tried on each; above, it is walked row by row."""
NO_ROW = -np.inf
LANES = 256
"""Running extremes kept side by side."""
LOWEST, HIGHEST, SIGNED_SUM, COUNT = range(4)
"""Columns of `tally` (lines, 4)."""
MOST_PLACES = 8
"""Binary places up to which `lines_met` is exact in float32: products of 2 pixels in halves of 2^−8 have 20 bits."""
HALF, ONE, TWO = np.float32(0.5), np.float32(1.0), np.float32(2.0)


@compiled()
def new_tally(n_lines):  # type: ignore[no-untyped-def]
    """An empty tally: +inf, −inf, 0, 0 for each line."""
    tally = np.zeros((n_lines, 4))
    for k in range(n_lines):
        tally[k, LOWEST], tally[k, HIGHEST] = np.inf, -np.inf
    return tally


@compiled()
def boxes_with_lines(ahead, bits, faces, found):  # type: ignore[no-untyped-def]
    """Write the faces whose box holds a line, and their corners' lines ahead, into `found`; give their number.

    `found` (4, one more than the faces) int32 has a row for the face and one for each corner.
    """
    which, aheads_a, aheads_b, aheads_c = found[0], found[1], found[2], found[3]
    n = np.uint64(0)
    for f in range(faces.shape[0]):
        a, b, c = ahead[faces[f, 0]], ahead[faces[f, 1]], ahead[faces[f, 2]]
        which[n], aheads_a[n], aheads_b[n], aheads_c[n] = f, a, b, c
        n += np.uint64(not between_lines(a, b, c, bits))
    return n


@compiled()
def lines_met(a, b, c, pixel, pixels):  # type: ignore[no-untyped-def]
    """How many lines a face may meet, by its corners' lines ahead: 0 (sure to miss its only line), 1, or 2 for more.

    `pixel` is 2^bits, `pixels` is 1 / `pixel`, both float32. The corners, and all lengths here, are in binary places,
    and known to half of one in x and y. The doubled areas between the line and each two corners have one sign only if
    it meets the face, and are known to w + h + 1.5 where the box is w by h: if one is above 0 and one below it
    by more, the face is missed. Without places (`pixel` 1), where corners may also lie off the grid, none is.
    """
    ax, bx, cx = np.float32(np.int32(a >> 16)), np.float32(np.int32(b >> 16)), np.float32(np.int32(c >> 16))
    ay, by, cy = np.float32(np.int32(a & 0xFFFF)), np.float32(np.int32(b & 0xFFFF)), np.float32(np.int32(c & 0xFFFF))
    low_x, high_x, low_y, high_y = min(ax, bx, cx), max(ax, bx, cx), min(ay, by, cy), max(ay, by, cy)
    column, row = np.floor(low_x * pixels), np.floor(low_y * pixels)
    single = (np.floor(high_x * pixels) == column + ONE) & (np.floor(high_y * pixels) == row + ONE)
    x, y = (column + ONE) * pixel - HALF, (row + ONE) * pixel - HALF
    ax, bx, cx, ay, by, cy = ax - x, bx - x, cx - x, ay - y, by - y, cy - y
    ab, bc, ca = ax * by - ay * bx, bx * cy - by * cx, cx * ay - cy * ax
    unsure = (high_x - low_x) + (high_y - low_y) + TWO
    missed = (max(ab, bc, ca) > unsure) & (min(ab, bc, ca) < -unsure) & (pixel > ONE)
    return np.int32(not missed) if single else np.int32(2)


@compiled()
def pick_faces(ahead, bits, faces, picked, wider):  # type: ignore[no-untyped-def]
    """Write the faces that may meet one line into `picked`, those with several in their box into `wider`.

    Both are one longer than `faces`. Gives the two numbers.
    """
    found, met = np.zeros((4, BATCH + 1), np.int32), np.zeros(BATCH + 1, np.int32)
    pixel, pixels = np.float32(1 << bits), np.float32(1.0 / (1 << bits))
    which, a, b, c = found[0], found[1], found[2], found[3]
    n_picked = n_wider = np.uint64(0)  # unsigned: an index that need not be checked for a sign
    for start in range(0, faces.shape[0], BATCH):
        count = boxes_with_lines(ahead, bits, faces[start : start + BATCH], found)
        for n in range(count):
            met[n] = lines_met(a[n], b[n], c[n], pixel, pixels)
        for n in range(count):
            picked[n_picked] = wider[n_wider] = start + which[n]
            n_picked += np.uint64(met[n] & 1)
            n_wider += np.uint64(met[n] >> 1)
    return np.int64(n_picked), np.int64(n_wider)


@compiled()
def put_face(px, py, pz, ia, ib, ic, batch, n):  # type: ignore[no-untyped-def]
    """Copy a face's corners to place n of the batch."""
    batch[AX + n], batch[AY + n], batch[AZ + n] = px[ia], py[ia], pz[ia]
    batch[BX + n], batch[BY + n], batch[BZ + n] = px[ib], py[ib], pz[ib]
    batch[CX + n], batch[CY + n], batch[CZ + n] = px[ic], py[ic], pz[ic]


@compiled()
def set_only_line(batch, count, nx, ny):  # type: ignore[no-untyped-def]
    """Give each face in the batch the first line of its box; outside the grid a row where no face is met."""
    for n in range(count):
        column = max(np.ceil(min(batch[AX + n], batch[BX + n], batch[CX + n])), 0.0)
        row = max(np.ceil(min(batch[AY + n], batch[BY + n], batch[CY + n])), 0.0)
        batch[LINE_X + n] = column
        batch[LINE_Y + n] = row if (column < nx) & (row < ny) else NO_ROW


@compiled(error_model="numpy")
def decide(batch, count):  # type: ignore[no-untyped-def]
    """For each candidate whether the face is entered (−1), left (+1) or missed (0) by the line, and at what depth.

    Corners are sorted by y; the row of the line then crosses the long edge a–c at xa and one of the two short ones
    at xb, and the line meets the face if it lies between. Which edge lies left, and how the corners were turned,
    says which way the face looks. Every branch is a choice of values, so that the loop runs several at once.
    """
    for n in range(count):
        ax, ay, az, bx, by, bz, cx, cy, cz, mirrored = corners_by_row(
            batch[AX + n], batch[AY + n], batch[AZ + n],
            batch[BX + n], batch[BY + n], batch[BZ + n],
            batch[CX + n], batch[CY + n], batch[CZ + n],
        )  # fmt: skip
        x, y = batch[LINE_X + n], batch[LINE_Y + n]
        below = y < by
        px, py = (ax if below else bx), (ay if below else by)
        qx, qy = (bx if below else cx), (by if below else cy)
        long_left = edge_at_row(ax, ay, cx, (cx - ax) / (cy - ay), y) <= x
        short_left = edge_at_row(px, py, qx, (qx - px) / (qy - py), y) <= x
        slope_x, slope_y = plane_slopes(ax, ay, az, bx, by, bz, cx, cy, cz)
        depth = az + slope_y * (y - ay) + slope_x * (x - ax)
        batch[DEPTH + n] = min(max(depth, min(az, bz, cz)), max(az, bz, cz))
        sign = 1.0 if long_left ^ mirrored else -1.0
        met = (long_left ^ short_left) & (ay <= y) & (y < cy)
        batch[SIGN + n] = sign if met else 0.0


@compiled()
def add_hit(tally, k, depth, sign):  # type: ignore[no-untyped-def]
    """Add one crossing to line k."""
    tally[k, LOWEST] = min(tally[k, LOWEST], depth)
    tally[k, HIGHEST] = max(tally[k, HIGHEST], depth)
    tally[k, SIGNED_SUM] += sign * depth
    tally[k, COUNT] += 1.0


@compiled()
def add_batch(batch, count, nx, hits, tally):  # type: ignore[no-untyped-def]
    """Decide the first `count` candidates of the batch and add those met to their lines."""
    decide(batch, count)
    n_hits = 0
    for n in range(count):
        hits[n_hits] = n
        n_hits += int(batch[SIGN + n] != 0.0)
    for h in range(n_hits):
        n = hits[h]
        k = np.int64(batch[LINE_Y + n]) * nx + np.int64(batch[LINE_X + n])
        add_hit(tally, k, batch[DEPTH + n], batch[SIGN + n])


@compiled()
def add_large_face(px, py, pz, ia, ib, ic, nx, ny, tally):  # type: ignore[no-untyped-def]
    """Walk one face row by row, with the same crossings as `decide`."""
    ax, ay, az, bx, by, bz, cx, cy, cz, mirrored = corners_by_row(
        px[ia], py[ia], pz[ia], px[ib], py[ib], pz[ib], px[ic], py[ic], pz[ic]
    )
    slope_x, slope_y = plane_slopes(ax, ay, az, bx, by, bz, cx, cy, cz)
    low, high = min(az, bz, cz), max(az, bz, cz)
    for j in range(max(0, int(np.ceil(ay))), min(ny, int(np.ceil(cy)))):
        y = float(j)
        lx, ly, hx, hy = (ax, ay, bx, by) if y < by else (bx, by, cx, cy)
        xa = edge_at_row(ax, ay, cx, (cx - ax) / (cy - ay), y)
        xb = edge_at_row(lx, ly, hx, (hx - lx) / (hy - ly), y)
        sign = 1.0 if (xa < xb) ^ mirrored else -1.0
        for i in range(max(0, int(np.ceil(min(xa, xb)))), min(nx, int(np.ceil(max(xa, xb))))):
            depth = az + slope_y * (y - ay) + slope_x * (i - ax)
            add_hit(tally, j * nx + i, min(max(depth, low), high), sign)


@compiled()
def add_wider(px, py, pz, ahead, bits, faces, wider, nx, ny, batch, hits, tally):  # type: ignore[no-untyped-def]
    """Add the faces whose box holds several lines."""
    n = 0
    for f in wider:
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        i0, i1, j0, j1 = lines_in_box(ahead[ia], ahead[ib], ahead[ic], bits, nx, ny)
        if (i1 - i0) * (j1 - j0) > FEW_LINES:
            add_large_face(px, py, pz, ia, ib, ic, nx, ny, tally)
            continue
        for j in range(j0, j1):
            for i in range(i0, i1):
                if n == BATCH:
                    add_batch(batch, n, nx, hits, tally)
                    n = 0
                put_face(px, py, pz, ia, ib, ic, batch, n)
                batch[LINE_X + n], batch[LINE_Y + n] = i, j
                n += 1
    add_batch(batch, n, nx, hits, tally)


@compiled()
def tally_lines(px, py, pz, ahead, bits, faces, nx, ny, tally):  # type: ignore[no-untyped-def]
    """Add all crossings of all faces to `tally` (nx·ny, 4); `ahead` has `bits` binary places."""
    batch, hits = np.zeros(BATCH_SIZE), np.empty(BATCH + 1, np.int32)
    picked, wider = np.empty(faces.shape[0] + 1, np.uint32), np.empty(faces.shape[0] + 1, np.uint32)
    n_picked, n_wider = pick_faces(ahead, bits, faces, picked, wider)
    for start in range(0, n_picked, BATCH):
        count = min(BATCH, n_picked - start)
        for n in range(count):
            f = picked[start + n]
            put_face(px, py, pz, faces[f, 0], faces[f, 1], faces[f, 2], batch, n)
        set_only_line(batch, count, float(nx), float(ny))
        add_batch(batch, count, nx, hits, tally)
    add_wider(px, py, pz, ahead, bits, faces, wider[:n_wider], nx, ny, batch, hits, tally)


@compiled()
def void_length(tally):  # type: ignore[no-untyped-def]
    """Σ over the lines of (highest − lowest − length inside); a line that enters once has exactly none."""
    total = 0.0
    for k in range(tally.shape[0]):
        if tally[k, COUNT] > 2.0:
            total += tally[k, HIGHEST] - tally[k, LOWEST] - tally[k, SIGNED_SUM]
    return max(total, 0.0)


@compiled()
def turn_some(xs, ys, zs, row, along, extremes):  # type: ignore[no-untyped-def]
    """Coordinates of up to `LANES` vertices along `row` (3,) into `along` (n,); keep their extremes.

    Two loops, because one over so many arrays would not run several at once.
    """
    rx, ry, rz = row[0], row[1], row[2]
    for v in range(along.shape[0]):
        along[v] = rx * xs[v] + ry * ys[v] + rz * zs[v]
    for lane in range(along.shape[0]):
        extremes[lane] = min(extremes[lane], along[lane])
        extremes[LANES + lane] = max(extremes[LANES + lane], along[lane])


@compiled()
def turn_all(vertices, frame, turned):  # type: ignore[no-untyped-def]
    """Coordinates of the vertices (3, n) in the frame into `turned` (3, n); give the lowest and highest (2, 3).

    Some vertices at a time, so that they are fetched once for the three axes.
    """
    extremes = np.empty((3, 2 * LANES))
    for axis in range(3):
        for lane in range(LANES):
            extremes[axis, lane], extremes[axis, LANES + lane] = np.inf, -np.inf
    for start in range(0, vertices.shape[1], LANES):
        stop = min(start + LANES, vertices.shape[1])
        xs, ys, zs = vertices[0, start:stop], vertices[1, start:stop], vertices[2, start:stop]
        for axis in range(3):
            turn_some(xs, ys, zs, frame[axis], turned[axis, start:stop], extremes[axis])
    corners = np.empty((2, 3))
    for axis in range(3):
        corners[0, axis], corners[1, axis] = extremes[axis, 0], extremes[axis, LANES]
        for lane in range(LANES):
            corners[0, axis] = min(corners[0, axis], extremes[axis, lane])
            corners[1, axis] = max(corners[1, axis], extremes[axis, LANES + lane])
    return corners


@compiled()
def binary_places(lines):  # type: ignore[no-untyped-def]
    """How many binary places the packed numbers of `packed_line` have room for, with so many lines a side."""
    bits = 0
    while bits < MOST_PLACES and (lines + 1) << (bits + 1) <= MOST_LINES:
        bits += 1
    return bits


@compiled()
def void_along(vertices, faces, frame, resolution, pix, ahead):  # type: ignore[no-untyped-def]
    """Void between first entry and last exit along one frame (mm³), height along it (mm) and pitch (mm).

    `pix` (3, n) and `ahead` (n,) are written over.
    """
    px, py, pz = pix[0], pix[1], pix[2]
    low, high = turn_all(vertices, frame, pix)
    low_x, low_y, size_x, size_y = low[0], low[1], high[0] - low[0], high[1] - low[1]
    pitch = max(size_x, size_y) / resolution
    per_mm = 1.0 / pitch
    nx = max(1, int(np.ceil(size_x * per_mm - 1e-6)))
    ny = max(1, int(np.ceil(size_y * per_mm - 1e-6)))
    bits = binary_places(max(nx, ny))
    for v in range(ahead.shape[0]):
        x, y = (px[v] - low_x) * per_mm - 0.5, (py[v] - low_y) * per_mm - 0.5
        px[v], py[v], ahead[v] = x, y, packed_line(x, y, bits)
    tally = new_tally(nx * ny)
    tally_lines(px, py, pz, ahead, bits, faces, nx, ny, tally)
    return void_length(tally) * pitch * pitch, high[2] - low[2], pitch


@compiled()
def neighbours_together(vertices, faces):  # type: ignore[no-untyped-def]
    """The mesh renumbered along a Morton curve through 32³ cells: vertices (3, n), faces (m, 3) uint32.

    Neighbours in space then lie near each other in memory, whatever order the file had.
    """
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for v in range(vertices.shape[0]):
        for axis in range(3):
            low[axis], high[axis] = min(low[axis], vertices[v, axis]), max(high[axis], vertices[v, axis])
    size = max(high[0] - low[0], high[1] - low[1], high[2] - low[2])
    keys = np.zeros(vertices.shape[0], np.int64)
    for axis in range(3):
        for v in range(vertices.shape[0]):
            cell = np.int64(min(31.0, (vertices[v, axis] - low[axis]) * (32.0 / size)))
            for bit in range(5):
                keys[v] |= ((cell >> bit) & 1) << (3 * bit + axis)
    order = order_by(keys, 1 << 15)
    place = np.empty(order.shape[0], np.uint32)
    for n in range(order.shape[0]):
        place[order[n]] = n
    first = np.empty(faces.shape[0], np.int64)
    for f in range(faces.shape[0]):
        first[f] = min(place[faces[f, 0]], place[faces[f, 1]], place[faces[f, 2]])
    face_order = order_by(first, order.shape[0])
    sorted_vertices = np.empty((3, order.shape[0]))
    for n in range(order.shape[0]):
        for axis in range(3):
            sorted_vertices[axis, n] = vertices[order[n], axis]
    sorted_faces = np.empty((faces.shape[0], 3), np.uint32)
    for n in range(faces.shape[0]):
        for corner in range(3):
            sorted_faces[n, corner] = place[faces[face_order[n], corner]]
    return sorted_vertices, sorted_faces


@compiled(nogil=True)
def sweep_some(vertices, faces, frames, resolution, out):  # type: ignore[no-untyped-def]
    """`void_along` for each of the frames (k, 3, 3) into `out` (k, 3); the mesh as `neighbours_together` gives it."""
    pix, ahead = np.empty(vertices.shape), np.empty(vertices.shape[1], np.int32)
    for d in range(frames.shape[0]):
        out[d, 0], out[d, 1], out[d, 2] = void_along(vertices, faces, frames[d], resolution, pix, ahead)


def sweep_voids(vertices: FloatArray, faces: IntArray, frames: FloatArray, resolution: int) -> FloatArray:
    """For each frame (k, 3, 3): void between first entry and last exit (mm³), height along it (mm), pitch (mm).

    The longer side of the projection is cut into `resolution` pixels (at most `MOST_LINES`). A line that enters
    once gives exactly no void, so a convex body has exactly none in any direction.
    """
    sorted_vertices, sorted_faces = neighbours_together(vertices, faces)
    out = np.empty((len(frames), 3))

    def share(first: int, last: int) -> None:
        sweep_some(sorted_vertices, sorted_faces, frames[first:last], resolution, out[first:last])

    in_shares(share, len(frames))
    return out
