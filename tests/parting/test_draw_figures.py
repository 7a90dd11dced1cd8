"""The figures of a draw against closed forms: silicone around it, its undercuts taken together, what is swept."""

import manifold3d
import numpy as np
import pytest

from draw_shapes import ORDINARY
from firstpour.kernels.dexels import sweep_voids
from firstpour.part.part import Part
from firstpour.parting.draw import choose_draw, draw_along, hemisphere, rank_draws
from firstpour.parting.ranking import trouble_mm
from firstpour.parting.stretch import Give
from firstpour.parting.values import DrawOrigin, Way
from firstpour.samples.samples import Sample, sample_part
from firstpour.surface.solids import from_solid
from firstpour.values import frame_along, turned
from mould_shapes import X, Y, Z, as_part

Solid = manifold3d.Manifold


def test_the_sweep_is_a_spiral_by_the_golden_angle_over_half_a_ball():
    """Level bands of equal height have equal areas (Archimedes); the golden angle is 137.5077640° (any handbook)."""
    ups = hemisphere(40)
    assert np.linalg.norm(ups, axis=1) == pytest.approx(np.ones(40))
    assert ups[:, 2] == pytest.approx(1.0 - (np.arange(40) + 0.5) / 40.0)
    turns = np.degrees(np.arctan2(ups[:, 1], ups[:, 0]))
    assert np.diff(turns) % 360.0 == pytest.approx(np.full(39, 137.5077640), abs=1e-6)
    assert turns[0] == pytest.approx(137.5077640 / 2.0)


@pytest.mark.parametrize(("give", "wall_mm"), [(None, 8.0), (Give(wall_mm=10.0), 10.0)])
@pytest.mark.parametrize("ranked", [False, True])
def test_silicone_is_the_smallest_box_around_the_part_with_its_walls_less_the_part(give, wall_mm, ranked):
    """A box of 40 × 30 × 20 that lies turned by 30° about the draw."""
    part = as_part("box", Solid.cube((40.0, 30.0, 20.0)).rotate((0.0, 0.0, 30.0)))
    sides = np.array([40.0, 30.0, 20.0])
    expected_ml = (np.prod(sides + 2.0 * wall_mm) - np.prod(sides)) / 1000.0
    if not ranked:
        assert draw_along(part, Z, give=give).silicone_ml == pytest.approx(expected_ml)
        return
    of_all = [one.silicone_ml for one in rank_draws(part, directions=4, keep=3, give=give)]
    assert of_all[:3] == pytest.approx([expected_ml] * 3, rel=1e-6)


def test_the_box_around_a_part_is_that_along_the_draw_however_the_part_lies():
    sides, rotation = np.array([40.0, 30.0, 20.0]), frame_along(np.array([3.0, -2.0, 4.0]))
    mesh = turned(from_solid(Solid.cube(tuple(sides))), rotation=rotation)
    part = Part(name="box", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))
    expected_ml = (np.prod(sides + 16.0) - np.prod(sides)) / 1000.0
    for axis in np.eye(3):
        assert draw_along(part, rotation @ axis).silicone_ml == pytest.approx(expected_ml, rel=1e-5)


def grooved():
    """A block with a groove of 2 mm in one side and one of 5 mm in the other, and a plug's pot on top of it."""
    block = Solid.cube((60.0, 60.0, 30.0), True)
    for depth, side in ((2.0, 1.0), (5.0, -1.0)):
        block -= Solid.cube((2.0 * depth, 80.0, 6.0), True).translate((side * 30.0, 0.0, 0.0))
    return as_part("grooved", block)


def test_the_deepest_undercut_and_the_most_stretched_count_for_the_draw():
    draw = draw_along(grooved(), Z)
    depths = sorted(region.depth_mm for region in draw.regions)
    assert depths == pytest.approx([2.0, 5.0], abs=0.3)
    assert draw.undercut_depth_mm == max(depths)
    assert draw.undercut_mm3 == pytest.approx((2.0 + 5.0) * 6.0 * 60.0, rel=0.02)
    assert draw.stretch_ratio == max(region.stretch.stretch_ratio for region in draw.regions)
    assert len({region.stretch.stretch_ratio for region in draw.regions}) == 2
    assert (draw.squeeze_ratio, draw.locked_loops) == (0.0, 0)


def test_the_ranking_reckons_with_the_same_worst_undercut():
    draws = rank_draws(grooved(), directions=4, keep=2)
    (along,) = [one for one in draws if abs(one.direction @ Z) > 0.9999]
    assert along.stretch_ratio == pytest.approx(draw_along(grooved(), Z).stretch_ratio, rel=0.15)


def test_a_plug_squeezed_beside_a_groove_that_is_not_counts_for_the_draw():
    """A jug with a neck of 36 over 44 is squeezed by 1 − 36/44; a groove around its foot only stretches."""
    ring = Solid.cylinder(6.0, 40.0, 40.0, 96) - Solid.cylinder(6.0, 24.0, 24.0, 96)
    part = as_part("jug", ORDINARY["jug"]() - ring.translate((0.0, 0.0, 20.0)))
    draw = draw_along(part, Z)
    squeezes = [region.stretch.squeeze_ratio for region in draw.regions]
    assert min(squeezes) == 0.0
    assert draw.squeeze_ratio == max(squeezes) == pytest.approx(1.0 - 36.0 / 44.0, abs=0.02)


def test_a_void_shut_in_counts_as_a_loop_and_has_no_depth():
    part = as_part("hollow", Solid.cube((20.0, 20.0, 20.0), True) - Solid.cube((6.0, 6.0, 6.0), True))
    draw = draw_along(part, Z)
    assert [region.stretch.way for region in draw.regions] == [Way.SHUT]
    assert (draw.locked_loops, draw.stretch_ratio, draw.undercut_depth_mm) == (1, 0.0, 0.0)
    assert draw.undercut_mm3 == pytest.approx(216.0, rel=0.01)


def test_a_plain_cube_asks_nothing():
    draw = draw_along(as_part("cube", Solid.cube((20.0, 20.0, 20.0), True)), Z)
    assert (draw.undercut_mm3, draw.undercut_depth_mm, draw.stretch_ratio) == (0.0, 0.0, 0.0)
    assert (draw.squeeze_ratio, draw.locked_loops) == (0.0, 0)
    assert draw.height_mm == pytest.approx(20.0, abs=0.1)


def test_the_wall_that_swings_aside_counts_wherever_a_draw_is_worked_out():
    """Shallow folds are passed by the skin of the silicone: depth over wall, half as much at twice the wall."""
    part, thick = sample_part(Sample.BOLLARD), Give(wall_mm=16.0)
    thin, wide = (draw_along(part, Y, give=give) for give in (None, thick))
    assert thin.stretch_ratio == pytest.approx(2.0 * wide.stretch_ratio, rel=0.05)
    again = choose_draw(part, [thin], give=thick)
    assert again.stretch_ratio == wide.stretch_ratio
    assert choose_draw(part, [wide]).stretch_ratio == thin.stretch_ratio


def test_the_first_of_the_ranked_is_taken():
    part = grooved()
    ranked = rank_draws(part, directions=4, keep=3)
    np.testing.assert_array_equal(choose_draw(part, ranked[::-1]).direction, ranked[-1].direction)


def rock(*, size=1.0):
    """A lump without an axis or a plane of its own, with a hole that leans."""
    corners = np.random.default_rng(8).normal(size=(30, 3)) * [14.0, 11.0, 9.0]
    hole = Solid.cylinder(60.0, 3.0, 3.0, 24, True).rotate((25.0, 40.0, 0.0))
    return as_part("rock", (Solid.hull_points(corners.tolist()) - hole).scale((size, size, size)))


@pytest.mark.parametrize(("keep", "size"), [(5, 1.0), (40, 1.0), (40, 0.1)])
def test_the_directions_of_the_sweep_with_the_least_void_are_tried_until_there_are_twenty_or_as_many_as_kept(
    keep, size
):
    part = rock(size=size)
    ranked = rank_draws(part, directions=90, keep=keep)
    swept = [one.direction for one in ranked if one.origin is DrawOrigin.SWEEP]
    named = len(ranked) - len(swept)
    around = hemisphere(90)
    frames = np.array([frame_along(one) for one in around])
    void_mm3 = sweep_voids(part.mesh.vertices_mm, part.mesh.faces, frames, 128)[:, 0]
    taken = [int(np.argmax(around @ one)) for one in swept]
    assert len(set(taken)) == len(taken)
    least = set(np.argsort(void_mm3, kind="stable")[: max(20, keep) - named + 2].tolist())
    assert set(taken) <= least
    if keep == 40:
        assert len(ranked) == 40


def test_one_direction_swept_and_one_kept_are_enough_to_ask_for():
    ranked = rank_draws(as_part("cube", Solid.cube((20.0, 20.0, 20.0), True)), directions=1, keep=1)
    assert abs(ranked[0].direction).max() == pytest.approx(1.0)
    assert any(abs(one.direction @ X) > 0.9999 for one in ranked)


def nicked(long_mm):
    """A block of 50 × 50 × 40, 100,000 mm³, with a nick of 1 × 1 in the middle of one side."""
    block = Solid.cube((50.0, 50.0, 40.0), True)
    return as_part("nicked", block - Solid.cube((2.0, long_mm, 1.0), True).translate((25.0, 0.0, 0.0)))


@pytest.mark.parametrize(("long_mm", "counts"), [(1.5, False), (3.0, True)])
def test_an_undercut_below_two_hundred_thousandths_of_the_box_around_the_part_is_noise(long_mm, counts):
    """Of 100,000 mm³ that is 2 mm³: a nick of 1.5 asks no stretch, one of 3 does (a share of our own choice)."""
    (along,) = [one for one in rank_draws(nicked(long_mm), directions=4, keep=2) if abs(one.direction @ Z) > 0.9999]
    assert along.undercut_mm3 == pytest.approx(long_mm, abs=0.4)
    assert (along.stretch_ratio > 0.0) is counts


def test_less_trouble_than_a_tenth_of_the_longest_side_does_not_outweigh_a_void():
    """A bar of 100 × 12 × 9, drawn along its 9: 3 mm less in height count 12, 6 more of seam: 6 less in all.

    A pit of 1 × 1 × 0.6 in one long side has no more than 4 mm of seam; it is undercut that way, not along the 12.
    """
    bar = Solid.cube((100.0, 12.0, 9.0), True)
    assert abs(rank_draws(as_part("bar", bar), directions=4, keep=2)[0].direction @ Z) > 0.9999
    pit = Solid.cube((1.0, 1.2, 1.0), True).translate((0.0, 6.0, 0.0))
    first, second, *_ = rank_draws(as_part("bar", bar - pit), directions=4, keep=2)
    assert abs(first.direction @ Y) > 0.9999
    assert trouble_mm(second) < trouble_mm(first) - 1.0
    assert second.undercut_mm3 > 0.3


def test_the_box_around_a_part_reaches_down_to_its_tip():
    """A pyramid of 20 × 20 × 15 standing on its tip, with 8 mm around it."""
    corners = [(x, y, 15.0) for x in (-10.0, 10.0) for y in (-10.0, 10.0)]
    part = as_part("pyramid", Solid.hull_points([*corners, (0.0, 0.0, 0.0)]))
    expected_ml = (36.0 * 36.0 * 31.0 - 20.0 * 20.0 * 15.0 / 3.0) / 1000.0
    assert draw_along(part, Z).silicone_ml == pytest.approx(expected_ml)


@pytest.mark.parametrize(("off_deg", "twice"), [(0.4, False), (0.7, True)])
def test_a_direction_of_the_sweep_within_half_a_degree_of_a_named_one_is_not_tried_again(off_deg, twice):
    """The block is turned so that one of its axes lies so far from the fourth direction of the sweep."""
    near = hemisphere(12)[3]
    aside = frame_along(near)[0]
    axis = np.cos(np.radians(off_deg)) * near + np.sin(np.radians(off_deg)) * aside
    mesh = turned(from_solid(Solid.cube((40.0, 30.0, 20.0), True)), rotation=frame_along(axis).T)
    part = Part(name="box", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))
    ranked = rank_draws(part, directions=12, keep=40)
    named = [one.direction for one in ranked if one.origin is not DrawOrigin.SWEEP]
    assert any(abs(one @ axis) > 1.0 - 1e-9 for one in named)
    swept = [one.direction for one in ranked if one.origin is DrawOrigin.SWEEP]
    assert any(abs(one @ near) > 1.0 - 1e-9 for one in swept) is twice
    assert len(swept) == 11 + twice
