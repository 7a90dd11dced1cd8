"""A mould of several cavities as it is made, against exact booleans of single ones."""

from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest
import shapely

from firstpour.cavities.lay import lay_cavities
from firstpour.cavities.values import MOST, MOST_CAVITIES
from firstpour.errors import BadRequest
from firstpour.fill.pockets import find_pockets
from firstpour.job.job import PartRequest
from firstpour.mould.keys import closes_one_way, place_keys
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.plan.filling import plan_fill
from firstpour.surface.solids import to_solid
from firstpour.values import mesh_volume_mm3, scaled
from mould_shapes import X, Y, Z, as_part, turned_profile

SETTINGS, MATERIALS = MouldSettings(), MouldMaterials()
PRINTER_MM = (220.0, 220.0, 250.0)


def pulley():
    profile = [(2.0, 0.0), (14.0, 0.0), (14.0, 2.0), (11.0, 5.0), (14.0, 8.0), (14.0, 10.0), (2.0, 10.0)]
    return as_part("pulley", turned_profile(profile, segments=48))


def bracket():
    return as_part("bracket", manifold3d.Manifold.cube((40, 10, 6)) + manifold3d.Manifold.cube((10, 30, 6)))


PARTS = {"pulley": (pulley, Z), "bracket, poured on edge": (bracket, Y)}


@cache
def single(name, up=None):
    """A part, its parting along z and its fill with the given side up."""
    make, own_up = PARTS[name]
    part, up = make(), own_up if up is None else np.array(up)
    one = lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS, sizes=SETTINGS.parting)
    request = PartRequest(name=name, up=tuple(up))
    return part, one, plan_fill(part, one, request, SETTINGS)


def several_of(name, wanted, *, room=MOST_CAVITIES, printer_mm=PRINTER_MM, kind=None):
    part, one, fill = single(name)
    return lay_cavities(
        part,
        one if kind is None else replace(one, kind=kind),
        fill.channels,
        up=fill.up,
        wanted=wanted,
        settings=SETTINGS,
        materials=MATERIALS,
        printer_mm=printer_mm,
        room=room,
    )


def mould_of(parting, channels, cavities=1):
    return make_mould(
        parting, settings=SETTINGS, materials=MATERIALS, channels=channels, printer_mm=PRINTER_MM, cavities=cavities
    )


@pytest.mark.parametrize("name", PARTS)
def test_four_cavities_hold_four_times_the_shot_and_the_block_is_filled_exactly(name):
    part, one, fill = single(name)
    several = several_of(name, 4)
    alone, mould = mould_of(one, fill.channels), mould_of(several.parting, several.channels, 4)
    assert mould.casting_ml == pytest.approx(alone.casting_ml, rel=2e-3)
    block = several.parting.block
    size_mm3 = float(np.prod(block.high_mm - block.low_mm)) * mould.scale**3
    cavities_mm3 = 4 * mesh_volume_mm3(scaled(part.mesh, factor=mould.scale))
    option = next(each for each in several.options if each.cavities == 4)
    assert option.silicone_ml == pytest.approx((size_mm3 - cavities_mm3) / 1000.0, rel=0.12)
    assert mould.silicone_ml == pytest.approx((size_mm3 - cavities_mm3) / 1000.0, rel=0.04)


@pytest.mark.parametrize("name", PARTS)
def test_the_pieces_are_whole_and_come_apart(name):
    several = several_of(name, 3)
    mould = mould_of(several.parting, several.channels, 3)
    assert {piece.bodies for piece in mould.pieces} == {1}
    assert not several.parting.shut
    assert several.parting.smooth
    assert len(several.parting.seam_mm) == 3 * len(single(name)[1].seam_mm)


@pytest.mark.parametrize("name", PARTS)
def test_no_silicone_lies_in_any_cavity_and_none_is_missing_around_them(name):
    """The halves and all copies fill the block but for channels, keys' play, notches and marks."""
    several = several_of(name, 2)
    mould = mould_of(several.parting, several.channels, 2)
    copies = to_solid(scaled(several.part.mesh, factor=mould.scale))
    halves = [to_solid(piece.mesh) for piece in mould.pieces if piece.name.startswith("silicone")]
    for half in halves:
        assert (half ^ copies).volume() == pytest.approx(0.0, abs=1e-3)
    assert (halves[0] ^ halves[1]).volume() == pytest.approx(0.0, abs=1e-3)
    near = copies.minkowski_sum(manifold3d.Manifold.cube((0.2, 0.2, 0.2), True))
    around = near - copies
    covered = (halves[0] + halves[1]) ^ around
    assert covered.volume() > 0.95 * around.volume()


@pytest.mark.parametrize("name", PARTS)
def test_the_air_of_the_whole_is_that_of_its_cavities(name):
    _, _, fill = single(name)
    several = several_of(name, 3)
    part, _, _ = single(name)
    own = [channel.at_mm for channel in fill.channels]
    alone = find_pockets(part, up=fill.up, gate_mm=own[0], vents_mm=tuple(own[1:]))
    openings = [channel.at_mm for channel in several.channels]
    whole = find_pockets(several.part, up=fill.up, gate_mm=openings[0], vents_mm=tuple(openings[1:]))
    assert whole.trapped_mm3 == pytest.approx(3 * alone.trapped_mm3, abs=3.0)


def test_keys_stand_between_the_cavities_too():
    """No place with room lies 50 mm from all keys, and no key nearer to a cavity than the wall."""
    several = several_of("pulley", 6)
    parting = several.parting
    small = replace(SETTINGS, key_radius_mm=2.0)
    keys = place_keys(parting.halves.sheet, parting.block, small, every_mm=50.0)
    few = place_keys(parting.halves.sheet, parting.block, small)
    assert len(keys) > len(few) >= 3
    feet = np.array([key.foot_mm[:2] for key in keys])
    cavities = shapely.union_all([shapely.Polygon(loop[:, :2]) for loop in parting.seam_mm])
    assert shapely.distance(shapely.points(feet), cavities).min() >= SETTINGS.wall_mm - 0.25
    assert closes_one_way(keys, parting.block)


@pytest.mark.parametrize("name", PARTS)
def test_of_the_numbers_that_are_offered_more_cavities_take_more_silicone(name):
    options = several_of(name, 2).options
    assert options[0].cavities == 1
    silicone = [one.silicone_ml for one in options]
    assert silicone == sorted(silicone)
    assert len(set(silicone)) == len(silicone)


def test_as_many_as_go_are_bounded_by_room_and_printer():
    assert several_of("pulley", MOST, room=3).cavities == 3
    small = several_of("pulley", MOST, printer_mm=(140.0, 140.0, 100.0))
    wide = several_of("pulley", MOST)
    assert 1 < small.cavities < wide.cavities
    assert several_of("pulley", MOST, room=1) is None


def test_more_than_the_printer_takes_are_refused_with_the_number_that_fits():
    with pytest.raises(BadRequest, match=r"40 cavities fit no printer here: with .* the tray is"):
        several_of("pulley", 40, printer_mm=(140.0, 140.0, 100.0))


def test_a_master_that_is_hung_by_itself_gets_one_cavity():
    with pytest.raises(BadRequest, match="kind block"):
        several_of("pulley", 2, kind=MouldKind.BLOCK)
    assert several_of("pulley", MOST, kind=MouldKind.BLOCK) is None


def test_channels_that_leave_by_two_sides_are_refused_with_a_way_out():
    part, one, fill = single("bracket, poured on edge", tuple(X))
    gate, *vents = fill.channels
    aside = [replace(vent, path_mm=np.array([vent.at_mm, vent.at_mm - 12.0 * Y])) for vent in vents]
    with pytest.raises(BadRequest, match="leave by two sides"):
        lay_cavities(
            part,
            one,
            (gate, *aside),
            up=fill.up,
            wanted=2,
            settings=SETTINGS,
            materials=MATERIALS,
            printer_mm=PRINTER_MM,
            room=MOST_CAVITIES,
        )
