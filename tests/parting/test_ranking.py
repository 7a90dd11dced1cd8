"""Which of two draws comes first: the order of the reasons, and each weight, held by pairs that tip at it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.parting.ranking import best_first, stretch_band, trouble_mm
from firstpour.parting.values import DrawOrigin, RankedDraw

PLAIN = RankedDraw(
    direction=np.array([0.0, 0.0, 1.0]),
    undercut_mm3=0.0,
    seam_on_show_mm=0.0,
    height_mm=20.0,
    pitch_mm=0.1,
    seam_mm=100.0,
    silicone_ml=27.0,
    origin=DrawOrigin.SWEEP,
)
SIZE_MM = 50.0
"""Trouble counts in steps of 5 mm."""


def first(*draws):
    return best_first(draws, size_mm=SIZE_MM, noise_mm3=1.0)[0]


def wins(better, worse):
    """Whichever way they come, the better is first."""
    return first(better, worse) is better and first(worse, better) is better


CHAIN = [
    (replace(PLAIN, stretch_ratio=1.9), replace(PLAIN, locked_loops=1)),
    (replace(PLAIN, seam_mm=900.0), replace(PLAIN, stretch_ratio=0.1)),
    (replace(PLAIN, undercut_mm3=900.0), replace(PLAIN, seam_mm=106.0)),
    (replace(PLAIN, undercut_mm3=900.0, origin=DrawOrigin.FLAT), PLAIN),
    (replace(PLAIN, undercut_mm3=900.0, origin=DrawOrigin.AXIS), PLAIN),
    (replace(PLAIN, origin=DrawOrigin.ROUND), replace(PLAIN, origin=DrawOrigin.AXIS)),
    (PLAIN, replace(PLAIN, undercut_mm3=1.0)),
    (replace(PLAIN, locked_loops=1), replace(PLAIN, locked_loops=2)),
    (replace(PLAIN, locked_loops=1, stretch_ratio=0.9), replace(PLAIN, locked_loops=2)),
    (replace(PLAIN, stretch_ratio=0.19), replace(PLAIN, stretch_ratio=0.2)),
    (replace(PLAIN, origin=DrawOrigin.FLAT, locked_loops=9), replace(PLAIN, locked_loops=1)),
    (replace(PLAIN, origin=DrawOrigin.FLAT, stretch_ratio=9.0), replace(PLAIN, stretch_ratio=2.0)),
    (replace(PLAIN, stretch_ratio=1.99), replace(PLAIN, origin=DrawOrigin.FLAT, stretch_ratio=2.0)),
    (PLAIN, replace(PLAIN, origin=DrawOrigin.FLAT, locked_loops=1)),
]
"""Pairs of a better and a worse draw; each says which reason goes before which."""


@pytest.mark.parametrize(("better", "worse"), CHAIN)
def test_one_reason_goes_before_the_other(better, worse):
    assert wins(better, worse)


def test_a_tenth_of_stretch_is_free():
    """Less trouble decides between two that both give a tenth or less."""
    assert wins(replace(PLAIN, stretch_ratio=0.099), replace(PLAIN, seam_mm=106.0))


WEIGHTS = {"seam_mm": 1.0, "seam_on_show_mm": 3.0, "seam_rise_mm": 2.0, "bore_seam_mm": 4.0, "height_mm": 4.0}
"""mm of seam that a mm of each is worth (decision 0021)."""


@pytest.mark.parametrize(("name", "weight"), WEIGHTS.items())
@given(more_mm=st.floats(0.1, 500.0))
@settings(max_examples=20, deadline=None)
def test_each_mm_is_worth_so_many_mm_of_seam(name, weight, more_mm):
    more = replace(PLAIN, **{name: getattr(PLAIN, name) + more_mm})
    assert trouble_mm(more) - trouble_mm(PLAIN) == pytest.approx(weight * more_mm)


@given(times=st.floats(1.1, 20.0))
@settings(max_examples=20, deadline=None)
def test_silicone_counts_by_twice_the_side_of_its_cube(times):
    """27 ml is a cube of 30 mm."""
    more = replace(PLAIN, silicone_ml=27.0 * times**3)
    assert trouble_mm(more) - trouble_mm(PLAIN) == pytest.approx(2.0 * 30.0 * (times - 1.0))


@pytest.mark.parametrize(("stretch", "band"), [(0.0, 0), (0.0999, 0), (0.1, 1), (0.3, 3), (0.95, 9), (1.99, 19)])
def test_stretch_counts_in_tenths(stretch, band):
    assert stretch_band(replace(PLAIN, stretch_ratio=stretch)) == band


@pytest.mark.parametrize("stretch", [2.0, 2.7, 10.0])
def test_beyond_twice_what_is_allowed_all_stretch_is_one(stretch):
    assert stretch_band(replace(PLAIN, stretch_ratio=stretch)) == 20


def test_less_than_a_step_of_trouble_is_no_difference():
    named = replace(PLAIN, origin=DrawOrigin.FLAT, seam_mm=104.9)
    assert wins(named, replace(PLAIN, origin=DrawOrigin.AXIS))
    assert wins(replace(PLAIN, origin=DrawOrigin.AXIS), replace(named, seam_mm=105.1))


def test_askew_must_save_a_tenth_of_the_trouble():
    """240 mm in all count as 264; the named one is 5 mm, a step, above or below that."""
    named = replace(PLAIN, origin=DrawOrigin.FLAT)
    assert wins(replace(named, seam_mm=128.9), PLAIN)
    assert wins(PLAIN, replace(named, seam_mm=129.1))


def test_stretch_that_is_easy_along_an_axis_is_not_saved_askew():
    axis, askew = replace(PLAIN, origin=DrawOrigin.ROUND), replace(PLAIN, seam_mm=200.0)
    assert wins(replace(axis, stretch_ratio=0.29), askew)
    assert wins(askew, replace(axis, stretch_ratio=0.31))
    assert wins(askew, replace(axis, stretch_ratio=0.29, locked_loops=1))
    assert wins(replace(axis, seam_mm=900.0), replace(axis, stretch_ratio=0.29))


def test_of_two_easy_axes_the_one_that_stretches_less_is_the_measure():
    """Askew is put level with the 15 %, behind which the 25 % come whatever their trouble: then trouble decides."""
    less = replace(PLAIN, origin=DrawOrigin.ROUND, stretch_ratio=0.15, seam_mm=200.0)
    more = replace(PLAIN, origin=DrawOrigin.FLAT, stretch_ratio=0.25, seam_mm=20.0)
    assert first(less, more, PLAIN) is PLAIN
    assert first(more, PLAIN, less) is PLAIN


def test_askew_beats_an_easy_axis_where_the_trouble_is_much_less():
    axis = replace(PLAIN, origin=DrawOrigin.ROUND, stretch_ratio=0.29, seam_mm=200.0)
    assert wins(PLAIN, axis)


def order(*draws, noise_mm3):
    ranked = best_first(draws, size_mm=SIZE_MM, noise_mm3=noise_mm3)
    return [next(n for n, draw in enumerate(draws) if draw is one) for one in ranked]


@pytest.mark.parametrize(("void_mm3", "numbers"), [(1.9, [0, 1]), (2.1, [1, 0]), (7.9, [1, 0])])
def test_void_counts_in_steps_of_the_noise(void_mm3, numbers):
    """Rounded to the nearest of steps of 4 mm³; of equals the first stays first."""
    assert order(replace(PLAIN, undercut_mm3=void_mm3), PLAIN, noise_mm3=4.0) == numbers


def test_where_silicone_stays_in_what_the_part_names_goes_before_an_axis_of_the_file_and_that_before_fewer_loops():
    named = replace(PLAIN, origin=DrawOrigin.FLAT, locked_loops=9)
    axis = replace(PLAIN, origin=DrawOrigin.AXIS, locked_loops=1)
    assert wins(named, axis)
    assert wins(axis, replace(axis, locked_loops=2))


def test_trouble_is_reckoned_from_the_least_of_all_that_stretch_alike():
    """Steps of 5 mm from the least: 102 and 104 are one step whatever comes after them."""
    named, plain = replace(PLAIN, origin=DrawOrigin.FLAT, seam_mm=104.0), replace(PLAIN, seam_mm=102.0)
    assert wins(named, plain)
    assert first(PLAIN, named, replace(PLAIN, seam_mm=112.0)) is named
    assert first(replace(PLAIN, seam_mm=112.0), named, PLAIN) is named
