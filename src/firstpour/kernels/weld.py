"""Vertices with equal coordinates, found by hashing."""

import numpy as np

from firstpour.kernels.compiled import compiled


@compiled()
def first_equal(points, slots):  # type: ignore[no-untyped-def]
    """For each point (n, 3) the lowest number of a point with the same coordinates: (n,) int64.

    `slots` (a power of two above n,) int64 comes in as −1. Minus zero must have been made zero.
    """
    n = points.shape[0]
    bits = points.view(np.uint64)
    mask = np.uint64(slots.shape[0] - 1)
    first = np.empty(n, np.int64)
    for v in range(n):
        h = bits[v, 0] * np.uint64(0x9E3779B97F4A7C15)
        h = (h ^ (h >> np.uint64(29)) ^ bits[v, 1]) * np.uint64(0xBF58476D1CE4E5B9)
        h = (h ^ (h >> np.uint64(32)) ^ bits[v, 2]) * np.uint64(0x94D049BB133111EB)
        h = (h ^ (h >> np.uint64(31))) & mask
        while True:
            w = slots[h]
            if w < 0:
                slots[h] = v
                first[v] = v
                break
            if points[w, 0] == points[v, 0] and points[w, 1] == points[v, 1] and points[w, 2] == points[v, 2]:
                first[v] = w
                break
            h = (h + np.uint64(1)) & mask
    return first
