"""Where points lie among dexel nodes, which trapped nodes hang together, and where the solid is in the way."""

import numpy as np

from firstpour.kernels.compiled import compiled
from firstpour.kernels.nodes import find


@compiled()
def nearest_nodes(points, z, start, nx, ny, pitch, reach):  # type: ignore[no-untyped-def]
    """For points (k, 3) in pixels and mm: the nearest node within `reach` lines, −1: none; and its distance, mm."""
    nodes = np.full(points.shape[0], -1, np.int32)
    away = np.full(points.shape[0], np.inf)
    for p in range(points.shape[0]):
        x, y, level = points[p, 0], points[p, 1], points[p, 2]
        cx, cy = int(np.floor(x + 0.5)), int(np.floor(y + 0.5))
        for j in range(max(0, cy - reach), min(ny, cy + reach + 1)):
            for i in range(max(0, cx - reach), min(nx, cx + reach + 1)):
                side2 = ((i - x) ** 2 + (j - y) ** 2) * pitch * pitch
                for n in range(start[j * nx + i], start[j * nx + i + 1]):
                    up = max(0.0, z[2 * n] - level, level - z[2 * n + 1])
                    distance = np.sqrt(side2 + up * up)
                    if distance < away[p]:
                        away[p] = distance
                        nodes[p] = n
    return nodes, away


@compiled()
def inside_solid(points, z, start, nx, ny):  # type: ignore[no-untyped-def]
    """Whether points (k, 3), in pixels and mm, lie inside the solid by the line nearest to each: (k,) bool."""
    inside = np.zeros(points.shape[0], np.bool_)
    for p in range(points.shape[0]):
        i, j = int(np.floor(points[p, 0] + 0.5)), int(np.floor(points[p, 1] + 0.5))
        if i < 0 or j < 0 or i >= nx or j >= ny:
            continue
        for n in range(start[j * nx + i], start[j * nx + i + 1]):
            if z[2 * n] < points[p, 2] < z[2 * n + 1]:
                inside[p] = True
    return inside


@compiled()
def join_trapped(z, column, start, nx, ny, trapped_from, slack):  # type: ignore[no-untyped-def]
    """Group of each node (n,) int32 among nodes whose trapped air touches above one sealing level; −1: no air."""
    n = z.shape[0] // 2
    parent = np.empty(n, np.int32)
    for m in range(n):
        parent[m] = m
    for m in range(n):
        if z[2 * m + 1] <= trapped_from[m]:
            continue
        x, y = column[m] % nx, column[m] // nx
        for dx, dy in ((1, 0), (0, 1)):
            if x + dx >= nx or y + dy >= ny:
                continue
            c = column[m] + dx + dy * nx
            for q in range(start[c], start[c + 1]):
                if trapped_from[q] != trapped_from[m] or z[2 * q] >= z[2 * m + 1] or z[2 * m] >= z[2 * q + 1]:
                    continue
                if min(z[2 * m + 1], z[2 * q + 1]) > trapped_from[m] + slack:
                    parent[find(parent, m)] = find(parent, q)
    for m in range(n):
        parent[m] = find(parent, m)
    for m in range(n):
        if z[2 * m + 1] <= trapped_from[m]:
            parent[m] = -1
    return parent
