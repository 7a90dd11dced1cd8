"""Dexels: the solid cut by a grid of parallel lines, each keeping where it enters and leaves.

Vertices come in the frame of the grid (`pix`): x and y in pixels, line (i, j) running along +z through
x = i, y = j; z in mm. The flat number of a line is j·nx + i. Parity is exact: row and edge crossings are
computed from one canonical order of an edge's ends with half-open spans, so two faces that share an edge
agree to the bit, and a closed mesh is entered as often as it is left.
"""

import numpy as np
from numba import njit, prange

SLACK = 1e-6  # pixels: a face is culled only when it misses every line by more than rounding


@njit(cache=True, inline="always")
def edge_at_row(ax, ay, bx, by, y):  # type: ignore[no-untyped-def]
    """x of the edge a–b at height y, the same to the bit whichever way round the edge is named."""
    if ay > by or (ay == by and ax > bx):
        ax, ay, bx, by = bx, by, ax, ay
    return ax + (y - ay) * ((bx - ax) / (by - ay))


@njit(cache=True, inline="always")
def row_span(ax, ay, bx, by, cx, cy, y, nx):  # type: ignore[no-untyped-def]
    """First and last line of the row y inside the face a, b, c; the last is below the first where none is."""
    n = 0
    xa = 0.0
    xb = 0.0
    if (ay <= y) != (by <= y):
        xa = edge_at_row(ax, ay, bx, by, y)
        n = 1
    if (by <= y) != (cy <= y):
        x = edge_at_row(bx, by, cx, cy, y)
        if n == 0:
            xa = x
        else:
            xb = x
        n += 1
    if n < 2 and (cy <= y) != (ay <= y):
        xb = edge_at_row(cx, cy, ax, ay, y)
        n += 1
    if n < 2:
        return 0, -1
    if xa > xb:
        xa, xb = xb, xa
    return max(0, int(np.ceil(xa))), min(nx - 1, int(np.ceil(xb)) - 1)


@njit(cache=True, inline="always")
def face_rows(ax, ay, bx, by, cx, cy, ny):  # type: ignore[no-untyped-def]
    """First and last row that the face may cover; the last is below the first where it covers none."""
    j0 = int(np.ceil(min(ay, by, cy)))
    j1 = int(np.ceil(max(ay, by, cy))) - 1
    if j0 > j1 or np.ceil(min(ax, bx, cx) - SLACK) > np.ceil(max(ax, bx, cx) + SLACK) - 1:
        return 0, -1
    return max(0, j0), min(ny - 1, j1)


@njit(cache=True, inline="always")
def face_plane(ax, ay, az, bx, by, bz, cx, cy, cz):  # type: ignore[no-untyped-def]
    """Twice the projected area (positive: faces up) and the slopes dz/dx, dz/dy in mm per pixel."""
    area2 = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    if area2 == 0.0:
        return 0.0, 0.0, 0.0
    slope_x = ((bz - az) * (cy - ay) - (cz - az) * (by - ay)) / area2
    slope_y = ((cz - az) * (bx - ax) - (bz - az) * (cx - ax)) / area2
    return area2, slope_x, slope_y


@njit(cache=True)
def count_crossings(pix, faces, nx, ny):  # type: ignore[no-untyped-def]
    """How many faces each line crosses: (nx·ny,) int32."""
    counts = np.zeros(nx * ny, np.int32)
    for f in range(faces.shape[0]):
        a, b, c = pix[faces[f, 0]], pix[faces[f, 1]], pix[faces[f, 2]]
        j0, j1 = face_rows(a[0], a[1], b[0], b[1], c[0], c[1], ny)
        for j in range(j0, j1 + 1):
            i0, i1 = row_span(a[0], a[1], b[0], b[1], c[0], c[1], float(j), nx)
            for i in range(i0, i1 + 1):
                counts[j * nx + i] += 1
    return counts


@njit(cache=True)
def fill_crossings(pix, faces, nx, ny, offsets):  # type: ignore[no-untyped-def]
    """Depths and face numbers of all crossings, each line's run sorted from low to high.

    `offsets` (nx·ny + 1,) int64 is the running sum of `count_crossings`. Gives z (k,) float64 in mm and
    face (k,) int32.
    """
    z = np.empty(offsets[-1], np.float64)
    face = np.empty(offsets[-1], np.int32)
    cursor = offsets[:-1].copy()
    for f in range(faces.shape[0]):
        a, b, c = pix[faces[f, 0]], pix[faces[f, 1]], pix[faces[f, 2]]
        j0, j1 = face_rows(a[0], a[1], b[0], b[1], c[0], c[1], ny)
        if j0 > j1:
            continue
        area2, slope_x, slope_y = face_plane(a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2])
        low, high = min(a[2], b[2], c[2]), max(a[2], b[2], c[2])
        for j in range(j0, j1 + 1):
            i0, i1 = row_span(a[0], a[1], b[0], b[1], c[0], c[1], float(j), nx)
            for i in range(i0, i1 + 1):
                depth = a[2] + slope_x * (i - a[0]) + slope_y * (j - a[1])
                depth = min(max(depth, low), high)
                k = cursor[j * nx + i]
                start = offsets[j * nx + i]
                while k > start and z[k - 1] > depth:
                    z[k] = z[k - 1]
                    face[k] = face[k - 1]
                    k -= 1
                z[k] = depth
                face[k] = f
                cursor[j * nx + i] += 1
    return z, face


@njit(cache=True)
def depth_pairs(pix, faces, nx, ny, bottom, top, solid):  # type: ignore[no-untyped-def]
    """Lowest entry, highest exit and length inside the solid of each line, in mm.

    The three arrays (nx·ny,) come in as +inf, −inf and 0 and keep that where a line misses the solid.
    """
    for f in range(faces.shape[0]):
        ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
        ax, ay = pix[ia, 0], pix[ia, 1]
        bx, by = pix[ib, 0], pix[ib, 1]
        cx, cy = pix[ic, 0], pix[ic, 1]
        j0, j1 = face_rows(ax, ay, bx, by, cx, cy, ny)
        if j0 > j1:
            continue
        az, bz, cz = pix[ia, 2], pix[ib, 2], pix[ic, 2]
        area2, slope_x, slope_y = face_plane(ax, ay, az, bx, by, bz, cx, cy, cz)
        low, high = min(az, bz, cz), max(az, bz, cz)
        for j in range(j0, j1 + 1):
            i0, i1 = row_span(ax, ay, bx, by, cx, cy, float(j), nx)
            for i in range(i0, i1 + 1):
                depth = az + slope_x * (i - ax) + slope_y * (j - ay)
                depth = min(max(depth, low), high)
                k = j * nx + i
                if depth < bottom[k]:
                    bottom[k] = depth
                if depth > top[k]:
                    top[k] = depth
                if area2 > 0.0:
                    solid[k] += depth
                else:
                    solid[k] -= depth


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
        nx = max(1, int(np.ceil((high_x - low_x) * inv - SLACK)))
        ny = max(1, int(np.ceil((high_y - low_y) * inv - SLACK)))
        bottom = np.full(nx * ny, np.inf)
        top = np.full(nx * ny, -np.inf)
        solid = np.zeros(nx * ny)
        depth_pairs(pix, faces, nx, ny, bottom, top, solid)
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
