"""Faces that look at each other: the kernel against a slow twin that walks every line by itself."""

from collections import Counter

import numpy as np
import pytest

from firstpour.kernels.facing import facing_faces
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.values import frame_along
from sample_shapes import CLOSED, SHAPES


def gaps_of(dexels: Dexels, line: int) -> list[tuple[float, float, int | None, int | None]]:
    """The empty stretches of a line: bottom, top, and the faces there."""
    span = slice(dexels.offsets[line], dexels.offsets[line + 1])
    z, face = dexels.z_mm[span].tolist(), dexels.face[span].tolist()
    lows, highs = [(-np.inf, None), *zip(z[1::2], face[1::2], strict=True)], [*zip(z[::2], face[::2], strict=True)]
    highs.append((np.inf, None))
    return [(a, b, low, high) for (a, low), (b, high) in zip(lows, highs, strict=True)]


def slow_facing(dexels: Dexels, reach: int) -> Counter:
    pairs: Counter = Counter()
    for j in range(dexels.ny):
        for i in range(dexels.nx):
            for bottom, top, low, high in gaps_of(dexels, j * dexels.nx + i):
                if low is None or high is None:
                    continue
                for dj in range(-reach, reach + 1):
                    for di in range(-reach, reach + 1):
                        near = (0 <= i + di < dexels.nx) and (0 <= j + dj < dexels.ny)
                        if not near or di * di + dj * dj > reach * reach:
                            continue
                        for a, b, under, over in gaps_of(dexels, (j + dj) * dexels.nx + i + di):
                            if min(b, top) - max(a, bottom) < 0.5 * (top - bottom):
                                continue
                            pairs.update([(under, high)] if under is not None else [])
                            pairs.update([(low, over)] if over is not None else [])
    return pairs


@pytest.mark.parametrize("name", CLOSED)
@pytest.mark.parametrize("reach", [0, 2])
def test_the_kernel_finds_the_same_pairs_as_its_slow_twin(name: str, reach: int) -> None:
    direction = np.array([0.3, -0.2, 0.9])
    dexels = cut_dexels(SHAPES[name].mesh, frame_along(direction)[2], resolution=24)
    found = facing_faces(dexels.offsets, dexels.z_mm, dexels.face.astype(np.int64), dexels.nx, dexels.ny, reach)
    assert Counter(map(tuple, found.tolist())) == slow_facing(dexels, reach)
