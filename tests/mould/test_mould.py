"""The whole mould: its pieces, quantities, allowance and findings."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.fill.values import Channel, ChannelUse
from firstpour.kernels.edges import pair_sides
from firstpour.mould.bed import on_the_bed
from firstpour.mould.joints import fits
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import Role
from firstpour.parting.block import box_solid
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import choose_kind, lay_parting
from firstpour.parting.undercut import find_undercut
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.values import Severity, mesh_volume_mm3, scaled
from mould_shapes import SETTINGS, Y, Z, as_part, draw_of, half_ball, mould_of, sample, shipped, with_marks

PRINTER_MM = np.array([200.0, 200.0, 200.0])
UP, SIDE = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
TWO_PART = [
    ("cube", UP),
    ("sphere", UP),
    ("tilted box", UP),
    ("tilted torus", UP),
    ("bollard", SIDE),
    ("bollard", UP),
    ("star prism", UP),
    ("warped ring", UP),
    ("L-bracket", (0.0, 1.0, 0.0)),
    ("mushroom", UP),
    ("limpet cup", UP),
    ("two-hole plate", UP),
]
FLAT_BACKED = [("half ball", UP), ("cube", UP), ("star prism", UP), ("pyramid", UP), ("two-hole plate", UP)]
ALL = [
    *((name, d, kind) for name, d in TWO_PART for kind in (MouldKind.TRAYS, MouldKind.BEDDING, MouldKind.BLOCK)),
    *((name, d, MouldKind.OPEN_FACE) for name, d in FLAT_BACKED),
]
NO_SHRINKAGE = MouldMaterials(silicone_shrinkage_ratio=0.0, casting_shrinkage_ratio=0.0)


def trays_of(part, draw, **made):
    return make_mould(lay_parting(part, draw, kind=MouldKind.TRAYS), **made)


def solids_of(mould):
    return {piece.name: to_solid(piece.mesh) for piece in mould.pieces}


@pytest.mark.parametrize(("name", "direction", "kind"), ALL)
def test_every_piece_is_one_closed_body_with_a_volume_that_fits_the_printer(name, direction, kind):
    mould = mould_of(name, direction, kind)
    assert mould.kind is kind
    for piece in mould.pieces:
        assert pair_sides(piece.mesh.faces, len(piece.mesh.vertices_mm))[2] == 0
        assert mesh_volume_mm3(piece.mesh) == pytest.approx(piece.volume_mm3, rel=1e-9)
        assert piece.volume_mm3 > 0.0
        assert piece.bodies == count_bodies(to_solid(piece.mesh)) == 1
        if piece.role is not Role.SILICONE:
            standing = on_the_bed(piece)
            assert standing.vertices_mm.min(axis=0) == pytest.approx(0.0, abs=1e-9)
            assert fits(standing.vertices_mm.max(axis=0), PRINTER_MM)
    assert not [finding for finding in mould.findings if finding.severity is Severity.ERROR]


@pytest.mark.parametrize(("name", "direction"), TWO_PART)
def test_two_part_moulds_of_ordinary_parts_have_their_keys_and_no_loose_bodies(name, direction):
    codes = {finding.code for finding in mould_of(name, direction, MouldKind.TRAYS).findings}
    assert codes <= {"undercut", "silicone-to-spare"}


@pytest.mark.parametrize(("name", "direction"), TWO_PART)
def test_tray_and_silicone_fit_into_one_another_without_overlap(name, direction):
    solids = solids_of(mould_of(name, direction, MouldKind.TRAYS))
    for side in ("upper", "lower"):
        tray, silicone = solids[f"tray-{side}"], solids[f"silicone-{side}"]
        assert (tray ^ silicone).volume() == pytest.approx(0.0, abs=1e-6 * tray.volume())


@pytest.mark.parametrize("name", ["cube", "sphere", "two-hole plate"])
def test_upper_tray_and_silicone_make_up_the_block_with_floor_and_walls(name):
    """The walls by closed form: a rectangle with round corners (a polygon of 32 chords), a chamfered foot, a lip.

    The floor is too thin for letters.
    """
    sizes = MouldSettings(floor_mm=2.0)
    solids = solids_of(trays_of(sample(name), draw_of(name, UP), channels=(), settings=sizes))
    tray, silicone = solids["tray-upper"], solids["silicone-upper"]
    block = np.array(silicone.bounding_box())
    low, high = np.array(tray.bounding_box()).reshape(2, 3)
    inner, outer, high_mm = (block[3:] - block[:3])[:2], (high - low)[:2], float(high[2] - low[2])
    t, lip, notch, wall = SETTINGS.chamfer_mm, SETTINGS.lip_mm, SETTINGS.notch_mm, 0.5 * (outer - inner)[0]
    corner_mm2 = (4.0 - 16.0 * np.sin(np.pi / 16.0)) * wall**2
    walls = (outer.prod() - corner_mm2) * high_mm - inner.prod() * lip
    notches = 2 * notch * lip * 2 * wall
    around = 2 * (inner.sum()) + 32 * 2 * wall * np.sin(np.pi / 32.0)
    foot = 0.5 * t * t * around
    assert tray.volume() + silicone.volume() == pytest.approx(walls - notches - foot, rel=1e-4)


@pytest.mark.parametrize(("name", "direction"), TWO_PART)
def test_silicone_halves_meet_but_do_not_overlap_nor_enter_the_part(name, direction):
    mould = mould_of(name, direction, MouldKind.TRAYS)
    solids = solids_of(mould)
    upper, lower = solids["silicone-upper"], solids["silicone-lower"]
    part = to_solid(scaled(sample(name).mesh, factor=mould.scale))
    for one, other in ((upper, lower), (upper, part), (lower, part)):
        assert (one ^ other).volume() == pytest.approx(0.0, abs=1e-6 * lower.volume())


@pytest.mark.parametrize(("name", "direction"), [case for case in TWO_PART if case != ("bollard", UP)])
def test_keys_channels_and_notches_add_no_undercut_to_the_silicone(name, direction):
    mould = mould_of(name, direction, MouldKind.TRAYS)
    for piece in mould.pieces:
        if piece.role is Role.SILICONE:
            undercut = find_undercut(piece.mesh, mould.draw.direction, resolution=400)
            assert all(region.depth_mm < 0.1 for region in undercut.regions)


@pytest.mark.parametrize(("name", "direction"), TWO_PART)
def test_the_master_lies_in_its_bed_with_the_play_asked_for(name, direction):
    solids = solids_of(mould_of(name, direction, MouldKind.BEDDING))
    gap_mm = solids["bedding"].min_gap(solids["master"], 2.0)
    assert 0.8 * SETTINGS.bed_clearance_mm < gap_mm < 1.1 * SETTINGS.bed_clearance_mm
    assert solids["box"].min_gap(solids["bedding"], 2.0) == pytest.approx(SETTINGS.bed_clearance_mm, rel=1e-6)


@pytest.mark.parametrize("name", ["cube", "sphere", "warped ring"])
def test_the_halves_of_a_bedding_mould_fit_each_other_without_a_gap(name):
    """The second is poured onto the first: halves, part and channels are the whole block, keys and all."""
    mould = mould_of(name, UP, MouldKind.BEDDING)
    solids = solids_of(mould)
    both = np.array((solids["silicone-upper"] + solids["silicone-lower"]).bounding_box()).reshape(2, 3)
    whole_ml = np.prod(both[1] - both[0]) / 1000.0
    assert mould.silicone_ml + mould.casting_ml == pytest.approx(whole_ml, rel=1e-6)


@pytest.mark.parametrize(("name", "direction"), TWO_PART)
def test_the_master_of_a_block_mould_stands_in_its_base(name, direction):
    solids = solids_of(mould_of(name, direction, MouldKind.BLOCK))
    master, base, silicone = solids["master"], solids["base"], solids["silicone"]
    assert (master ^ base).volume() == pytest.approx(0.0, abs=1e-6)
    hull = base.hull()
    assert (master ^ hull).volume() > 0.9 * 6.0 * np.pi * SETTINGS.gate_mouth_radius_mm**2 * 0.99
    assert (master ^ silicone).volume() == pytest.approx(0.0, abs=1e-6 * silicone.volume())


@pytest.mark.parametrize("name", ["cube", "sphere", "warped ring"])
def test_the_pry_notches_open_the_parting_line_on_two_sides(name):
    """Two pockets at the middle of two sides, as deep as the flat rim, 2 mm high; beside them silicone."""
    upper = solids_of(mould_of(name, UP, MouldKind.TRAYS))["silicone-upper"]
    low, high = np.array(upper.bounding_box()).reshape(2, 3)
    corner = upper ^ box_solid(np.array([low[0], low[1], -99.0]), np.array([low[0] + 0.5, low[1] + 0.5, high[2]]))
    rim_mm = corner.bounding_box()[2]
    middle = 0.5 * (low[1] + high[1])
    for x in (low[0], high[0] - 2.9):
        pocket = box_solid(np.array([x, middle - 2.9, rim_mm]), np.array([x + 2.9, middle + 2.9, rim_mm + 1.9]))
        assert (upper ^ pocket).volume() == 0.0
        assert (upper ^ pocket.translate((0.0, 0.0, 2.1))).volume() == pytest.approx(pocket.volume())
        assert (upper ^ pocket.translate((0.0, 6.0, 0.0))).volume() == pytest.approx(pocket.volume())


@given(silicone=st.floats(0.0, 0.05), casting=st.floats(0.0, 0.05))
@settings(max_examples=25, deadline=None)
def test_the_cavity_is_the_part_times_the_cube_of_the_allowance(silicone, casting):
    sizes = MouldMaterials(silicone_shrinkage_ratio=silicone, casting_shrinkage_ratio=casting)
    part = as_part("half ball", half_ball())
    mould = make_mould(lay_parting(part, draw_of("half ball", UP), kind=MouldKind.OPEN_FACE), materials=sizes)
    (silicone_piece,) = (piece for piece in mould.pieces if piece.role is Role.SILICONE)
    low, high = silicone_piece.mesh.vertices_mm.min(axis=0), silicone_piece.mesh.vertices_mm.max(axis=0)
    cavity_mm3 = np.prod(high - low) - silicone_piece.volume_mm3
    assert mould.scale == pytest.approx(1 / ((1 - silicone) * (1 - casting)))
    assert cavity_mm3 == pytest.approx(mesh_volume_mm3(part.mesh) * mould.scale**3, rel=1e-6)
    assert mould.casting_ml == pytest.approx(cavity_mm3 / 1000.0, rel=1e-6)


@pytest.mark.parametrize(("shrinkage", "scale"), [(0.001, 1.001001), (0.005, 1.00502513), (0.02, 1.02040816)])
def test_the_allowance_of_one_material_has_its_known_value(shrinkage, scale):
    """1/(1 − s): the percentage is taken on the mould's dimension (ISO 294-4, from memory; checks.md, Shrinkage)."""
    for given_to in ("silicone_shrinkage_ratio", "casting_shrinkage_ratio"):
        chosen = {"silicone_shrinkage_ratio": 0.0, "casting_shrinkage_ratio": 0.0, given_to: shrinkage}
        assert MouldMaterials(**chosen).scale == pytest.approx(scale, abs=1e-8)


def test_the_allowance_of_a_chain_is_the_product():
    chain = MouldMaterials(silicone_shrinkage_ratio=0.001, casting_shrinkage_ratio=0.004)
    assert chain.scale == pytest.approx(1.00502109, abs=1e-8)


def test_a_copy_that_shrinks_by_what_was_allowed_comes_out_at_size():
    mould = make_mould(lay_parting(sample("cube"), draw_of("cube", UP), kind=MouldKind.BEDDING), channels=())
    (master,) = (piece for piece in mould.pieces if piece.role is Role.MASTER)
    width_mm = np.ptp(master.mesh.vertices_mm, axis=0)[0]
    assert width_mm * (1 - 0.001) * (1 - 0.004) == pytest.approx(20.0)


def test_quantities_are_the_volumes_of_the_pieces():
    mould = mould_of("sphere", UP, MouldKind.BEDDING)
    silicone = [piece.volume_mm3 for piece in mould.pieces if piece.role is Role.SILICONE]
    printed = [piece.volume_mm3 for piece in mould.pieces if piece.role is not Role.SILICONE]
    assert mould.silicone_ml == pytest.approx(sum(silicone) / 1000.0)
    assert mould.print_ml == pytest.approx(sum(printed) / 1000.0)
    ball_ml = mesh_volume_mm3(sample("sphere").mesh) * mould.scale**3 / 1000.0
    assert ball_ml < mould.casting_ml < 1.2 * ball_ml


def test_without_channels_a_shot_is_just_the_part():
    mould = make_mould(
        lay_parting(sample("sphere"), draw_of("sphere", UP), kind=MouldKind.TRAYS),
        channels=(),
        materials=NO_SHRINKAGE,
    )
    assert mould.channels == ()
    assert mould.casting_ml * 1000.0 == pytest.approx(mesh_volume_mm3(sample("sphere").mesh), rel=1e-6)


def test_pieces_come_back_in_the_coordinates_of_the_part():
    """Cavity and part coincide whichever way the draw points."""
    draw = draw_along(sample("L-bracket"), Y)
    mould = make_mould(
        lay_parting(sample("L-bracket"), draw, kind=MouldKind.TRAYS), channels=(), materials=NO_SHRINKAGE
    )
    solids = solids_of(mould)
    both = solids["silicone-upper"] + solids["silicone-lower"]
    part = to_solid(sample("L-bracket").mesh)
    assert (both ^ part).volume() == pytest.approx(0.0, abs=1e-6 * part.volume())
    shell = part.hull().scale((1.001, 1.001, 1.001))
    assert (shell ^ both).volume() == pytest.approx((shell - part).volume(), rel=0.01)


def test_given_channels_are_led_out_and_scaled_with_the_part():
    vent = Channel(
        use=ChannelUse.VENT, path_mm=np.array([[0, 0, 10.0], [5.0, 0, 15.0]]), radius_start_mm=1.0, radius_end_mm=1.0
    )
    mould = make_mould(lay_parting(sample("cube"), draw_of("cube", UP), kind=MouldKind.TRAYS), channels=(vent,))
    (channel,) = mould.channels
    assert channel.path_mm[0] == pytest.approx(np.array([0, 0, 10.0]) * mould.scale)
    assert channel.radius_start_mm == 1.0
    block = np.array(solids_of(mould)["silicone-upper"].bounding_box())
    assert channel.path_mm[-1, 2] > block[5] or channel.path_mm[-1, 0] > block[3]


def test_a_hidden_flat_back_makes_an_open_face_mould_whichever_way_the_draw_points():
    part = with_marks("half ball", from_solid(half_ball()), hidden=-Z)
    plain = as_part("half ball", half_ball())
    for direction in (Z, -Z):
        assert choose_kind(part, direction) is MouldKind.OPEN_FACE
        assert choose_kind(plain, direction) is MouldKind.TRAYS
        mould = make_mould(lay_parting(part, draw_along(part, direction)))
        assert mould.kind is MouldKind.OPEN_FACE
        assert mould.draw.direction == pytest.approx(Z)


def test_a_part_with_a_void_shut_inside_is_called_impossible():
    ball = manifold3d.Manifold.sphere
    hollow = as_part("hollow", ball(15.0, 48) - ball(8.0, 48))
    mould = make_mould(lay_parting(hollow, draw_along(hollow, Z), kind=MouldKind.TRAYS))
    assert "enclosed-void" in {f.code for f in mould.findings if f.severity is Severity.ERROR}


def test_an_undercut_is_reported_with_its_stretch():
    """A lip of 10 mm radius over a foot of 12 mm."""
    (finding,) = [one for one in mould_of("bollard", UP, MouldKind.TRAYS).findings if one.code == "undercut"]
    assert "stretches by 20 %" in finding.what
    assert finding.severity is Severity.INFO


def test_two_bodies_side_by_side_share_a_mould():
    box = manifold3d.Manifold.cube((10.0, 10.0, 10.0))
    part = as_part("two", box + box.translate((16.0, 0.0, 0.0)))
    mould = make_mould(lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS))
    assert {finding.code for finding in mould.findings} <= {"silicone-to-spare"}
    assert len(mould.seam_mm) == 2


def test_pieces_larger_than_the_printer_are_cut_and_said_to_be():
    mould = make_mould(
        lay_parting(sample("bollard"), draw_of("bollard", SIDE), kind=MouldKind.TRAYS), printer_mm=(45.0, 45.0, 60.0)
    )
    assert {finding.code for finding in mould.findings} - {"silicone-to-spare"} == {"cut-to-fit"}
    for piece in mould.pieces:
        if piece.role is not Role.SILICONE and not piece.name.startswith("gate-rod"):
            assert piece.name[-2] == "-"
            assert fits(np.ptp(on_the_bed(piece).vertices_mm, axis=0), np.array([45.0, 45.0, 60.0]))


@pytest.mark.parametrize(("name", "direction"), [("nut", Y), ("ant", Y), ("sphere", Z)])
def test_meshes_that_a_library_ships_give_moulds_of_closed_single_pieces(name, direction):
    """Each along the draw that `choose_draw` takes for it."""
    part = shipped(name)
    mould = make_mould(
        lay_parting(part, draw_along(part, direction), kind=MouldKind.TRAYS), printer_mm=(400.0, 400.0, 400.0)
    )
    for piece in mould.pieces:
        assert piece.volume_mm3 > 0.0
        assert piece.bodies == 1
        assert pair_sides(piece.mesh.faces, len(piece.mesh.vertices_mm))[2] == 0
    solids = solids_of(mould)
    overlap = (solids["silicone-upper"] ^ solids["silicone-lower"]).volume()
    assert overlap == pytest.approx(0.0, abs=1e-6 * solids["silicone-lower"].volume())


@pytest.mark.parametrize("printer_mm", [(0.0, 200.0, 200.0), (200.0, -1.0, 200.0)])
def test_a_printer_without_a_volume_is_refused_with_a_remedy(printer_mm):
    with pytest.raises(BadRequest, match="build volume") as refused:
        make_mould(lay_parting(sample("cube"), draw_of("cube", UP)), printer_mm=printer_mm)
    assert refused.value.remedy


def test_an_open_face_mould_of_a_ball_is_refused_with_a_remedy():
    with pytest.raises(BadRequest, match="no flat back") as refused:
        make_mould(lay_parting(sample("sphere"), draw_of("sphere", UP), kind=MouldKind.OPEN_FACE))
    assert "trays" in refused.value.remedy


@pytest.mark.parametrize("path", [None, [[0, 0, 10.0], [9.0, 0, 10.0]]])
def test_a_block_mould_whose_master_has_no_gate_to_stand_on_is_refused(path):
    gate = (
        ()
        if path is None
        else (Channel(use=ChannelUse.GATE, path_mm=np.array(path), radius_start_mm=3.0, radius_end_mm=6.0),)
    )
    with pytest.raises(BadRequest, match="gate") as refused:
        make_mould(lay_parting(sample("cube"), draw_of("cube", UP), kind=MouldKind.BLOCK), channels=gate)
    assert "along the draw" in refused.value.remedy
