"""Cavities side by side, against shapely's own distances and closed forms of squares and discs."""

from itertools import pairwise
from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.cavities.arrange import arrangements, grown_mm2
from firstpour.cavities.footprint import laid, least_gap_mm
from firstpour.cavities.values import Footprint

NONE = shapely.Point()
WALL_MM = 8.0


def anywhere(_):
    return True


def foot(shape, *, ways=NONE, turns=True):
    return Footprint(part=shape, ways=ways, row_ways=(ways, ways), turns=turns)


def test_squares_lie_a_wall_apart_in_the_squarest_block():
    found = arrangements(foot(shapely.box(0, 0, 20, 20)), wall_mm=WALL_MM, most=4, fits=anywhere)
    assert found[4].size_mm == pytest.approx([48.0, 48.0], abs=0.25)


def test_discs_in_staggered_rows_lie_closer_than_in_square_ones():
    """Rows of equal discs lie √3/2 of their pitch apart where every second one is moved by half (plain geometry)."""
    found = arrangements(foot(shapely.Point(0, 0).buffer(10, quad_segs=64)), wall_mm=WALL_MM, most=23, fits=anywhere)
    assert min(found[23].size_mm) < 3 * 28.0 + 20.0 - 1.0


def test_triangles_are_turned_by_halves_where_that_saves():
    triangle = shapely.Polygon([(0, 0), (60, 0), (0, 40)])
    turned, upright = (
        arrangements(foot(triangle, turns=turns), wall_mm=WALL_MM, most=2, fits=anywhere)[2]
        for turns in (True, False)
    )
    assert any(place.turn_deg for place in turned.places)
    assert grown_mm2(turned, WALL_MM) < 0.95 * grown_mm2(upright, WALL_MM)


def test_a_channel_that_leaves_by_a_side_allows_one_row_only():
    gate = shapely.box(9, 20, 11, 5000)
    found = arrangements(foot(shapely.box(0, 0, 20, 20), ways=gate), wall_mm=WALL_MM, most=3, fits=anywhere)
    assert found[3].size_mm[1] == pytest.approx(20.0)
    assert not any(place.turn_deg for place in found[3].places)


def test_numbers_end_where_the_mould_no_longer_fits():
    found = arrangements(
        foot(shapely.box(0, 0, 20, 20)), wall_mm=WALL_MM, most=9, fits=lambda one: one.size_mm.max() < 60.0
    )
    assert max(found) == 4


corners = st.lists(st.tuples(st.floats(0, 40), st.floats(0, 40)), min_size=4, max_size=9)


@settings(max_examples=25, deadline=None)
@given(corners=corners, wall_mm=st.floats(3, 12), hollow=st.booleans(), side=st.booleans())
def test_no_cavity_ever_lies_nearer_than_the_wall_nor_over_another(corners, wall_mm, hollow, side):
    shape = shapely.MultiPoint(corners).convex_hull.buffer(2.0)
    if hollow:
        shape = shape.difference(shapely.box(15, 15, 60, 25)).buffer(0)
    ways = shapely.box(19, 20, 21, 5000) if side else NONE
    one = foot(shape, ways=ways, turns=not side)
    found = arrangements(one, wall_mm=wall_mm, most=5, fits=anywhere)
    for count, made in found.items():
        assert len(made.places) == count
        assert least_gap_mm(one, made.places) >= wall_mm - 1e-6
        lying = [laid(shape, place, one.centre_mm) for place in made.places]
        assert shapely.union_all(lying).area == pytest.approx(count * shape.area, rel=1e-9)
        box = np.array(shapely.union_all(lying).bounds).reshape(2, 2)
        assert made.low_mm == pytest.approx(box[0])
        assert made.high_mm == pytest.approx(box[1])


def test_more_cavities_take_a_larger_block():
    found = arrangements(foot(shapely.Point(0, 0).buffer(12)), wall_mm=WALL_MM, most=12, fits=anywhere)
    areas = [grown_mm2(one, WALL_MM) for one in found.values()]
    assert all(later >= before - 1e-6 for before, later in pairwise(areas))
    assert areas[-1] > 12 * pi * 12.0**2
