"""Which draw is found and taken."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.part.part import Part
from firstpour.parting.draw import (
    choose_draw,
    draw_along,
    hemisphere,
    rank_draws,
    seams_on_show_mm,
    special_directions,
)
from mould_shapes import X, Y, Z, as_part, draw_of, l_bracket, sample, with_marks


def along(direction, axis):
    return abs(float(direction @ axis))


def test_the_best_draw_of_the_bollard_is_across_its_axis():
    best = rank_draws(sample("bollard"), directions=200, keep=5)[0]
    assert along(best.direction, Z) < 0.05
    assert best.undercut_mm3 < 1.0
    assert best.undercut_mm2 is None
    assert best.undercut_depth_mm is None


def test_draws_come_least_undercut_first():
    ranked = rank_draws(sample("hourglass"), directions=200, keep=10)
    noise_mm3 = 1.0
    voids = [draw.undercut_mm3 for draw in ranked]
    assert all(a <= b + noise_mm3 for a, b in pairwise(voids))
    assert len(ranked) == 10


def test_ranked_draws_are_distinct_up_to_sign():
    ranked = rank_draws(sample("torus"), directions=200, keep=10)
    turned = np.array([draw.direction for draw in ranked])
    cosines = np.abs(turned @ turned.T) - 2 * np.eye(10)
    assert cosines.max() < np.cos(np.radians(0.4))


def two_show_faces():
    """A cube whose +x and +y faces are on show: the seam may not run along the edge between them."""
    cube = sample("cube").mesh
    one, other = with_marks("cube", cube, show=X), with_marks("cube", cube, show=Y)
    return Part(name="cube", mesh=cube, marks=one.marks | other.marks)


def test_the_seam_is_on_show_only_where_the_draw_brings_it_between_two_show_faces():
    part = two_show_faces()
    across = np.array([X - Y, X + Y]) / np.sqrt(2)
    assert seams_on_show_mm(part, across)[0] == pytest.approx(20.0)
    assert seams_on_show_mm(part, across)[1] == 0.0


def taken(part):
    return choose_draw(part, rank_draws(part, directions=200), wall_mm=8.0)


def test_the_draw_taken_leaves_the_edge_between_show_faces_alone():
    chosen = taken(two_show_faces())
    assert chosen.undercut_mm3 == 0.0
    assert chosen.seam_on_show_mm == 0.0


def test_the_seam_on_show_of_a_cube_is_counted_where_it_must_run():
    """Drawn along z, the seam crosses no face of a cube: it runs on edges."""
    cube = sample("cube").mesh
    plain = with_marks("cube", cube)
    everything = Part(name="cube", mesh=cube, marks=np.ones(len(cube.faces), np.uint8))
    assert seams_on_show_mm(everything, Z[None]) == pytest.approx(80.0)
    assert seams_on_show_mm(plain, Z[None]) == 0.0


def test_the_draw_of_a_bracket_can_be_each_of_the_ways_its_walls_run():
    for axis in (X, Y, Z):
        assert draw_along(as_part("bracket", l_bracket()), axis).undercut_mm3 == pytest.approx(0.0, abs=1e-6)


@given(count=st.integers(1, 500))
@settings(max_examples=25, deadline=None)
def test_directions_of_the_sweep_are_unit_and_point_up(count):
    d = hemisphere(count)
    assert d.shape == (count, 3)
    assert np.linalg.norm(d, axis=1) == pytest.approx(1.0)
    assert (d[:, 2] > 0).all()


def test_directions_of_the_sweep_are_spread_evenly():
    """The mean of z over a hemisphere is 1/2, and of x² is 1/3 (closed forms)."""
    d = hemisphere(1000)
    assert d[:, 2].mean() == pytest.approx(0.5, abs=1e-3)
    assert (d[:, 0] ** 2).mean() == pytest.approx(1 / 3, abs=2e-3)


def test_the_flat_faces_of_a_tilted_box_are_tried_exactly():
    d = special_directions(sample("tilted box").mesh)
    best = rank_draws(sample("tilted box"), directions=50, keep=3)
    assert len(d) >= 6
    assert best[0].undercut_mm3 == 0.0


@pytest.mark.parametrize(("directions", "keep"), [(0, 5), (5, 0), (-1, 1)])
def test_a_sweep_of_nothing_is_refused_with_a_remedy(directions, keep):
    with pytest.raises(BadRequest) as refused:
        rank_draws(sample("cube"), directions=directions, keep=keep)
    assert refused.value.remedy


def test_a_draw_without_a_length_is_refused():
    with pytest.raises(BadRequest, match="direction"):
        draw_along(sample("cube"), np.zeros(3))


def test_a_draw_names_what_each_face_is_reached_from():
    draw = draw_of("cube", (0.0, 0.0, 1.0))
    assert draw.reach.shape == (12,)
    assert draw.height_mm == pytest.approx(20.0)
