"""A sweep of many directions over one mesh: the void that blocks each, without sorting anything.

Of a line only its lowest crossing, its highest, the signed sum and the number of crossings are kept.
The work a direction goes in three steps that a processor likes: pick the faces that may meet a line (no branch),
copy their corners into short rows (a batch), decide all of them side by side (no branch, several a cycle),
then add the hits to their lines. See `crossings` for why no crossing is lost or counted twice.
"""

import numpy as np
from numba import njit, prange

from firstpour.kernels.crossings import (
    between_lines,
    corners_by_row,
    edge_at_row,
    lines_in_box,
    order_by,
    plane_slopes,
    set_lines_ahead,
)

BATCH = 256
"""Candidates worked side by side; their rows together stay within the first-level cache."""
AX, AY, AZ, BX, BY, BZ, CX, CY, CZ, LINE_X, LINE_Y, LINES, SIGN, DEPTH = (row * BATCH for row in range(14))
"""Where each row of a batch starts in its one flat array: corners, line, and what comes out."""
BATCH_SIZE = 14 * BATCH
FEW_LINES = 12
"""Up to so many lines in its box a face is tried on each; above, it is walked row by row."""
NO_ROW = -np.inf
LANES = 128
"""Running extremes kept side by side."""
SHARES = 32
"""Directions are dealt out in so many shares; each uses its own arrays again and again."""
LOWEST, HIGHEST, SIGNED_SUM, COUNT = range(4)
"""Columns of `tally` (lines, 4)."""


@njit(cache=True)
def new_tally(n_lines):  # type: ignore[no-untyped-def]
    """An empty tally: +inf, −inf, 0, 0 for each line."""
    tally = np.zeros((n_lines, 4))
    tally[:, LOWEST] = np.inf
    tally[:, HIGHEST] = -np.inf
    return tally


@njit(cache=True)
def pick_faces(ahead, faces, picked):  # type: ignore[no-untyped-def]
    """Write the faces that may meet a line into `picked` (one longer than `faces`); give their number."""
    n = 0
    for f in range(faces.shape[0]):
        picked[n] = f
        n += int(not between_lines(ahead[faces[f, 0]], ahead[faces[f, 1]], ahead[faces[f, 2]]))
    return n


@njit(cache=True)
def put_face(px, py, pz, ia, ib, ic, batch, n):  # type: ignore[no-untyped-def]
    """Copy a face's corners to place n of the batch."""
    batch[AX + n], batch[AY + n], batch[AZ + n] = px[ia], py[ia], pz[ia]
    batch[BX + n], batch[BY + n], batch[BZ + n] = px[ib], py[ib], pz[ib]
    batch[CX + n], batch[CY + n], batch[CZ + n] = px[ic], py[ic], pz[ic]


@njit(cache=True)
def set_first_lines(batch, count, nx, ny):  # type: ignore[no-untyped-def]
    """Give each face in the batch the first line of its box, and say how many lines the box holds.

    A face with none, or with more than `FEW_LINES` and so walked by itself, gets a row where no face is met.
    """
    for n in range(count):
        ax, bx, cx = batch[AX + n], batch[BX + n], batch[CX + n]
        ay, by, cy = batch[AY + n], batch[BY + n], batch[CY + n]
        column = max(np.ceil(min(ax, bx, cx)), 0.0)
        row = max(np.ceil(min(ay, by, cy)), 0.0)
        columns = max(min(np.ceil(max(ax, bx, cx)), nx) - column, 0.0)
        rows = max(min(np.ceil(max(ay, by, cy)), ny) - row, 0.0)
        batch[LINES + n] = columns * rows
        batch[LINE_X + n] = column
        batch[LINE_Y + n] = row if (columns * rows > 0.0) & (columns * rows <= FEW_LINES) else NO_ROW


@njit(cache=True, error_model="numpy")
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


@njit(cache=True)
def add_hit(tally, k, depth, sign):  # type: ignore[no-untyped-def]
    """Add one crossing to line k."""
    tally[k, LOWEST] = min(tally[k, LOWEST], depth)
    tally[k, HIGHEST] = max(tally[k, HIGHEST], depth)
    tally[k, SIGNED_SUM] += sign * depth
    tally[k, COUNT] += 1.0


@njit(cache=True)
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


@njit(cache=True)
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


@njit(cache=True)
def add_wider(px, py, pz, ahead, faces, wider, nx, ny, batch, hits, tally):  # type: ignore[no-untyped-def]
    """Add the faces whose box holds several lines; a small box's first line is in the tally already."""
    n = 0
    for f in wider:
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        i0, i1, j0, j1 = lines_in_box(ahead[ia], ahead[ib], ahead[ic], nx, ny)
        if (i1 - i0) * (j1 - j0) > FEW_LINES:
            add_large_face(px, py, pz, ia, ib, ic, nx, ny, tally)
            continue
        for j in range(j0, j1):
            for i in range(i0 + int(j == j0), i1):
                if n == BATCH:
                    add_batch(batch, n, nx, hits, tally)
                    n = 0
                put_face(px, py, pz, ia, ib, ic, batch, n)
                batch[LINE_X + n], batch[LINE_Y + n] = i, j
                n += 1
    add_batch(batch, n, nx, hits, tally)


@njit(cache=True)
def tally_lines(px, py, pz, ahead, faces, nx, ny, tally):  # type: ignore[no-untyped-def]
    """Add all crossings of all faces to `tally` (nx·ny, 4)."""
    batch, hits = np.zeros(BATCH_SIZE), np.empty(BATCH + 1, np.int32)
    picked = np.empty(faces.shape[0] + 1, np.uint32)
    n_picked, n_wider = pick_faces(ahead, faces, picked), 0
    for start in range(0, n_picked, BATCH):
        count = min(BATCH, n_picked - start)
        for n in range(count):
            f = picked[start + n]
            put_face(px, py, pz, faces[f, 0], faces[f, 1], faces[f, 2], batch, n)
        set_first_lines(batch, count, float(nx), float(ny))
        for n in range(count):
            picked[n_wider] = picked[start + n]
            n_wider += int(batch[LINES + n] > 1.0)
        add_batch(batch, count, nx, hits, tally)
    add_wider(px, py, pz, ahead, faces, picked[:n_wider], nx, ny, batch, hits, tally)


@njit(cache=True)
def void_length(tally):  # type: ignore[no-untyped-def]
    """Σ over the lines of (highest − lowest − length inside); a line that enters once has exactly none."""
    total = 0.0
    for k in range(tally.shape[0]):
        if tally[k, COUNT] > 2.0:
            total += tally[k, HIGHEST] - tally[k, LOWEST] - tally[k, SIGNED_SUM]
    return max(total, 0.0)


@njit(cache=True)
def turn_along(vertices, row, along):  # type: ignore[no-untyped-def]
    """Coordinates of the vertices (3, n) along `row` (3,) into `along` (n,); give the lowest and the highest."""
    xs, ys, zs = vertices[0], vertices[1], vertices[2]
    rx, ry, rz = row[0], row[1], row[2]
    for v in range(xs.shape[0]):
        along[v] = rx * xs[v] + ry * ys[v] + rz * zs[v]
    extremes = np.empty(2 * LANES)
    extremes[:] = along[0]
    whole = along.shape[0] // LANES * LANES
    for start in range(0, whole, LANES):
        for lane in range(LANES):
            extremes[lane] = min(extremes[lane], along[start + lane])
            extremes[LANES + lane] = max(extremes[LANES + lane], along[start + lane])
    for v in range(whole, along.shape[0]):
        extremes[0], extremes[LANES] = min(extremes[0], along[v]), max(extremes[LANES], along[v])
    return extremes[:LANES].min(), extremes[LANES:].max()


@njit(cache=True)
def void_along(vertices, faces, frame, resolution, pix, ahead):  # type: ignore[no-untyped-def]
    """Void between first entry and last exit along one frame (mm³), height along it (mm) and pitch (mm).

    `pix` (3, n) and `ahead` (n,) are written over.
    """
    px, py, pz = pix[0], pix[1], pix[2]
    low_x, high_x = turn_along(vertices, frame[0], px)
    low_y, high_y = turn_along(vertices, frame[1], py)
    low_z, high_z = turn_along(vertices, frame[2], pz)
    pitch = max(high_x - low_x, high_y - low_y) / resolution
    per_mm = 1.0 / pitch
    for v in range(px.shape[0]):
        px[v] = (px[v] - low_x) * per_mm - 0.5
    for v in range(py.shape[0]):
        py[v] = (py[v] - low_y) * per_mm - 0.5
    nx = max(1, int(np.ceil((high_x - low_x) * per_mm - 1e-6)))
    ny = max(1, int(np.ceil((high_y - low_y) * per_mm - 1e-6)))
    set_lines_ahead(px, py, ahead)
    tally = new_tally(nx * ny)
    tally_lines(px, py, pz, ahead, faces, nx, ny, tally)
    return void_length(tally) * pitch * pitch, high_z - low_z, pitch


@njit(cache=True)
def neighbours_together(vertices, faces):  # type: ignore[no-untyped-def]
    """The mesh renumbered along a Morton curve through 32³ cells: vertices (3, n), faces (m, 3) uint32.

    Neighbours in space then lie near each other in memory, whatever order the file had.
    """
    size = 0.0
    for axis in range(3):
        size = max(size, vertices[:, axis].max() - vertices[:, axis].min())
    keys = np.zeros(vertices.shape[0], np.int64)
    for axis in range(3):
        low = vertices[:, axis].min()
        for v in range(vertices.shape[0]):
            cell = np.int64(min(31.0, (vertices[v, axis] - low) * (32.0 / size)))
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


@njit(cache=True, parallel=True)
def sweep_voids(vertices, faces, frames, resolution):  # type: ignore[no-untyped-def]
    """For each frame (k, 3, 3): void between first entry and last exit (mm³), height along it (mm), pitch (mm).

    The longer side of the projection is cut into `resolution` pixels (at most `MOST_LINES`). A line that enters
    once gives exactly no void, so a convex body has exactly none in any direction.
    """
    sorted_vertices, sorted_faces = neighbours_together(vertices, faces)
    n, k = vertices.shape[0], frames.shape[0]
    out = np.empty((k, 3), np.float64)
    for share in prange(SHARES):
        pix, ahead = np.empty((3, n)), np.empty(n, np.int32)
        for d in range(share * k // SHARES, (share + 1) * k // SHARES):
            out[d, 0], out[d, 1], out[d, 2] = void_along(
                sorted_vertices, sorted_faces, frames[d], resolution, pix, ahead
            )
    return out
