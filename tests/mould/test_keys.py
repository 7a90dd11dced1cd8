"""Keys: enough of them, clear of the part, and they close one way only."""

import manifold3d
import numpy as np
import pytest
import shapely

from firstpour.mould.keys import Key, closes_one_way, key_solid, place_keys, steep_places
from firstpour.parting.block import Block, block_around
from firstpour.parting.sheet import Sheet, footprint, make_sheet
from mould_shapes import LABELS, SETTINGS, WITHOUT_UNDERCUT, draw_of, sample, seam_of

CLEARANCE_MM = 0.2


def keyed(name, direction, *, side_mm=22.0):
    """Keys of a sample, its block, and the plan of what the seam encloses."""
    seamed = seam_of(sample(name), draw_of(name, tuple(direction.tolist())))
    loops = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=side_mm)
    sheet = make_sheet(loops, block, rim_band_mm=SETTINGS.rim_mm)
    return place_keys(sheet, block, SETTINGS), block, footprint(loops), sheet


@pytest.mark.parametrize(("name", "direction"), WITHOUT_UNDERCUT, ids=LABELS)
def test_ordinary_parts_get_keys_that_close_one_way_outside_the_wall(name, direction):
    keys, block, plan, _ = keyed(name, direction)
    assert len(keys) >= 3
    assert closes_one_way(keys, block)
    for key in keys:
        foot = shapely.Point(key.foot_mm[:2])
        assert plan.distance(foot) >= SETTINGS.wall_mm + key.radius_mm - 0.3  # the outline is simplified by 0.2 mm
        inside = np.minimum(key.foot_mm[:2] - block.low_mm[:2], block.high_mm[:2] - key.foot_mm[:2]).min()
        assert inside >= key.radius_mm + 1.9
        assert block.low_mm[2] < key.foot_mm[2] - key.height_mm
        assert key.foot_mm[2] + key.height_mm < block.high_mm[2]


def test_keys_stand_on_the_parting_surface():
    keys, _, _, sheet = keyed("warped ring", np.array([0.0, 0.0, 1.0]))
    for key in keys:
        away = np.linalg.norm(sheet.points_mm[:, :2] - key.foot_mm[:2], axis=1)
        near = np.argsort(away)[:6]
        assert sheet.points_mm[near, 2].min() - 0.2 <= key.foot_mm[2] <= sheet.points_mm[near, 2].max() + 0.2


def four(places, *, on_lower=(True, True, True, True)):
    return tuple(
        Key(foot_mm=np.array([x, y, 0.0]), radius_mm=4.0, height_mm=8.0, on_lower=lower)
        for (x, y), lower in zip(places, on_lower, strict=True)
    )


SQUARE = Block(low_mm=np.array([-30.0, -30.0, -10.0]), high_mm=np.array([30.0, 30.0, 10.0]))
OBLONG = Block(low_mm=np.array([-40.0, -30.0, -10.0]), high_mm=np.array([40.0, 30.0, 10.0]))
CORNERS = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)]


def test_keys_alike_on_four_corners_close_the_wrong_way_too():
    assert not closes_one_way(four(CORNERS), SQUARE)
    assert not closes_one_way(four(CORNERS), OBLONG)


def test_one_key_of_the_other_kind_makes_four_corners_close_one_way():
    assert closes_one_way(four(CORNERS, on_lower=(False, True, True, True)), SQUARE)


def test_opposite_keys_of_the_other_kind_still_close_when_turned_half_about():
    assert not closes_one_way(four(CORNERS, on_lower=(False, True, False, True)), OBLONG)


def test_a_quarter_turn_counts_only_in_a_square_block():
    across = [(20.0, 0.0), (0.0, 20.0), (-20.0, 0.0), (0.0, -20.0)]
    lopsided = [(20.0, 0.0), (0.0, 20.0), (-20.0, 0.0), (0.0, -14.0)]
    assert not closes_one_way(four(across), SQUARE)
    assert closes_one_way(four(lopsided), OBLONG)


def test_two_keys_are_too_few():
    assert not closes_one_way(four(CORNERS, on_lower=(False, True, True, True))[:2], SQUARE)


@pytest.mark.parametrize("on_lower", [True, False])
def test_a_key_has_the_asked_clearance_in_its_seat(on_lower):
    """The seat is the key moved out sideways and at the tip; across the slanting side that is a little less."""
    key = Key(foot_mm=np.array([3.0, -2.0, 1.0]), radius_mm=4.0, height_mm=8.0, on_lower=on_lower)
    up = 1.0 if on_lower else -1.0
    half = manifold3d.Manifold.cube((30.0, 30.0, 20.0)).translate((-12.0, -17.0, 1.0 if on_lower else -19.0))
    seat = half - key_solid(key, clearance_mm=CLEARANCE_MM)
    standing = key_solid(key).trim_by_plane((0.0, 0.0, up), up * 1.0 + 0.01)
    gap_mm = seat.min_gap(standing, 2.0)
    assert 0.6 * CLEARANCE_MM < gap_mm <= CLEARANCE_MM
    assert (seat ^ standing).volume() == 0.0


def test_a_key_is_a_little_smaller_than_its_cylinder_and_larger_than_its_cone():
    key = Key(foot_mm=np.zeros(3), radius_mm=4.0, height_mm=8.0, on_lower=True)
    above = key_solid(key).trim_by_plane((0.0, 0.0, 1.0), 0.0).volume()
    assert np.pi * 16 * 8 / 3 < above < np.pi * 16 * 8


def test_a_part_too_near_the_rim_leaves_no_room_for_keys():
    keys, _, _, _ = keyed("cube", np.array([0.0, 0.0, 1.0]), side_mm=8.0)
    assert keys == ()


def ramped(*, everywhere: bool) -> Sheet:
    """A surface over a block of 80 × 60 mm, level but for a ramp of 60° at one corner, or askew all over."""
    x, y = np.meshgrid(np.linspace(-40.0, 40.0, 81), np.linspace(-30.0, 30.0, 61))
    z = np.tan(np.radians(60.0)) * (x if everywhere else np.maximum(0.0, x - 28.0) * (y > 4.0)) * 0.3
    z = z if everywhere else z / 0.3
    number = np.arange(x.size).reshape(x.shape)
    a, b, c, d = (part.ravel() for part in (number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]))
    return Sheet(
        points_mm=np.column_stack([x.ravel(), y.ravel(), z.ravel()]),
        tri=np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])]),
        rim=np.arange(4),
        rim_mm=0.0,
        region=shapely.box(-40.0, -30.0, 40.0, 30.0).difference(shapely.box(-10.0, -6.0, 10.0, 6.0)),
    )


TALL = Block(low_mm=np.array([-40.0, -30.0, -60.0]), high_mm=np.array([40.0, 30.0, 60.0]))


def test_a_key_keeps_off_a_steep_place_where_it_can():
    sheet = ramped(everywhere=False)
    assert steep_places(sheet).contains(shapely.box(29.0, 6.0, 39.0, 29.0))
    keys = place_keys(sheet, TALL, SETTINGS)
    assert len(keys) >= 3
    assert all(shapely.Point(key.foot_mm[:2]).distance(steep_places(sheet)) >= key.radius_mm - 0.1 for key in keys)


def test_a_surface_that_leans_a_little_has_keys_in_its_corners():
    sheet = ramped(everywhere=True)
    assert steep_places(sheet).is_empty
    assert len(place_keys(sheet, TALL, SETTINGS)) == 4
