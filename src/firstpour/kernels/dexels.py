"""Dexels: the solid cut by a grid of parallel lines, each keeping where it enters and leaves.

Vertices come in the frame of the grid (`pix`): x and y in pixels, line (i, j) running along +z through
x = i, y = j; z in mm. The flat number of a line is j·nx + i. Parity is exact: row and edge crossings are
computed from one canonical order of an edge's ends with half-open spans, so two faces that share an edge
agree to the bit, and a closed mesh is entered as often as it is left.
"""

import numpy as np
from numba import njit, prange


@njit(cache=True)
def face_by_rows(pix, ia, ib, ic):  # type: ignore[no-untyped-def]
    """The corners of a face from low to high y, and the number of swaps (−1 for odd) that brought them there.

    Sorting gives each edge one order of its ends whichever face names it, which keeps parity exact.
    """
    turn = 1.0
    ya, yb, yc = pix[ia, 1], pix[ib, 1], pix[ic, 1]
    if ya > yb:
        ia, ib, ya, yb, turn = ib, ia, yb, ya, -turn
    if yb > yc:
        ib, ic, yb, yc, turn = ic, ib, yc, yb, -turn
    if ya > yb:
        ia, ib, ya, yb, turn = ib, ia, yb, ya, -turn
    return pix[ia, 0], ya, pix[ia, 2], pix[ib, 0], yb, pix[ib, 2], pix[ic, 0], yc, pix[ic, 2], turn


@njit(cache=True)
def edge_slope(ax, ay, bx, by):  # type: ignore[no-untyped-def]
    """dx/dy of an edge; 0 where it is level, and so crosses no row."""
    rise = by - ay
    return (bx - ax) / rise if rise > 0.0 else 0.0


@njit(cache=True)
def edge_at_row(ax, ay, bx, slope, y):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height y, never past its ends."""
    x = ax + (y - ay) * slope
    return min(max(x, min(ax, bx)), max(ax, bx))


@njit(cache=True)
def line_ahead(pix):  # type: ignore[no-untyped-def]
    """For each vertex the first line at or after it in x and in y: (n, 2) int32. Faces are culled by these alone."""
    ahead = np.empty((pix.shape[0], 2), np.int32)
    for v in range(pix.shape[0]):
        ahead[v, 0] = np.int32(np.ceil(pix[v, 0]))
        ahead[v, 1] = np.int32(np.ceil(pix[v, 1]))
    return ahead


@njit(cache=True)
def misses(ahead, ia, ib, ic):  # type: ignore[no-untyped-def]
    """Whether the face lies between two neighbouring rows or columns of lines."""
    spread_x = (ahead[ia, 0] ^ ahead[ib, 0]) | (ahead[ia, 0] ^ ahead[ic, 0])
    spread_y = (ahead[ia, 1] ^ ahead[ib, 1]) | (ahead[ia, 1] ^ ahead[ic, 1])
    return (spread_x == 0) | (spread_y == 0)


@njit(cache=True)
def list_crossings(pix, ahead, faces, nx, ny, line, z, face):  # type: ignore[no-untyped-def]
    """Write the crossings of the faces as they come into line, face (int32) and z (mm); give their number.

    Where the arrays are too short the number is right all the same, and they hold the first of them.
    """
    n = 0
    room = line.shape[0]
    for f in range(faces.shape[0]):
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        if misses(ahead, ia, ib, ic):
            continue
        ax, ay, az, bx, by, bz, cx, cy, cz, _ = face_by_rows(pix, ia, ib, ic)
        area2 = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        per_area = 1.0 / area2 if area2 != 0.0 else 0.0
        slope_x = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) * per_area
        slope_y = ((cz - az) * (bx - ax) - (bz - az) * (cx - ax)) * per_area
        low, high = min(az, bz, cz), max(az, bz, cz)
        long_slope, first_slope, second_slope = (
            edge_slope(ax, ay, cx, cy),
            edge_slope(ax, ay, bx, by),
            edge_slope(bx, by, cx, cy),
        )
        for j in range(max(0, int(np.ceil(ay))), min(ny, int(np.ceil(cy)))):
            y = float(j)
            xa = edge_at_row(ax, ay, cx, long_slope, y)
            xb = edge_at_row(ax, ay, bx, first_slope, y) if y < by else edge_at_row(bx, by, cx, second_slope, y)
            i0 = max(0, int(np.ceil(min(xa, xb))))
            i1 = min(nx, int(np.ceil(max(xa, xb))))
            for i in range(i0, i1):
                if n < room:
                    line[n] = j * nx + i
                    z[n] = min(max(az + slope_x * (i - ax) + slope_y * (j - ay), low), high)
                    face[n] = f
                n += 1
    return n


@njit(cache=True)
def sort_crossings(line, z, face, n_lines):  # type: ignore[no-untyped-def]
    """Order crossings by line, each line's run from low to high: offsets (n_lines + 1,) int64, z, face."""
    offsets = np.zeros(n_lines + 1, np.int64)
    for k in range(line.shape[0]):
        offsets[line[k] + 1] += 1
    for n in range(n_lines):
        offsets[n + 1] += offsets[n]
    z_out = np.empty(line.shape[0], np.float64)
    face_out = np.empty(line.shape[0], np.int32)
    cursor = offsets[:-1].copy()
    for k in range(line.shape[0]):
        depth = z[k]
        start = offsets[line[k]]
        slot = cursor[line[k]]
        cursor[line[k]] += 1
        while slot > start and z_out[slot - 1] > depth:
            z_out[slot] = z_out[slot - 1]
            face_out[slot] = face_out[slot - 1]
            slot -= 1
        z_out[slot] = depth
        face_out[slot] = face[k]
    return offsets, z_out, face_out


@njit(cache=True)
def dexel_lines(pix, faces, nx, ny):  # type: ignore[no-untyped-def]
    """All crossings of all lines: offsets (nx·ny + 1,) int64, z (k,) float64 in mm, face (k,) int32."""
    ahead = line_ahead(pix)
    room = 4 * nx * ny
    while True:
        line, z, face = np.empty(room, np.int32), np.empty(room, np.float64), np.empty(room, np.int32)
        n = list_crossings(pix, ahead, faces, nx, ny, line, z, face)
        if n <= room:
            return sort_crossings(line[:n], z[:n], face[:n], nx * ny)
        room = n


@njit(cache=True)
def depth_pairs(pix, ahead, faces, nx, ny, bottom, top, solid):  # type: ignore[no-untyped-def]
    """Lowest entry, highest exit and length inside the solid of each line, in mm.

    The three arrays (nx·ny,) come in as +inf, −inf and 0 and keep that where a line misses the solid.
    """
    for f in range(faces.shape[0]):
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        if misses(ahead, ia, ib, ic):
            continue
        ax, ay, az, bx, by, bz, cx, cy, cz, turn = face_by_rows(pix, ia, ib, ic)
        area2 = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        per_area = 1.0 / area2 if area2 != 0.0 else 0.0
        slope_x = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) * per_area
        slope_y = ((cz - az) * (bx - ax) - (bz - az) * (cx - ax)) * per_area
        sign = 1.0 if area2 * turn > 0.0 else -1.0
        low, high = min(az, bz, cz), max(az, bz, cz)
        long_slope, first_slope, second_slope = (
            edge_slope(ax, ay, cx, cy),
            edge_slope(ax, ay, bx, by),
            edge_slope(bx, by, cx, cy),
        )
        for j in range(max(0, int(np.ceil(ay))), min(ny, int(np.ceil(cy)))):
            y = float(j)
            xa = edge_at_row(ax, ay, cx, long_slope, y)
            xb = edge_at_row(ax, ay, bx, first_slope, y) if y < by else edge_at_row(bx, by, cx, second_slope, y)
            i0 = max(0, int(np.ceil(min(xa, xb))))
            i1 = min(nx, int(np.ceil(max(xa, xb))))
            for i in range(i0, i1):
                depth = min(max(az + slope_x * (i - ax) + slope_y * (j - ay), low), high)
                k = j * nx + i
                bottom[k] = min(bottom[k], depth)
                top[k] = max(top[k], depth)
                solid[k] += sign * depth


@njit(cache=True, parallel=True)
def sweep_voids(vertices, faces, frames, resolution):  # type: ignore[no-untyped-def]
    """For each frame (k, 3, 3): void between first entry and last exit (mm³), height along it (mm), pitch (mm).

    The longer side of the projection is cut into `resolution` pixels. Only extremes and a signed sum are kept
    for each line, so nothing is sorted, and a line that enters once gives exactly no void.
    """
    out = np.empty((frames.shape[0], 3), np.float64)
    for d in prange(frames.shape[0]):
        n = vertices.shape[0]
        pix = np.empty((n, 3), np.float64)
        r = frames[d]
        low_x = low_y = low_z = np.inf
        high_x = high_y = high_z = -np.inf
        for v in range(n):
            x, y, z = vertices[v, 0], vertices[v, 1], vertices[v, 2]
            px = r[0, 0] * x + r[0, 1] * y + r[0, 2] * z
            py = r[1, 0] * x + r[1, 1] * y + r[1, 2] * z
            pz = r[2, 0] * x + r[2, 1] * y + r[2, 2] * z
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
        bottom = np.full(nx * ny, np.inf)
        top = np.full(nx * ny, -np.inf)
        solid = np.zeros(nx * ny)
        depth_pairs(pix, line_ahead(pix), faces, nx, ny, bottom, top, solid)
        void = 0.0
        for k in range(nx * ny):
            if top[k] > bottom[k]:
                void += top[k] - bottom[k] - solid[k]
        out[d, 0] = max(0.0, void * pitch * pitch)
        out[d, 1] = high_z - low_z
        out[d, 2] = pitch
    return out


@njit(cache=True)
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
