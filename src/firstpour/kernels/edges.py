"""Pairing the sides of faces into edges."""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def pair_sides(faces, n_vertices):  # type: ignore[no-untyped-def]
    """Edges of a closed mesh: ends (e, 2), lower vertex first, and the two faces beside each (e, 2), both int64.

    Also gives the number of sides that found no partner, 0 for a closed mesh. Sides are chained by their lower
    vertex, so the work is linear in the faces.
    """
    n_sides = 3 * faces.shape[0]
    head = np.full(n_vertices, -1, np.int64)
    after = np.empty(n_sides, np.int64)
    ends = np.empty((n_sides // 2, 2), np.int64)
    beside = np.empty((n_sides // 2, 2), np.int64)
    count = 0
    waiting = 0
    for f in range(faces.shape[0]):
        for k in range(3):
            a, b = faces[f, k], faces[f, (k + 1) % 3]
            low, high = min(a, b), max(a, b)
            before, side = -1, head[low]
            while side >= 0:
                g, m = side // 3, side % 3
                if faces[g, m] + faces[g, (m + 1) % 3] == low + high:
                    break
                before, side = side, after[side]
            if side < 0:
                after[3 * f + k] = head[low]
                head[low] = 3 * f + k
                waiting += 1
                continue
            if before < 0:
                head[low] = after[side]
            else:
                after[before] = after[side]
            waiting -= 1
            ends[count, 0], ends[count, 1] = low, high
            beside[count, 0], beside[count, 1] = side // 3, f
            count += 1
    return ends[:count], beside[:count], waiting
