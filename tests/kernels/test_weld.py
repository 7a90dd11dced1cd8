"""Welding by hash against sorting."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.surface.sides import same_vertices


@given(seed=st.integers(0, 2**32 - 1), values=st.integers(1, 6), points=st.integers(1, 300))
@settings(max_examples=25, deadline=None)
def test_the_hash_finds_the_same_first_equal_point_as_sorting(seed: int, values: int, points: int) -> None:
    table = np.array([0.0, -0.0, 1.0, 1e-300, -1.0, np.nextafter(1.0, 2.0)])
    chosen = table[np.random.default_rng(seed).integers(0, values, (points, 3))]
    _, first, group = np.unique(chosen + 0.0, axis=0, return_index=True, return_inverse=True)
    assert same_vertices(chosen).tolist() == first[group.ravel()].tolist()
