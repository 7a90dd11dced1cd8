"""Poses of the pours, boards and straps, and rods that carry a master."""

import numpy as np
import pytest

from firstpour.mould.mould import make_mould
from firstpour.mould.pieces import LEAST_PIN_RADIUS_MM
from firstpour.mould.standing import boards_for
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from mould_shapes import SETTINGS, draw_of, mould_of, sample

UP, SIDE = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)


@pytest.mark.parametrize("kind", list(MouldKind))
def test_every_silicone_has_a_pose_and_no_piece_but_silicone_stands_over_its_level(kind):
    mould = mould_of("half ball", UP, kind)
    pieces = {piece.name: piece for piece in mould.pieces}
    assert [pose.pours for pose in mould.poses] == [name for name in pieces if name.startswith("silicone")]
    for pose in mould.poses:
        assert set(pose.around) <= set(pieces)
        assert np.linalg.norm(pose.up) == pytest.approx(1.0)
        poured = pieces[pose.pours]
        assert pose.volume_mm3 == poured.volume_mm3
        level = float((poured.mesh.vertices_mm @ pose.up).max())
        for name in pose.around:
            over = float((pieces[name].mesh.vertices_mm @ pose.up).max()) - level
            if not name.startswith(("tray", "box")):
                assert over < 1e-6
        assert pose.level_mm > np.ptp(poured.mesh.vertices_mm @ pose.up) - 1e-6


def test_the_level_of_a_tray_is_that_of_its_silicone_over_the_outside_of_its_floor():
    mould = mould_of("cube", UP, MouldKind.TRAYS)
    pose = mould.poses[0]
    tray = next(piece for piece in mould.pieces if piece.name == "tray-upper")
    height = float(np.ptp(tray.mesh.vertices_mm[:, 2]))
    assert pose.level_mm == pytest.approx(height - SETTINGS.lip_mm)


def test_the_second_half_of_a_bedding_mould_is_poured_upside_down_onto_the_first():
    first, second = mould_of("bollard", SIDE, MouldKind.BEDDING).poses
    assert first.up == pytest.approx(-second.up)
    assert "bedding" in first.around
    assert "bedding" not in second.around
    assert "silicone-upper" in second.around


def test_boards_cover_the_mould_and_longer_moulds_get_more_straps_and_thicker_boards():
    small, large = (boards_for(MouldKind.TRAYS, np.array([x, 40.0, 30.0])) for x in (67.2, 260.0))
    assert (small.size_mm, small.straps) == ((68.0, 40.0, 6.0), 2)
    assert (large.size_mm, large.straps) == ((260.0, 40.0, 12.0), 5)
    assert boards_for(MouldKind.OPEN_FACE, np.array([60.0, 40.0, 30.0])) is None


def test_a_block_mould_carries_its_master_on_no_rod_thinner_than_the_least_pin():
    part = sample("limpet cup")
    mould = make_mould(lay_parting(part, draw_of("limpet cup", UP), kind=MouldKind.BLOCK))
    assert all(channel.radius_start_mm >= LEAST_PIN_RADIUS_MM for channel in mould.channels)
    master = next(to_solid(piece.mesh) for piece in mould.pieces if piece.name == "master")
    top_mm = float(np.array(part.mesh.vertices_mm)[:, 2].max()) * mould.scale
    over = master.slice(top_mm + 0.5).area()
    assert over >= 0.97 * np.pi * LEAST_PIN_RADIUS_MM**2


def test_a_light_master_is_said_to_float_with_the_force_of_its_buoyancy():
    """(1.2 − 0.5) g/ml · V · 9.81 m/s²."""
    mould = mould_of("sphere", UP, MouldKind.BLOCK)
    master = next(piece for piece in mould.pieces if piece.name == "master")
    (finding,) = (one for one in mould.findings if one.code == "master-floats")
    lift_n = 0.7e-3 * master.volume_mm3 / 1000.0 * 9.81
    assert f"{lift_n:.1f} N" in finding.what
