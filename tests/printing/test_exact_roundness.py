"""The reference circles of the tests against other people's code and values."""

import circle_fit
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from exact_roundness import least_squares_roundness, minimum_zone_roundness
from firstpour.errors import OutOfRange

COOKBOOK = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]
"""The points of the SciPy cookbook's recipe on fitting a circle (from memory)."""


def test_the_least_squares_circle_is_that_of_the_scipy_cookbook():
    found = least_squares_roundness(COOKBOOK)
    assert found.centre_mm == pytest.approx((10.500086, 9.659950), abs=2e-6)
    assert found.radius_mm == pytest.approx(23.333528, abs=1e-6)
    assert found.zone_mm == pytest.approx(3.126465, abs=2e-6)


def test_the_least_squares_circle_is_that_of_the_circle_fit_library():
    x, y, radius, _ = circle_fit.least_squares_circle(np.array(COOKBOOK, dtype=float))
    found = least_squares_roundness(COOKBOOK)
    assert (*found.centre_mm, found.radius_mm) == pytest.approx((x, y, radius), rel=1e-5)


def test_the_minimum_zone_of_the_cookbook_set_is_the_recomputed_one():
    # recomputed by direct search, checks.md
    found = minimum_zone_roundness(COOKBOOK)
    assert found.zone_mm == pytest.approx(2.924592, abs=1e-6)
    assert found.centre_mm == pytest.approx((10.253633, 9.274769), abs=1e-4)


def test_the_minimum_zone_is_what_a_general_search_finds():
    # scipy's Nelder-Mead from several starts, on profiles with a few waves and some noise
    for number in range(4):
        noise = np.random.default_rng(number)
        angle = np.linspace(0, 2 * np.pi, 180, endpoint=False)
        radius = 20 + 0.05 * np.cos(3 * angle + number) + 0.01 * noise.normal(size=180)
        points = np.stack([radius * np.cos(angle) + 1.5, radius * np.sin(angle) - 2.5], axis=1)

        def zone(centre, points=points):
            return np.ptp(np.hypot(*(points - centre).T))

        searched = min(
            minimize(
                zone, np.array([1.5, -2.5]) + shift, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}
            ).fun
            for shift in noise.normal(scale=0.02, size=(4, 2))
        )
        assert minimum_zone_roundness(points).zone_mm <= searched + 1e-7
        assert minimum_zone_roundness(points).zone_mm == pytest.approx(searched, rel=2e-3)


@pytest.mark.parametrize(("sides", "deviation"), [(12, 0.340742), (24, 0.085551), (48, 0.021411)])
def test_a_regular_polygon_leaves_its_circle_by_the_closed_form(sides, deviation):
    # R(1 − cos π/N), R = 10
    angle = np.arange(0, 2 * np.pi, np.pi / sides)
    radius = np.where(np.arange(len(angle)) % 2 == 0, 10.0, 10.0 * np.cos(np.pi / sides))
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    assert minimum_zone_roundness(points).zone_mm == pytest.approx(deviation, abs=5e-7)
    assert least_squares_roundness(points).zone_mm == pytest.approx(deviation, abs=5e-7)


def test_a_three_lobed_profile_is_out_of_round_though_every_diameter_is_the_same():
    # r = 10 + 0.05 cos 3θ: the classic case against measuring diameters (textbook, from memory)
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    radius = 10 + 0.05 * np.cos(3 * angle)
    diameters = radius[:360] + radius[360:]
    assert np.ptp(diameters) == pytest.approx(0.0, abs=1e-12)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    assert minimum_zone_roundness(points).zone_mm == pytest.approx(0.1, abs=1e-5)


@settings(max_examples=20, deadline=None)
@given(
    waves=st.lists(st.floats(-0.1, 0.1), min_size=2, max_size=6),
    shift=st.tuples(st.floats(-50, 50), st.floats(-50, 50)),
)
def test_the_minimum_zone_is_never_above_the_least_squares_zone_and_moves_with_the_part(waves, shift):
    # ISO 12181-1: minimum zone ≤ any other reference circle (from memory)
    angle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    radius = 8 + sum(a * np.cos((k + 2) * angle) for k, a in enumerate(waves))
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    narrow, least = minimum_zone_roundness(points), least_squares_roundness(points)
    assert narrow.zone_mm <= least.zone_mm + 1e-12
    moved = minimum_zone_roundness(points + np.array(shift))
    assert moved.zone_mm == pytest.approx(narrow.zone_mm, abs=1e-6)


@pytest.mark.parametrize("points", [[(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2)], [(0, 0), (1, 0), (0, np.nan)]])
def test_points_that_make_no_circle_are_refused(points):
    with pytest.raises(OutOfRange):
        minimum_zone_roundness(points)
