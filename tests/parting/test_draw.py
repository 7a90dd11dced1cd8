"""Which draw is found and taken."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from draw_shapes import ORDINARY
from families.catalogue import family_part
from firstpour.errors import BadRequest
from firstpour.part.part import Part
from firstpour.parting.draw import (
    choose_draw,
    draw_along,
    hemisphere,
    rank_draws,
)
from firstpour.parting.ranking import stretch_band
from firstpour.parting.seam_estimate import estimate_seam, seam_edges
from firstpour.parting.values import Draw, DrawOrigin, Way
from firstpour.values import frame_along, turned
from mould_shapes import X, Y, Z, as_part, draw_of, l_bracket, sample, with_marks


def along(direction, axis):
    return abs(float(direction @ axis))


def test_the_best_draw_of_the_bollard_is_across_its_axis():
    best = rank_draws(sample("bollard"), directions=200, keep=5)[0]
    assert along(best.direction, Z) < 0.05
    assert best.undercut_mm3 < 1.0


def test_the_draw_taken_is_the_first_of_the_ranking_with_its_reason_worked_out_closely():
    part = sample("hourglass")
    first = rank_draws(part, directions=200)[0]
    taken = choose_draw(part, [first])
    assert not isinstance(first, Draw)
    assert (taken.direction is first.direction, taken.origin, taken.reason) == (True, first.origin, first.reason)
    assert (taken.seam_mm, taken.silicone_ml) == (first.seam_mm, first.silicone_ml)
    assert taken.undercut_mm3 == pytest.approx(sum(one.volume_mm3 for one in taken.regions), rel=1e-3, abs=0.5)
    assert taken.reach.shape == (len(part.mesh.faces),)


def test_draws_come_by_what_is_locked_then_by_stretch():
    ranked = rank_draws(sample("hourglass"), directions=200, keep=30)
    keys = [(draw.locked_loops, stretch_band(draw)) for draw in ranked]
    assert keys == sorted(keys)
    assert len(set(keys)) > 1


def test_ranked_draws_are_distinct_up_to_sign():
    ranked = rank_draws(sample("torus"), directions=200, keep=10)
    turned = np.array([draw.direction for draw in ranked])
    cosines = np.abs(turned @ turned.T) - 2 * np.eye(len(turned))
    assert cosines.max() < np.cos(np.radians(0.4))


def test_directions_with_a_name_are_shown_however_few_are_kept():
    ranked = rank_draws(sample("torus"), directions=200, keep=1)
    names = [draw.origin for draw in ranked[1:]]
    assert names
    assert DrawOrigin.SWEEP not in names
    assert all(draw.reason for draw in ranked)


CASTERS = {
    "wheel": Z,
    "spoked wheel": Z,
    "treaded tyre": Z,
    "slanted tyre": Z,
    "bowl": Z,
    "gear": Z,
    "pulley": Z,
    "bottle": Z,
    "jug": Z,
    "knob": Z,
    "bracket": X + Z,
    "lattice": None,
}
"""The draw that a caster would take (common practice, no source): along the axle;
a bracket with holes in both flanges halfway between them; a lattice along any of its axes."""


@pytest.mark.parametrize("name", list(CASTERS))
@pytest.mark.parametrize("seed", [None, 3])
def test_parts_open_as_a_caster_would_open_them_however_their_file_lies(name, seed):
    part, rotation = as_part(name, ORDINARY[name]()), np.eye(3)
    if seed is not None:
        rotation = frame_along(np.random.default_rng(seed).normal(size=3))
        part = Part(name=name, mesh=turned(part.mesh, rotation=rotation), marks=part.marks)
    chosen = rank_draws(part, directions=400)[0]
    wanted = np.eye(3) if CASTERS[name] is None else [CASTERS[name] / np.linalg.norm(CASTERS[name])]
    assert max(along(chosen.direction @ rotation, axis) for axis in wanted) > np.cos(np.radians(1.0))
    assert chosen.origin is not DrawOrigin.SWEEP


@pytest.mark.parametrize(
    "name", ["wheel", "tyre-slanted", "tyre-recess", "bowl", "gear", "pulley", "tube", "dome", "fan"]
)
@pytest.mark.parametrize("seed", [None, 5])
def test_round_families_open_along_their_axis(name, seed):
    part = family_part(name, size_mm=50.0, turn_seed=seed)
    plain = family_part(name, size_mm=50.0)
    chosen = rank_draws(part, directions=300)[0]
    flattest = rank_draws(plain, directions=300)[0]
    assert along(flattest.direction, Z) > np.cos(np.radians(0.5))
    assert chosen.height_mm == pytest.approx(flattest.height_mm, rel=0.01)
    assert chosen.bore_seam_mm == 0.0


def test_a_plug_in_each_of_five_windows_is_no_plug_of_the_whole_ring():
    """The groove inside a rim opens into all windows between the spokes; each lets out its own share."""
    draw = draw_along(family_part("wheel", size_mm=50.0), Z)
    assert draw.locked_loops == 0
    assert draw.squeeze_ratio < 0.1
    lip = next(region.stretch for region in draw.regions if region.stretch.way is Way.LIP)
    assert lip.stretch_ratio == pytest.approx(1.0 / 0.93 - 1.0, abs=0.005)


def test_a_mug_opens_where_its_handle_and_its_core_come_free():
    """Along the cup's axis the handle locks a ring; square to the handle the core is buried on its side."""
    ranked = rank_draws(as_part("mug", ORDINARY["mug"]()), directions=400)
    assert ranked[0].locked_loops == 0
    assert ranked[0].stretch_ratio < 0.5
    axis = next(draw for draw in ranked if along(draw.direction, Z) > 0.9999)
    across = next(draw for draw in ranked if along(draw.direction, Y) > 0.9999)
    assert axis.locked_loops == 1
    assert across.locked_loops == 0
    assert across.stretch_ratio > 0.5


@pytest.mark.parametrize("name", ["wheel", "spoked wheel", "gear", "pulley"])
def test_a_bore_stays_whole_and_its_pin_in_one_half(name):
    chosen, *others = rank_draws(as_part(name, ORDINARY[name]()), directions=200)
    assert chosen.bore_seam_mm == 0.0
    assert chosen.locked_loops == 0
    assert max(draw.bore_seam_mm for draw in others) > 0.0


def test_the_box_around_a_wheel_is_the_smallest_along_its_axle():
    chosen, *others = rank_draws(as_part("wheel", ORDINARY["wheel"]()), directions=200)
    box_mm3 = (80.0 + 16.0) ** 2 * (12.0 + 16.0)
    part_mm3 = ORDINARY["wheel"]().volume()
    assert chosen.silicone_ml == pytest.approx((box_mm3 - part_mm3) / 1e3, rel=0.01)
    assert chosen.silicone_ml < min(draw.silicone_ml for draw in others if draw.origin is DrawOrigin.SWEEP)


def two_show_faces():
    """A cube whose +x and +y faces are on show: the seam may not run along the edge between them."""
    cube = sample("cube").mesh
    one, other = with_marks("cube", cube, show=X), with_marks("cube", cube, show=Y)
    return Part(name="cube", mesh=cube, marks=one.marks | other.marks)


def on_show_mm(part, direction):
    return estimate_seam(seam_edges(part), direction).on_show_mm


def test_the_seam_is_on_show_only_where_the_draw_brings_it_between_two_show_faces():
    part = two_show_faces()
    across = np.array([X - Y, X + Y]) / np.sqrt(2)
    assert on_show_mm(part, across[0]) == pytest.approx(20.0)
    assert on_show_mm(part, across[1]) == 0.0


def taken(part):
    return choose_draw(part, rank_draws(part, directions=200))


def test_the_draw_taken_leaves_the_edge_between_show_faces_alone():
    chosen = taken(two_show_faces())
    assert chosen.undercut_mm3 == 0.0
    assert chosen.seam_on_show_mm == 0.0


def test_the_seam_on_show_of_a_cube_is_counted_where_it_must_run():
    """Drawn along z, the seam crosses no face of a cube: it runs on edges."""
    cube = sample("cube").mesh
    plain = with_marks("cube", cube)
    everything = Part(name="cube", mesh=cube, marks=np.ones(len(cube.faces), np.uint8))
    assert on_show_mm(everything, Z) == pytest.approx(80.0)
    assert on_show_mm(plain, Z) == 0.0


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
    best = rank_draws(sample("tilted box"), directions=50, keep=3)
    assert best[0].origin is not DrawOrigin.SWEEP
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
