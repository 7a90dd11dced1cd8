"""The checks of written moulds: a sound mould of a ball passes, and each thing done to it is told."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from families import check_channels, check_opening, check_pieces, check_walls
from families.checks import CHECKS
from families.grids import air_left, grid_over, inside, reached_from
from families.solids import Solid, box, cylinder, joined
from families.written import Piece, Rod, WrittenMould
from firstpour.files.stl import stl_bytes
from firstpour.surface.solids import from_solid

R_MM = 12.0
HALF_MM = R_MM + 8.5
GATE = Rod(use="gate", path_mm=np.array([[R_MM - 0.5, 0, 0], [HALF_MM + 4.0, 0, 0]]), start_mm=2.0, end_mm=3.0)
VENT = Rod(use="vent", path_mm=np.array([[-R_MM + 0.5, 0, 0], [-HALF_MM - 4.0, 0, 0]]), start_mm=1.0, end_mm=1.5)
PART = Solid.sphere(R_MM, 48)


def as_mesh(solid):
    raw = solid.to_mesh64()
    return trimesh.Trimesh(np.array(raw.vert_properties)[:, :3], np.array(raw.tri_verts), process=False)


def piece(name, role, solid, folder):
    file = folder / f"{name}.stl"
    file.write_bytes(stl_bytes(from_solid(solid)))
    return Piece(name=name, role=role, file=file, mesh=as_mesh(solid))


def mould_of(folder, *, part=PART, rods=(GATE, VENT), upper=None, lower=None, tray=None, findings=(), said=0.0):
    """A two-part mould of a ball with trays; halves, the upper tray, rods or the part may be given otherwise."""
    cut = joined([part, *(rod.solid for rod in rods)])
    block = [np.array([-HALF_MM, -HALF_MM, low]) for low in (0.0, -HALF_MM)]
    tops = [np.array([HALF_MM, HALF_MM, high]) for high in (HALF_MM, 0.0)]
    upper = upper or box(block[0], tops[0]) - cut
    lower = lower or box(block[1], tops[1]) - cut
    wall = np.array([2.0, 2.0, 0.0])
    tray_upper = box(block[0] - wall - [0, 0, 2.4], tops[0] + wall) - upper
    tray_lower = box(block[1] - wall, tops[1] + wall + [0, 0, 2.4]) - lower
    pieces = tuple(
        piece(name, role, solid, folder)
        for name, role, solid in (
            ("silicone-upper", "silicone", upper), ("silicone-lower", "silicone", lower),
            ("tray-upper", "tray", tray or tray_upper), ("tray-lower", "tray", tray_lower),
        )
    )  # fmt: skip
    shot = joined([part, *(rod.solid ^ box(block[1], tops[0]) for rod in rods)]).volume()
    entry = {
        "findings": [{"code": code} for code in findings],
        "fill": {"up": [1.0, 0.0, 0.0], "trapped_vented_mm3": said},
        "chosen_draw": {"undercut_mm3": 0.0},
        "mould": {
            "kind": "trays",
            "silicone_ml": (upper.volume() + lower.volume()) / 1000.0,
            "casting_ml": shot / 1000.0,
        },
    }
    return WrittenMould(
        name="ball", entry=entry, part=part, part_mesh=as_mesh(part), pieces=pieces, rods=tuple(rods),
        frame=np.eye(3), scale=1.0,
    )  # fmt: skip


def checks_of(faults):
    return {fault.check for fault in faults}


def test_a_sound_mould_passes_every_check(tmp_path):
    mould = mould_of(tmp_path)
    faults = check_pieces.measured(mould) + [fault for one in CHECKS for fault in one(mould)]
    assert [*faults, *check_channels.air_in_cast(mould)[1]] == []


def test_an_open_piece_is_told(tmp_path):
    mould = mould_of(tmp_path)
    first = mould.pieces[0]
    holed = trimesh.Trimesh(first.mesh.vertices, first.mesh.faces[1:], process=False)
    mould = replace(mould, pieces=(replace(first, mesh=holed), *mould.pieces[1:]))
    assert checks_of(check_pieces.measured(mould)) == {"measure"}


def test_a_gap_an_overlap_and_a_wrong_volume_are_told(tmp_path):
    bitten = box([-HALF_MM, -HALF_MM, 0], [HALF_MM, HALF_MM, HALF_MM]) - PART - GATE.solid - VENT.solid
    gap = bitten - box([-3, -3, 0], [3, 3, R_MM + 1.0])
    assert any("gap" in fault.what for fault in check_pieces.balanced(mould_of(tmp_path, upper=gap)))
    fat = bitten + box([-1, -1, R_MM - 3], [1, 1, R_MM + 1])
    assert any("share" in fault.what for fault in check_pieces.balanced(mould_of(tmp_path, upper=fat)))
    mould = mould_of(tmp_path)
    mould.entry["mould"]["silicone_ml"] *= 1.01
    assert any("said" in fault.what for fault in check_pieces.balanced(mould))
    mould = mould_of(tmp_path)
    mould.entry["mould"]["casting_ml"] += 0.35
    assert any("a shot said" in fault.what for fault in check_pieces.balanced(mould))


def test_a_lid_even_of_no_thickness_is_told(tmp_path):
    mould = mould_of(tmp_path)
    tray = mould.of("tray", "upper")[0].solid
    lid = tray + box([-HALF_MM - 2, -HALF_MM - 2, HALF_MM], [HALF_MM + 2, HALF_MM + 2, HALF_MM + 1.0])
    assert checks_of(check_pieces.open_on_top(mould_of(tmp_path, tray=lid))) == {"open"}
    film = as_mesh(tray + box([-HALF_MM - 2, -HALF_MM - 2, HALF_MM], [HALF_MM + 2, HALF_MM + 2, HALF_MM + 1e-4]))
    pieces = tuple(replace(one, mesh=film) if one.name == "tray-upper" else one for one in mould.pieces)
    assert any("lid" in fault.what for fault in check_pieces.open_on_top(replace(mould, pieces=pieces)))


def test_silicone_closed_round_a_bar_is_told_unless_a_finding_says_so(tmp_path):
    ring = Solid.cylinder(8.0, 3.0, 3.0, 32, True).rotate((90.0, 0.0, 0.0)).translate((0.0, 0.0, 7.0))
    part = PART - ring
    mould = mould_of(tmp_path, part=part)
    assert not check_pieces.no_closed_ring(mould_of(tmp_path, part=PART))
    through = part - Solid.cylinder(60.0, 3.0, 3.0, 32, True).rotate((90.0, 0.0, 0.0)).translate((0.0, 0.0, 7.0))
    mould = mould_of(tmp_path, part=through)
    assert checks_of(check_pieces.no_closed_ring(mould)) == {"ring"}
    assert not check_pieces.no_closed_ring(mould_of(tmp_path, part=through, findings=("closed-ring",)))
    assert checks_of(check_opening.lifts_off_part(mould)) == {"lift"}


def test_a_gate_buried_in_one_half_locks_it_and_its_tray(tmp_path):
    tunnel = Rod(use="gate", path_mm=np.array([[8.0, 0, 8.0], [HALF_MM + 4, 0, 8.0]]), start_mm=2.0, end_mm=3.0)
    mould = mould_of(tmp_path, rods=(tunnel, VENT))
    assert checks_of(check_opening.lifts_off_sprue(mould)) == {"sprue"}
    assert checks_of(check_opening.leaves_tray(mould)) == {"tray"}
    plug = Rod(use="gate", path_mm=np.array([[0.0, 0, R_MM], [0, 0, HALF_MM + 4]]), start_mm=2.0, end_mm=4.0)
    assert any(
        "widens" in fault.what for fault in check_opening.lifts_off_sprue(mould_of(tmp_path, rods=(plug, VENT)))
    )


def test_a_master_that_its_bedding_holds_is_told(tmp_path):
    mould = mould_of(tmp_path)
    ball = piece("master", "master", PART, tmp_path)
    half = box([-20, -20, -20], [20, 20, 0]) - Solid.sphere(R_MM + 0.15, 48)
    held = box([-20, -20, -20], [20, 20, 4.0]) - Solid.sphere(R_MM + 0.15, 48)
    for solid, told in ((half, set()), (held, {"bedding"})):
        bed = replace(mould, pieces=(*mould.pieces, ball, piece("bedding", "bedding", solid, tmp_path)))
        assert checks_of(check_opening.master_goes_in(bed)) == told


def test_a_fin_a_groove_and_a_thin_wall_are_told(tmp_path):
    sound = mould_of(tmp_path).of("silicone", "upper")[0].solid
    fin = sound + box([-5.0, 14.0, -6.0], [5.0, 14.5, 0.01])
    assert checks_of(check_walls.no_fins(mould_of(tmp_path, upper=fin))) == {"wall"}
    grooved = PART - box([-20.0, -0.4, 4.0], [20.0, 0.4, 20.0])
    assert checks_of(check_walls.no_fins(mould_of(tmp_path, part=grooved))) == {"groove"}
    assert not check_walls.no_fins(mould_of(tmp_path, part=grooved, findings=("thin-silicone",)))
    long = PART + cylinder(3.0, low_mm=0.0, high_mm=HALF_MM - 4.0, segments=32)
    assert checks_of(check_walls.stated_wall(mould_of(tmp_path, part=long))) == {"wall"}


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ([[R_MM - 0.5, 0, 0], [-HALF_MM - 4, 0, 0]], "through"),
        ([[0, 0, R_MM - 0.5], [0, 0, 20.4], [20.4, 0, 0], [HALF_MM + 4, 0, 0]], "beside"),
    ],
)
def test_a_channel_through_or_close_beside_the_part_is_told(tmp_path, path, words):
    rod = Rod(use="gate", path_mm=np.array(path, float), start_mm=2.0, end_mm=2.0)
    assert any(words in fault.what for fault in check_channels.clear_of_part(mould_of(tmp_path, rods=(rod, VENT))))


def test_a_channel_that_comes_out_inside_a_thin_shell_is_told(tmp_path):
    shell = PART - Solid.sphere(R_MM - 1.0, 48)
    rod = replace(GATE, path_mm=np.array([[R_MM, 0, 0], [HALF_MM + 4, 0, 0]]))
    cut = joined([shell, rod.solid, VENT.solid, Solid.sphere(2.0, 32).translate((R_MM, 0, 0))])
    upper = box([-HALF_MM, -HALF_MM, 0], [HALF_MM, HALF_MM, HALF_MM]) - cut
    faults = check_pieces.balanced(mould_of(tmp_path, part=shell, rods=(rod, VENT), upper=upper))
    assert any("gap" in fault.what for fault in faults)
    assert not check_pieces.balanced(mould_of(tmp_path, part=shell, rods=(rod, VENT)))


def test_a_mould_without_a_vent_or_with_a_blocked_channel_is_told(tmp_path):
    assert checks_of(check_channels.vented(mould_of(tmp_path, rods=(GATE,)))) == {"vent"}
    assert checks_of(check_channels.vented(mould_of(tmp_path, rods=(GATE,), findings=("vent-drilled",)))) == {"vent"}
    mould = mould_of(tmp_path)
    plugged = [
        replace(
            one,
            mesh=as_mesh(
                one.solid + box([15, -5, 0 if "upper" in one.name else -5], [17, 5, 5 if "upper" in one.name else 0])
            ),
        )
        if one.role == "silicone"
        else one
        for one in mould.pieces
    ]
    faults = check_channels.open_to_outside(replace(mould, pieces=tuple(plugged)))
    assert [fault.what.split()[0] for fault in faults] == ["gate"]


@pytest.mark.parametrize(("pa_s", "told"), [(0.02, False), (1.0, True)])
def test_that_a_gate_needs_no_vent_is_only_believed_if_it_is_wide_enough(tmp_path, pa_s, told):
    """At 0.02 Pa·s 4 mm pass 0.0082 m/s × 12.6 mm² × 60 s = 6.2 ml, at 1 Pa·s 0.12 ml; the ball holds 7.2 ml."""
    mould = mould_of(tmp_path, rods=(replace(GATE, start_mm=2.2),))
    mould.entry["findings"] = [{"code": "vent-not-needed", "what": f"wide (at {pa_s} Pa·s, 1.05 g/ml)"}]
    assert checks_of(check_channels.vented(mould)) == ({"vent"} if told else set())


def test_that_no_vent_finds_room_is_only_believed_if_no_straight_one_would(tmp_path):
    top = Rod(use="gate", path_mm=np.array([[0.0, 0, R_MM], [0, 0, HALF_MM + 4]]), start_mm=2.0, end_mm=3.0)
    mould = mould_of(tmp_path, rods=(top,), findings=("vent-no-place",))
    mould.entry["fill"]["up"] = [0.0, 0.0, 1.0]
    assert not check_channels.vented(mould)
    plate = box([-16.0, -16.0, -2.0], [16.0, 16.0, R_MM])
    wide = mould_of(tmp_path, part=plate, rods=(top,), findings=("vent-no-place",))
    wide.entry["fill"]["up"] = [0.0, 0.0, 1.0]
    assert checks_of(check_channels.vented(wide)) == {"vent"}
    wide.entry["findings"] = []
    assert checks_of(check_channels.vented(wide)) == {"vent"}


def test_a_thin_channel_that_ends_in_silicone_is_told(tmp_path):
    thin = replace(VENT, start_mm=0.3, end_mm=0.3)
    assert not check_channels.open_to_outside(mould_of(tmp_path, rods=(GATE, thin)))
    mould = mould_of(tmp_path, rods=(GATE,))
    faults = check_channels.open_to_outside(replace(mould, rods=(GATE, thin)))
    assert [fault.what.split()[0] for fault in faults] == ["vent"]


def test_air_in_cast_and_silicone_is_counted(tmp_path):
    two = joined([Solid.sphere(8.0, 48).translate((0, y, 0)) for y in (-9, 9)]) + box([-3, -9, -3], [-1, 9, 3])
    gate = Rod(use="gate", path_mm=np.array([[7.9, -9, 0], [24, -9, 0]]), start_mm=1.0, end_mm=1.0)
    air_mm3, faults = check_channels.air_in_cast(mould_of(tmp_path, part=two, rods=(gate,)))
    closed_form = np.pi * 9.0**2 * (8.0 - 9.0 / 3.0)
    assert air_mm3 == pytest.approx(closed_form, rel=0.03)
    assert checks_of(faults) == {"air"}
    assert not check_channels.air_in_cast(
        mould_of(tmp_path, part=two, rods=(gate,), said=closed_form, findings=("air-stays",))
    )[1]
    roofed = PART + box([-15, -15, 4], [15, 15, 5])
    hollow = roofed - cylinder(6.0, low_mm=-20.0, high_mm=3.0, segments=32)
    assert not check_channels.air_in_silicone(mould_of(tmp_path))
    assert checks_of(check_channels.air_in_silicone(mould_of(tmp_path, part=hollow))) <= {"silicone-air"}


def test_a_grid_holds_a_solids_volume_and_only_what_is_joined_is_reached():
    ball = Solid.sphere(10.0, 64)
    grid = grid_over(np.full(3, -10.0), np.full(3, 10.0), pitch_mm=0.4)
    filled = inside(ball, grid)
    assert filled.sum() * 0.4**3 == pytest.approx(ball.volume(), rel=5e-3)
    halves = filled.copy()
    halves[:, :, grid.shape[2] // 2] = False
    seed = np.zeros_like(halves)
    seed[grid.index_of(np.array([[-5.0, 0, 0]]))] = True
    assert reached_from(halves, seed).sum() == pytest.approx(0.5 * filled.sum(), rel=0.05)
    assert not air_left(
        filled, [(tuple(int(v[0]) for v in grid.index_of(np.array([[0, 0, 9.9]]))), np.inf)], grid
    ).any()


def test_a_channel_without_its_beginning_is_cut_off_square_and_keeps_its_width():
    """What lies behind belongs to the start, which may be near the part; a cone's section by own arithmetic."""
    later = GATE.grown(0.0, skip_mm=4.0)
    first = GATE.path_mm[0, 0] + 4.0
    assert later.bounding_box()[0] == pytest.approx(first, abs=1e-6)
    radius = 2.0 + 4.0 / np.linalg.norm(np.diff(GATE.path_mm, axis=0))
    low = later.trim_by_plane((-1.0, 0.0, 0.0), -first - 0.01)
    assert np.abs(np.array(low.bounding_box())[[1, 4]]).max() == pytest.approx(radius, rel=0.02)
