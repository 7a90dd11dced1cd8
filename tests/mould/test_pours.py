"""Every pour of a mould: pose, order, the air that stays held against closed forms, and where the stream goes in."""

import manifold3d
import numpy as np
import pytest

from firstpour.fill.channels import propose_channels
from firstpour.mould.mould import make_mould
from firstpour.mould.pours import CAST, Carrier, air_while_poured, pour_findings, pours_of
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import from_solid
from mould_shapes import X, Z, as_part

RADIUS_MM, DEEP_MM = 6.0, 12.0
HOLLOW_MM3 = np.pi * RADIUS_MM**2 * DEEP_MM


def cup():
    """A cube with a blind hole in its top."""
    hole = manifold3d.Manifold.cylinder(DEEP_MM + 1.0, RADIUS_MM, RADIUS_MM, 128).translate(
        (0.0, 0.0, 10.0 - DEEP_MM)
    )
    return as_part("cup", manifold3d.Manifold.cube((20.0, 20.0, 20.0), True) - hole)


def pours(part, direction, kind):
    """The mould of the part and all its pours, the cast through a proposed gate with the draw up."""
    mould = make_mould(lay_parting(part, draw_along(part, direction), kind=kind))
    plan = None if kind is MouldKind.OPEN_FACE else propose_channels(part, up=direction, draw=direction)
    return mould, pours_of(mould, part, plan)


def test_the_air_in_a_bell_is_told_with_its_volume_and_place_and_gone_when_turned():
    _, (silicone, _) = pours(cup(), Z, MouldKind.BLOCK)
    assert silicone.air.volume_mm3 == pytest.approx(HOLLOW_MM3, rel=0.02)
    assert silicone.air.at_mm[2] == pytest.approx(10.0 - DEEP_MM, abs=0.3)
    assert np.hypot(*silicone.air.at_mm[:2]) <= RADIUS_MM
    assert silicone.carrier is Carrier.ROD
    (said,) = [one for one in pour_findings((silicone,)) if one.code == "air-in-silicone"]
    assert float(said.what.split()[0]) == pytest.approx(silicone.air.volume_mm3, abs=0.5)
    _, turned = pours(cup(), -Z, MouldKind.BLOCK)
    assert turned[0].air.volume_mm3 == 0.0
    assert pour_findings(turned[:1]) == ()


@pytest.mark.parametrize("tilt_deg", [15.0, 30.0])
def test_a_leaning_bell_keeps_the_air_above_its_lip(tilt_deg):
    """A cylinder cut by a plane through the highest place of its rim keeps π r² (h − r tan t) if h > 2 r tan t."""
    block = manifold3d.Manifold.cube((60.0, 60.0, 60.0), True)
    master = manifold3d.Manifold.cube((20.0, 20.0, 20.0), True)
    hole = manifold3d.Manifold.cylinder(DEEP_MM + 1.0, RADIUS_MM, RADIUS_MM, 128).translate((0, 0, -11.0))
    tilt = np.radians(tilt_deg)
    air = air_while_poured(from_solid(block - (master - hole)), np.array([np.sin(tilt), 0.0, np.cos(tilt)]))
    expected = np.pi * RADIUS_MM**2 * (DEEP_MM - RADIUS_MM * np.tan(tilt))
    assert air.volume_mm3 == pytest.approx(expected, rel=0.02)


def test_a_block_over_a_bell_leans_so_that_the_air_is_less_and_is_poured_at_its_lowest_corner():
    mould, (silicone, _) = pours(cup(), Z, MouldKind.BLOCK)
    assert silicone.tilt_deg == 30.0
    assert silicone.tilted_air.volume_mm3 < 0.9 * silicone.air.volume_mm3
    assert float(silicone.tilt_up @ silicone.pose.up) == pytest.approx(np.cos(np.radians(30.0)))
    (block,) = [piece.mesh.vertices_mm / mould.scale for piece in mould.pieces if piece.name == "silicone"]
    level = block[block @ silicone.pose.up > (block @ silicone.pose.up).max() - 1e-6]
    assert float(silicone.at_mm @ silicone.tilt_up) < float(np.quantile(level @ silicone.tilt_up, 0.6))
    assert float(silicone.at_mm @ silicone.pose.up) == pytest.approx(float((block @ silicone.pose.up).max()))


def test_trays_keep_no_air_at_a_cup_and_the_cast_waits_for_both():
    mould, (upper, lower, cast) = pours(cup(), Z, MouldKind.TRAYS)
    assert [one.air.volume_mm3 for one in (upper, lower)] == [0.0, 0.0]
    assert [one.pose for one in (upper, lower)] == list(mould.poses)
    assert (upper.after, lower.after, cast.after) == ((), (), ("silicone-upper", "silicone-lower"))
    assert cast.turned_over == ("silicone-lower",)
    assert upper.carrier is lower.carrier is Carrier.TRAY


def test_the_second_half_of_a_bed_is_poured_on_the_first_turned_over():
    _, (upper, lower, cast) = pours(cup(), Z, MouldKind.BEDDING)
    assert lower.after == lower.turned_over == ("silicone-upper",)
    assert [one.carrier for one in (upper, lower, cast)] == [
        Carrier.BEDDING,
        Carrier.CURED_SILICONE,
        Carrier.NOTHING,
    ]


def test_the_cast_rises_to_the_mouth_of_its_gate():
    mould, pours_made = pours(cup(), Z, MouldKind.TRAYS)
    cast = pours_made[-1]
    mouth = mould.channels[0].path_mm[-1]
    foot = min(piece.mesh.vertices_mm[:, 2].min() for piece in mould.pieces if piece.name.startswith("silicone"))
    assert cast.pose.pours == CAST
    assert cast.pose.level_mm == pytest.approx(mouth[2] - foot)
    assert cast.pose.volume_mm3 == pytest.approx(1000.0 * mould.casting_ml)
    np.testing.assert_allclose(cast.at_mm * mould.scale, mouth)


def test_an_open_face_is_turned_over_and_filled_flush_with_its_back():
    part = as_part("dish", manifold3d.Manifold.cylinder(8.0, 20.0, 15.0, 96))
    mould, (silicone, cast) = pours(part, Z, MouldKind.OPEN_FACE)
    assert cast.turned_over == ("silicone",)
    assert cast.air.volume_mm3 == silicone.air.volume_mm3 == 0.0
    silicone_mesh = next(piece.mesh for piece in mould.pieces if piece.name == "silicone")
    assert cast.pose.level_mm == pytest.approx(float(np.ptp(silicone_mesh.vertices_mm[:, 2])), abs=0.02)


def test_the_stream_goes_in_where_the_most_room_is():
    """A bar across one end of the box leaves the two corners of the other end free."""
    beam = manifold3d.Manifold.cube((60.0, 10.0, 10.0), True) + manifold3d.Manifold.cube(
        (10.0, 40.0, 10.0), True
    ).translate((-25.0, 0.0, 0.0))
    _, (silicone, _) = pours(as_part("tee", beam), Z, MouldKind.BLOCK)
    assert float(silicone.at_mm @ X) > 0.0
