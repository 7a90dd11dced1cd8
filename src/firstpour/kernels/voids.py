"""Voids between solids along the draw, joined into regions, and the reach of each face.

Lines are those of `kernels.dexels`: offsets (nx·ny + 1,), z and face of the crossings, entries and exits in turn.
"""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def root_of(parent, node):  # type: ignore[no-untyped-def]
    """Representative of the set that holds `node`, halving the path on the way."""
    while parent[node] != node:
        parent[node] = parent[parent[node]]
        node = parent[node]
    return node


@compiled()
def first_void(offsets):  # type: ignore[no-untyped-def]
    """Number of the first void of each line and, last, of all voids: (n + 1,) int64."""
    first = np.zeros(offsets.shape[0], np.int64)
    for n in range(offsets.shape[0] - 1):
        first[n + 1] = first[n] + max(0, (offsets[n + 1] - offsets[n]) // 2 - 1)
    return first


@compiled()
def join_voids(offsets, z, first, nx, ny):  # type: ignore[no-untyped-def]
    """Region number of each void (v,) int64: voids of neighbouring lines are one region where they overlap."""
    parent = np.arange(first[-1])
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            for b in (a + 1 if i + 1 < nx else -1, a + nx if j + 1 < ny else -1):
                if b < 0:
                    continue
                p, q = first[a], first[b]
                while p < first[a + 1] and q < first[b + 1]:
                    ka = offsets[a] + 2 * (p - first[a]) + 1
                    kb = offsets[b] + 2 * (q - first[b]) + 1
                    if min(z[ka + 1], z[kb + 1]) > max(z[ka], z[kb]):
                        parent[root_of(parent, p)] = root_of(parent, q)
                    if z[ka + 1] < z[kb + 1]:
                        p += 1
                    else:
                        q += 1
    region = np.empty(parent.shape[0], np.int64)
    number = np.full(parent.shape[0], -1, np.int64)
    count = 0
    for v in range(parent.shape[0]):
        root = root_of(parent, v)
        if number[root] < 0:
            number[root] = count
            count += 1
        region[v] = number[root]
    return region


@compiled()
def list_voids(offsets, z, first):  # type: ignore[no-untyped-def]
    """Line, lower end and upper end (mm) of each void: (v,) int64, float64, float64."""
    line = np.empty(first[-1], np.int64)
    low = np.empty(first[-1], np.float64)
    high = np.empty(first[-1], np.float64)
    for n in range(first.shape[0] - 1):
        for v in range(first[n], first[n + 1]):
            k = offsets[n] + 2 * (v - first[n]) + 1
            line[v], low[v], high[v] = n, z[k], z[k + 1]
    return line, low, high


@compiled()
def list_exits(offsets, z, first, region, nx, ny):  # type: ignore[no-untyped-def]
    """Where a region opens sideways into free space: region, line of the void, line beside it, and which way.

    (k,) int64 each. The way is 1 where the space beside is free upwards, 2 where downwards, 3 where both. At the
    border of the grid the line beside is −1.
    """
    room = 4 * first[-1]
    of_region, line = np.empty(room, np.int64), np.empty(room, np.int64)
    beside, way = np.empty(room, np.int64), np.empty(room, np.int64)
    n = 0
    for j in range(ny):
        for i in range(nx):
            a = j * nx + i
            for v in range(first[a], first[a + 1]):
                k = offsets[a] + 2 * (v - first[a]) + 1
                for step in range(4):
                    i2 = i + (1 if step == 0 else (-1 if step == 1 else 0))
                    j2 = j + (1 if step == 2 else (-1 if step == 3 else 0))
                    b = j2 * nx + i2 if (0 <= i2 < nx) & (0 <= j2 < ny) else -1
                    free = 3
                    if b >= 0 and offsets[b] < offsets[b + 1]:
                        free = int(z[k + 1] > z[offsets[b + 1] - 1]) + 2 * int(z[k] < z[offsets[b]])
                    if free > 0:
                        of_region[n], line[n], beside[n], way[n] = region[v], a, b, free
                        n += 1
    return of_region[:n], line[:n], beside[:n], way[:n]


@compiled()
def stand_on_plane(offsets, z, face, low, near, thick):  # type: ignore[no-untyped-def]
    """The lines with a slab from `low` − `thick` to `low` added under the solid, on every line; its face is −1.

    Solid that begins within `near` of the slab runs on from it.
    """
    lines = offsets.shape[0] - 1
    new_offsets = np.empty(lines + 1, np.int64)
    new_z, new_face = np.empty(z.shape[0] + 2 * lines), np.empty(z.shape[0] + 2 * lines, np.int32)
    n = 0
    for a in range(lines):
        new_offsets[a] = n
        start, stop = offsets[a], offsets[a + 1]
        new_z[n], new_face[n] = low - thick, -1
        n += 1
        if start < stop and z[start] <= low + near:
            start += 1
        else:
            new_z[n], new_face[n] = low, -1
            n += 1
        for k in range(start, stop):
            new_z[n], new_face[n] = z[k], face[k]
            n += 1
    new_offsets[lines] = n
    return new_offsets, new_z[:n], new_face[:n]


@compiled()
def reach_shares(pix, faces, across, bottom, top, nx, ny, per_face):  # type: ignore[no-untyped-def]
    """Share of each face that is reached from above and from below, and from neither: (m, 3) float64.

    `pix` (n, 3): x, y in pixels, z in mm. `across` (m, 3): the face's unit normal times the probing distance, in the
    same units. A sample point is lifted off the face by that much, so that a vertical wall is asked about the free
    space beside it, then compared with the highest exit and the lowest entry of its line. `per_face` (m,): samples.
    """
    shares = np.zeros((faces.shape[0], 3))
    for f in range(faces.shape[0]):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        n = per_face[f]
        for s in range(n):
            u = (s + 0.5) / n
            v = (0.5 + s * 0.6180339887498949) % 1.0
            root = np.sqrt(u)
            wa, wb, wc = 1.0 - root, root * (1.0 - v), root * v
            if n == 1:
                wa = wb = wc = 1.0 / 3.0
            x = wa * pix[a, 0] + wb * pix[b, 0] + wc * pix[c, 0] + across[f, 0]
            y = wa * pix[a, 1] + wb * pix[b, 1] + wc * pix[c, 1] + across[f, 1]
            z = wa * pix[a, 2] + wb * pix[b, 2] + wc * pix[c, 2] + across[f, 2]
            i, j = int(np.floor(x + 0.5)), int(np.floor(y + 0.5))
            above = below = True
            if 0 <= i < nx and 0 <= j < ny:
                above = z > top[j, i]
                below = z < bottom[j, i]
            shares[f, 0] += above
            shares[f, 1] += below
            shares[f, 2] += not (above or below)
        for k in range(3):
            shares[f, k] /= n
    return shares
