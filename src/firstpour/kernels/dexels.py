"""Dexels: the solid cut by a grid of parallel lines, each keeping where it enters and leaves.

Vertices come in the frame of the grid (`pix`): x and y in pixels, line (i, j) running along +z through
x = i, y = j; z in mm. The flat number of a line is j·nx + i. `crossings` says why parity is exact. The rows
of the grid are dealt out in bands, one a thread: each lists the crossings of its own rows, then sorts them by line.
`forceinline` stands where a call with many arrays would cost as much as the work inside it.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from firstpour.kernels.compiled import compiled
from firstpour.kernels.crossings import (
    between_lines,
    corners_by_row,
    edge_at_row,
    in_order,
    line_ahead,
    order_by,
    plane_slopes,
)
from firstpour.kernels.sweep import HIGHEST, LOWEST, SIGNED_SUM, new_tally, sweep_voids, tally_lines
from firstpour.values import FloatArray, IntArray

__all__ = [
    "depth_pairs",
    "dexel_lines",
    "dexel_lines_in_bands",
    "fill_columns",
    "line_ahead",
    "sweep_voids",
    "turn_to_grid",
]

SPAN = 4
"""Crossings of a row written at a go, wanted or not: cheaper than a loop that mostly runs once or twice."""
ONE, TWO, THREE = np.int32(1), np.int32(2), np.int32(3)
BATCH = 128
"""Faces set up side by side; their rows together stay within the first-level cache."""
AX, AY, AZ, BX, BY, BZ, CX, CY, CZ, LONG, FIRST, SECOND, SLOPE_X, SLOPE_Y = (row * BATCH for row in range(14))
"""Where each row of a batch starts in its one flat array: corners, dx/dy of the edges, slopes of the plane."""
BATCH_SIZE = 14 * BATCH
ROOM = 4
"""Crossings a line to make room for at first."""
Crossings = tuple[NDArray[np.int32], FloatArray, NDArray[np.int32]]
"""Arrays line, z (mm) and face of one length."""


@compiled()
def turn_to_grid(vertices, frame, resolution, margin):  # type: ignore[no-untyped-def]
    """A grid around the vertices (n, 3): pix (n, 3), their lowest and highest corner (2, 3) in the frame, pitch (mm).

    x and y are counted in pixels from the middle of the first; `resolution` pixels go on the longer side,
    with `margin` empty ones around. Where the pitch is 0 the mesh is flat, and pix means nothing.
    """
    pix = np.empty((vertices.shape[0], 3))
    low_x = low_y = low_z = np.inf
    high_x = high_y = high_z = -np.inf
    ux, uy, uz = frame[0, 0], frame[0, 1], frame[0, 2]
    vx, vy, vz = frame[1, 0], frame[1, 1], frame[1, 2]
    dx, dy, dz = frame[2, 0], frame[2, 1], frame[2, 2]
    for n in range(vertices.shape[0]):
        x, y, z = vertices[n, 0], vertices[n, 1], vertices[n, 2]
        px, py, pz = ux * x + uy * y + uz * z, vx * x + vy * y + vz * z, dx * x + dy * y + dz * z
        pix[n, 0], pix[n, 1], pix[n, 2] = px, py, pz
        low_x, low_y, low_z = min(low_x, px), min(low_y, py), min(low_z, pz)
        high_x, high_y, high_z = max(high_x, px), max(high_y, py), max(high_z, pz)
    pitch = max(high_x - low_x, high_y - low_y) / resolution
    per_mm = 1.0 / pitch if pitch > 0.0 else 0.0
    for n in range(vertices.shape[0]):
        pix[n, 0] = (pix[n, 0] - low_x) * per_mm + (margin - 0.5)
        pix[n, 1] = (pix[n, 1] - low_y) * per_mm + (margin - 0.5)
    return pix, np.array([[low_x, low_y, low_z], [high_x, high_y, high_z]]), pitch


@compiled()
def band_rows(ahead, ny, bands):  # type: ignore[no-untyped-def]
    """Where each band of rows begins and ends (bands + 1,), about as many vertices in one as in another."""
    vertices = np.zeros(ny + 1, np.int64)
    for key in ahead:
        vertices[min(key & 0xFFFF, ny)] += 1
    edges, passed, band = np.full(bands + 1, ny, np.int64), 0, 1
    edges[0] = 0
    for j in range(ny):
        while band < bands and passed * bands >= band * ahead.shape[0]:
            edges[band] = j
            band += 1
        passed += vertices[j]
    return edges


@compiled()
def faces_in_rows(ahead, faces, j0, j1):  # type: ignore[no-untyped-def]
    """The faces that may meet rows j0 to j1, by their first row there, so that neighbours are written together."""
    picked, row = np.empty(faces.shape[0] + 1, np.int32), np.empty(faces.shape[0] + 1, np.int32)
    n = 0
    for f in range(faces.shape[0]):
        a, b, c = ahead[faces[f, 0]], ahead[faces[f, 1]], ahead[faces[f, 2]]
        ra, rb, rc = a & 0xFFFF, b & 0xFFFF, c & 0xFFFF
        above, below = (ra > j0) | (rb > j0) | (rc > j0), (ra < j1) | (rb < j1) | (rc < j1)
        picked[n], row[n] = f, min(ra, rb, rc)
        n += int(above & below & (not between_lines(a, b, c, 0)))
    for k in range(n):
        row[k] = max(row[k] - j0, 0)
    order = order_by(row[:n], j1 - j0)
    sorted_faces = np.empty(n, np.int32)
    for k in range(n):
        sorted_faces[k] = picked[order[k]]
    return sorted_faces


@compiled(error_model="numpy")
def set_up_faces(pix, faces, picked, batch):  # type: ignore[no-untyped-def]
    """Copy the corners of the picked faces into the batch, sort them by row and work out their slopes."""
    for n in range(picked.shape[0]):
        ia, ib, ic = faces[picked[n], 0], faces[picked[n], 1], faces[picked[n], 2]
        batch[AX + n], batch[AY + n], batch[AZ + n] = pix[ia, 0], pix[ia, 1], pix[ia, 2]
        batch[BX + n], batch[BY + n], batch[BZ + n] = pix[ib, 0], pix[ib, 1], pix[ib, 2]
        batch[CX + n], batch[CY + n], batch[CZ + n] = pix[ic, 0], pix[ic, 1], pix[ic, 2]
    for n in range(picked.shape[0]):
        ax, ay, az, bx, by, bz, cx, cy, cz, _ = corners_by_row(
            batch[AX + n], batch[AY + n], batch[AZ + n],
            batch[BX + n], batch[BY + n], batch[BZ + n],
            batch[CX + n], batch[CY + n], batch[CZ + n],
        )  # fmt: skip
        batch[AX + n], batch[AY + n], batch[AZ + n] = ax, ay, az
        batch[BX + n], batch[BY + n], batch[BZ + n] = bx, by, bz
        batch[CX + n], batch[CY + n], batch[CZ + n] = cx, cy, cz
        batch[LONG + n] = (cx - ax) / (cy - ay)
        batch[FIRST + n] = (bx - ax) / (by - ay)
        batch[SECOND + n] = (cx - bx) / (cy - by)
        batch[SLOPE_X + n], batch[SLOPE_Y + n] = plane_slopes(ax, ay, az, bx, by, bz, cx, cy, cz)


@compiled(forceinline=True)
def write_four(f, first_line, row_z, slope_x, x, ax, low, high, n, line, z, face):  # type: ignore[no-untyped-def]
    """Write four neighbouring crossings of face f from place n on; unsigned places make it three stores.

    The first lies at x; `row_z` is the depth of this row at ax.
    """
    p, q, r, s = np.uint64(n), np.uint64(n + 1), np.uint64(n + 2), np.uint64(n + 3)
    line[p], line[q], line[r], line[s] = first_line, first_line + ONE, first_line + TWO, first_line + THREE
    face[p], face[q], face[r], face[s] = f, f, f, f
    z[p] = min(max(row_z + slope_x * (x - ax), low), high)
    z[q] = min(max(row_z + slope_x * ((x + 1.0) - ax), low), high)
    z[r] = min(max(row_z + slope_x * ((x + 2.0) - ax), low), high)
    z[s] = min(max(row_z + slope_x * ((x + 3.0) - ax), low), high)


@compiled(forceinline=True)
def list_face(batch, k, f, nx, j0, j1, n, line, z, face):  # type: ignore[no-untyped-def]
    """Write the crossings of face f, at place k of the batch, from place n on; give the next free place."""
    room = line.shape[0] - SPAN
    ax, ay, az = batch[AX + k], batch[AY + k], batch[AZ + k]
    bx, by, bz = batch[BX + k], batch[BY + k], batch[BZ + k]
    cx, cy, cz = batch[CX + k], batch[CY + k], batch[CZ + k]
    slope_x, slope_y = batch[SLOPE_X + k], batch[SLOPE_Y + k]
    long_slope, first_slope, second_slope = batch[LONG + k], batch[FIRST + k], batch[SECOND + k]
    low, high = min(az, bz, cz), max(az, bz, cz)
    for j in range(max(j0, int(np.ceil(ay))), min(j1, int(np.ceil(cy)))):
        y = float(j)
        below = y < by
        px, py, qx = (ax if below else bx), (ay if below else by), (bx if below else cx)
        short_slope = first_slope if below else second_slope
        xa, xb = edge_at_row(ax, ay, cx, long_slope, y), edge_at_row(px, py, qx, short_slope, y)
        i0, i1 = max(0, int(np.ceil(min(xa, xb)))), min(nx, int(np.ceil(max(xa, xb))))
        row_z = az + slope_y * (y - ay)
        if n <= room:
            write_four(f, np.int32(j * nx + i0), row_z, slope_x, float(i0), ax, low, high, n, line, z, face)
        for i in range(i0 + SPAN, i1, SPAN):
            m = n + i - i0
            if m <= room:
                write_four(f, np.int32(j * nx + i), row_z, slope_x, float(i), ax, low, high, m, line, z, face)
        n += max(0, i1 - i0)
    return n


@compiled()
def list_crossings(pix, faces, picked, nx, j0, j1, line, z, face):  # type: ignore[no-untyped-def]
    """Write the crossings of the picked faces with rows j0 to j1 into line, z (mm) and face; give their number.

    Where the arrays, which need `SPAN` places to spare, are too short, the number is right all the same.
    """
    n, batch = 0, np.zeros(BATCH_SIZE)
    for start in range(0, picked.shape[0], BATCH):
        some = picked[start : start + BATCH]
        set_up_faces(pix, faces, some, batch)
        for k in range(some.shape[0]):
            n = list_face(batch, k, some[k], nx, j0, j1, n, line, z, face)
    return n


@compiled()
def sort_by_line(line, z, face, first_line, n_lines, begin, offsets, z_out, face_out):  # type: ignore[no-untyped-def]
    """Put crossings in their lines' places from `begin` on, and where each line ends into `offsets`."""
    ends = offsets[first_line + 1 : first_line + n_lines + 1]
    for k in range(n_lines):
        ends[k] = 0
    for k in line:
        ends[k - first_line] += 1
    for k in range(n_lines):
        count, ends[k] = ends[k], begin
        begin += count
    for n in range(line.shape[0]):
        slot = ends[line[n] - first_line]
        ends[line[n] - first_line] = slot + 1
        z_out[slot], face_out[slot] = z[n], face[n]


@compiled()
def sort_each_line(offsets, first_line, n_lines, begin, z, face):  # type: ignore[no-untyped-def]
    """Sort each line's crossings from low to high; give the number of lines with an odd number of them."""
    odd = 0
    for k in range(first_line, first_line + n_lines):
        end = offsets[k + 1]
        odd += (end - begin) & 1
        if end - begin == 2:
            swap = z[begin] > z[begin + 1]
            z[begin], z[begin + 1] = in_order(swap, z[begin], z[begin + 1])
            face[begin], face[begin + 1] = in_order(swap, face[begin], face[begin + 1])
            begin = end
            continue
        for n in range(begin + 1, end):
            depth, owner, slot = z[n], face[n], n
            while slot > begin and z[slot - 1] > depth:
                z[slot], face[slot] = z[slot - 1], face[slot - 1]
                slot -= 1
            z[slot], face[slot] = depth, owner
        begin = end
    return odd


@compiled(nogil=True)
def list_band(pix, faces, ahead, nx, j0, j1, line, z, face):  # type: ignore[no-untyped-def]
    """List the crossings of rows j0 to j1; give their number, as `list_crossings`."""
    return list_crossings(pix, faces, faces_in_rows(ahead, faces, j0, j1), nx, j0, j1, line, z, face)


@compiled(nogil=True)
def sort_band(line, z, face, first_line, n_lines, begin, offsets, z_out, face_out):  # type: ignore[no-untyped-def]
    """Put a band's crossings in order from `begin` on; give the number of lines with an odd number of them."""
    sort_by_line(line, z, face, first_line, n_lines, begin, offsets, z_out, face_out)
    return sort_each_line(offsets, first_line, n_lines, begin, z_out, face_out)


def crossings_in_one_block(places: list[int]) -> list[Crossings]:
    """Empty arrays line, z and face with so many places, all in one block of memory.

    numpy asks for large pages for a large block, and the next cut gets the same block again; to touch fresh small
    pages for the first time would cost more than the cutting.
    """
    block, crossings, end = np.empty(16 * sum(places), np.uint8), [], 0
    for n in places:
        start, end = end, end + 16 * n
        z, line, face = np.split(block[start:end], [8 * n, 12 * n])
        crossings.append((line.view(np.int32), z.view(np.float64), face.view(np.int32)))
    return crossings


def dexel_lines_in_bands(
    pix: FloatArray, faces: IntArray, nx: int, ny: int, bands: int
) -> tuple[IntArray, FloatArray, NDArray[np.int32], int]:
    """`dexel_lines` by `bands` threads, and the number of lines that enter without leaving (0 for a closed mesh).

    Plain threads, because they wait asleep: for so short a piece of work the spinning of a parallel loop costs more
    than the work as soon as another program runs.
    """
    corners = np.ascontiguousarray(faces, np.int64).view(np.uint64)  # an index that need not be checked for a sign
    ahead = line_ahead(pix)
    rows = band_rows(ahead, ny, bands)
    space = crossings_in_one_block([ROOM * nx * int(n) + SPAN for n in np.diff(rows)])

    def listed(b: int) -> Crossings:
        line, z, face = space[b]
        n = list_band(pix, corners, ahead, nx, rows[b], rows[b + 1], line, z, face)
        if n + SPAN > len(line):
            [(line, z, face)] = crossings_in_one_block([n + SPAN])
            list_band(pix, corners, ahead, nx, rows[b], rows[b + 1], line, z, face)
        return line[:n], z[:n], face[:n]

    with ThreadPoolExecutor(bands) as pool:
        run = pool.map if bands > 1 else map
        lists = list(run(listed, range(bands)))
        begins = np.cumsum([0] + [len(line) for line, _, _ in lists])
        offsets = np.zeros(nx * ny + 1, np.int64)
        [(_, z_out, face_out)] = crossings_in_one_block([int(begins[-1])])

        def odd_lines(b: int) -> int:
            lines = (rows[b] * nx, (rows[b + 1] - rows[b]) * nx)
            return int(sort_band(*lists[b], *lines, begins[b], offsets, z_out, face_out))

        return offsets, z_out, face_out, sum(run(odd_lines, range(bands)))


@compiled()
def dexel_lines(pix, faces, nx, ny):  # type: ignore[no-untyped-def]
    """All crossings of all lines: offsets (nx·ny + 1,) int64, z (k,) float64 in mm, face (k,) int32.

    For use in loops that run over directions, one thread each.
    """
    corners = faces.view(np.uint64)  # as `dexel_lines_in_bands` has them
    picked = faces_in_rows(line_ahead(pix), corners, 0, ny)
    room = ROOM * nx * ny + SPAN
    while True:
        line, z, face = np.empty(room, np.int32), np.empty(room, np.float64), np.empty(room, np.int32)
        n = list_crossings(pix, corners, picked, nx, 0, ny, line, z, face)
        if n + SPAN <= room:
            break
        room = n + SPAN
    offsets, z_out, face_out = np.zeros(nx * ny + 1, np.int64), np.empty(n, np.float64), np.empty(n, np.int32)
    sort_by_line(line[:n], z[:n], face[:n], 0, nx * ny, 0, offsets, z_out, face_out)
    sort_each_line(offsets, 0, nx * ny, 0, z_out, face_out)
    return offsets, z_out, face_out


@compiled()
def depth_pairs(pix, ahead, faces, nx, ny, bottom, top, solid):  # type: ignore[no-untyped-def]
    """Lowest entry, highest exit and length inside the solid of each line, in mm.

    `ahead` comes from `line_ahead`. The three arrays (nx·ny,) come in as +inf, −inf and 0 and keep that where a
    line misses the solid.
    """
    tally = new_tally(nx * ny)
    corners = np.empty((3, pix.shape[0]))
    for axis in range(3):
        for v in range(pix.shape[0]):
            corners[axis, v] = pix[v, axis]
    tally_lines(corners[0], corners[1], corners[2], ahead, 0, faces, nx, ny, tally)
    for k in range(nx * ny):
        bottom[k] = min(bottom[k], tally[k, LOWEST])
        top[k] = max(top[k], tally[k, HIGHEST])
        solid[k] += tally[k, SIGNED_SUM]


@compiled()
def fill_columns(offsets, z, nx, ny, nz, z0, pitch):  # type: ignore[no-untyped-def]
    """Voxels (nz, ny, nx) uint8: 1 where the middle of layer k, z0 + (k + ½)·pitch, lies inside the solid."""
    voxels = np.zeros((nz, ny, nx), np.uint8)
    for j in range(ny):
        for i in range(nx):
            line = j * nx + i
            for k in range(offsets[line], offsets[line + 1] - 1, 2):
                first = max(0, int(np.ceil((z[k] - z0) / pitch - 0.5)))
                last = min(nz - 1, int(np.ceil((z[k + 1] - z0) / pitch - 0.5)) - 1)
                for layer in range(first, last + 1):
                    voxels[layer, j, i] = 1
    return voxels
