"""Faces that look at each other along lines through a solid, across the empty space between.

Lines are those of `kernels.dexels`: offsets (nx·ny + 1,), z and face of the crossings, entries and exits in turn.
"""

import numpy as np

from firstpour.kernels.compiled import compiled

LEAST_SHARE = 0.5
"""A gap of a line beside counts as the same space if it covers so much of the void's height."""


@compiled()
def facing_faces(offsets, z, face, nx, ny, reach):  # type: ignore[no-untyped-def]
    """The faces below and above each void, and those about the same space on lines within `reach` pixels.

    (k, 2) int64, lower face first, one row for each time they meet.
    """
    found = np.empty((_list_facing(offsets, z, face, nx, ny, reach, np.empty((0, 2), np.int64)), 2), np.int64)
    _list_facing(offsets, z, face, nx, ny, reach, found)
    return found


@compiled()
def _list_facing(offsets, z, face, nx, ny, reach, found):  # type: ignore[no-untyped-def]
    """Write the pairs into `found` if there is room, and count them."""
    count = 0
    writes = found.shape[0] > 0
    for j in range(ny):
        for i in range(nx):
            start = offsets[j * nx + i]
            for v in range(start + 1, offsets[j * nx + i + 1] - 1, 2):
                for b in range(max(0, j - reach), min(ny, j + reach + 1)):
                    for a in range(max(0, i - reach), min(nx, i + reach + 1)):
                        if (a - i) ** 2 + (b - j) ** 2 > reach**2:
                            continue
                        low, high = offsets[b * nx + a], offsets[b * nx + a + 1]
                        for g in range(low - 1, high, 2):
                            bottom = z[g] if g >= low else -np.inf
                            top = z[g + 1] if g + 1 < high else np.inf
                            if min(top, z[v + 1]) - max(bottom, z[v]) < LEAST_SHARE * (z[v + 1] - z[v]):
                                continue
                            if g >= low:
                                if writes:
                                    found[count, 0], found[count, 1] = face[g], face[v + 1]
                                count += 1
                            if g + 1 < high:
                                if writes:
                                    found[count, 0], found[count, 1] = face[v], face[g + 1]
                                count += 1
    return count
