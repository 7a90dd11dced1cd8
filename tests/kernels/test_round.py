"""The kernels of round features against slow twins and the exact formula."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exact_roundness import least_squares_roundness
from firstpour.kernels import round as kernel


@settings(max_examples=20, deadline=None)
@given(
    waves=st.lists(st.floats(-0.05, 0.05), min_size=2, max_size=6),
    shift=st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3)),
)
def test_the_quick_circle_is_the_exact_least_squares_circle_of_a_nearly_round_profile(waves, shift):
    angle = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    radius = 10 + sum(a * np.cos((k + 2) * angle + k) for k, a in enumerate(waves))
    points = np.stack([radius * np.cos(angle) + shift[0], radius * np.sin(angle) + shift[1]], axis=1)
    spread, mean = kernel.circle_spread(np.column_stack([points, np.ones(360)]))
    exact = least_squares_roundness(points)
    assert spread == pytest.approx(exact.zone_mm, abs=2e-4)
    assert mean == pytest.approx(exact.radius_mm, abs=1e-4)


def _agrees_slowly(point, normal, guess, near, aligned):
    away = point - guess[:3]
    zeta = away @ guess[3:6]
    across = away - zeta * guess[3:6]
    rho = np.linalg.norm(across)
    meridian = np.array([normal @ across / rho, normal @ guess[3:6]])
    if guess[8] < 0:
        own = np.array([1.0, -guess[7]]) / np.hypot(1.0, guess[7])
        off = (rho - guess[6] - guess[7] * zeta) / np.hypot(1.0, guess[7])
    else:
        own = np.array([rho - guess[6], zeta - guess[7]])
        off = np.linalg.norm(own) - guess[8]
        own = own / np.linalg.norm(own)
    return abs(off) <= near and abs(meridian @ own) >= aligned


@pytest.mark.parametrize("straight", [True, False])
def test_guesses_are_scored_as_their_slow_twin_scores_them(straight):
    chance = np.random.default_rng(4)
    points, normals = chance.normal(size=(300, 3)), chance.normal(size=(300, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    weights = chance.random(300)
    axes = chance.normal(size=(6, 3))
    axes /= np.linalg.norm(axes, axis=1, keepdims=True)
    last = np.full(6, -1.0) if straight else np.full(6, 0.8)
    guesses = np.column_stack(
        [chance.normal(size=(6, 3)) * 0.2, axes, np.full(6, 0.9), chance.normal(size=6) * 0.3, last]
    )
    scores = kernel.score_revolved(points, normals, weights, guesses, np.full(6, 0.4), 0.5)
    for g in range(6):
        agrees = np.array([_agrees_slowly(p, n, guesses[g], 0.4, 0.5) for p, n in zip(points, normals, strict=True)])
        assert 0 < agrees.sum() < 300
        assert scores[g] == pytest.approx(weights[agrees].sum())
        assert kernel.agreeing_points(points, normals, guesses[g], 0.4, 0.5).tolist() == agrees.tolist()


def test_walls_are_scored_by_the_plane_through_the_axis_and_the_point():
    chance = np.random.default_rng(5)
    points, normals = chance.normal(size=(400, 3)), chance.normal(size=(400, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    axis = np.array([0.6, 0.0, 0.8])
    across = np.cross(axis, points)
    rho = np.linalg.norm(across, axis=1)
    leaving = np.abs(np.einsum("ij,ij->i", normals, across)) / rho
    agrees = (leaving <= 0.3) & (np.abs(normals @ axis) <= 0.7) & (rho >= 0.5)
    axes = np.array([[0.0, 0.0, 0.0, *axis]])
    assert kernel.score_axes(points, normals, np.ones(400), axes, 0.3, 0.5)[0] == agrees.sum()
