"""Nests of different silhouettes against shapely's own distances and areas."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.cavities import nest as room
from firstpour.cavities.footprint import laid
from firstpour.cavities.nest import in_a_row, least_apart_mm, nest
from firstpour.cavities.values import Footprint

WALL_MM = 8.0
NOTHING = shapely.Polygon()
ELL = shapely.Polygon([(0, 0), (38, 0), (38, 9), (9, 9), (9, 30), (0, 30)])
WEDGE = shapely.Polygon([(0, 0), (40, 0), (20, 9)])
DISC = shapely.Point(3, 4).buffer(11)
RING = DISC.difference(shapely.Point(3, 4).buffer(5))
ROOMY_MM = np.array([400.0, 400.0])


def foot(shape, ways=NOTHING):
    return Footprint(part=shape, ways=ways, row_ways=(NOTHING, NOTHING), turns=True)


def shapes_of(feet, made):
    return [laid(feet[one.part].part, one.place, feet[one.part].centre_mm) for one in made.copies]


def test_an_ell_a_wedge_and_a_ring_lie_apart_in_less_than_a_row_takes():
    feet = [foot(ELL), foot(WEDGE), foot(RING)]
    made, row = nest(feet, [2, 1, 2], wall_mm=WALL_MM, room_mm=ROOMY_MM), in_a_row(feet, [2, 1, 2], wall_mm=WALL_MM)
    shapes = shapes_of(feet, made)
    assert [one.part for one in made.copies] == [0, 0, 1, 2, 2]
    gaps = [a.distance(b) for k, a in enumerate(shapes) for b in shapes[:k]]
    assert min(gaps) >= WALL_MM - 1e-6
    assert [one.area for one in shapes] == pytest.approx([ELL.area, ELL.area, WEDGE.area, RING.area, RING.area])
    assert np.prod(made.size_mm + 2 * WALL_MM) < 0.9 * np.prod(row.size_mm + 2 * WALL_MM)
    box = shapely.union_all(shapes).bounds
    assert made.box_mm.ravel() == pytest.approx(box)


def test_what_leaves_one_part_keeps_the_wall_to_the_others():
    """A channel that runs out to one side of the ell: nothing may lie across it."""
    way = shapely.LineString([(30, 4), (30, -25)]).buffer(3)
    feet = [foot(ELL, way), foot(RING)]
    made = nest(feet, [1, 3], wall_mm=WALL_MM, room_mm=ROOMY_MM)
    shapes = shapes_of(feet, made)
    laid_way = laid(way, made.copies[0].place, feet[0].centre_mm)
    assert min(laid_way.distance(other) for other in shapes[1:]) >= WALL_MM - 1e-6
    assert least_apart_mm(feet, made.copies) >= WALL_MM - 1e-6


def test_a_row_lies_exactly_one_wall_apart():
    feet = [foot(shapely.box(0, 0, 30, 10)), foot(shapely.box(5, 5, 17, 25))]
    row = in_a_row(feet, [2, 1], wall_mm=WALL_MM)
    assert row.size_mm == pytest.approx([10 + 8 + 10 + 8 + 12, 30])  # the long side of each across the row
    assert least_apart_mm(feet, row.copies) == pytest.approx(WALL_MM)


@settings(deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(3, 60), st.floats(3, 60)), min_size=2, max_size=5),
    wall_mm=st.floats(2, 20),
)
def test_rows_of_any_boxes_keep_the_wall(sizes, wall_mm):
    feet = [foot(shapely.box(0, 0, *size)) for size in sizes]
    row = in_a_row(feet, [1] * len(sizes), wall_mm=wall_mm)
    assert least_apart_mm(feet, row.copies) == pytest.approx(wall_mm, abs=1e-6)


def test_a_nest_keeps_to_a_narrow_bed_where_a_smaller_one_would_not():
    feet = [foot(shapely.box(0, 0, 60, 6)), foot(shapely.box(0, 0, 50, 6))]
    narrow = nest(feet, [2, 2], wall_mm=WALL_MM, room_mm=np.array([62.0, 200.0]))
    assert (np.sort(narrow.size_mm) <= [62.0, 200.0]).all()


def test_where_the_search_finds_no_first_place_the_row_is_left(monkeypatch):
    class PanicException(BaseException):
        pass

    class Stuck:
        def __init__(self, *_, **__):
            pass

        def solve(self, _):
            raise PanicException

    monkeypatch.setattr(room.spyrrow, "StripPackingInstance", Stuck)
    feet = [foot(ELL), foot(RING)]
    made, row = nest(feet, [1, 1], wall_mm=WALL_MM, room_mm=ROOMY_MM), in_a_row(feet, [1, 1], wall_mm=WALL_MM)
    assert made.size_mm == pytest.approx(row.size_mm)


def test_other_troubles_of_the_search_are_not_hidden(monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    ended = type("Ended", (), {"__init__": lambda *_, **__: None, "solve": interrupted})
    monkeypatch.setattr(room.spyrrow, "StripPackingInstance", ended)
    with pytest.raises(KeyboardInterrupt):
        nest([foot(ELL), foot(RING)], [1, 1], wall_mm=WALL_MM, room_mm=ROOMY_MM)
