from itertools import pairwise

import igl
import numpy as np
import pytest

from fill_shapes import SOLIDS, UP, box, box_with_dome, joined, part_of, shown_dome
from firstpour.fill.channels import propose_channels
from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import PlaceKind
from firstpour.part.part import FaceMark, Part


def away_mm(part: Part, path: np.ndarray, beyond_mm: float) -> np.ndarray:
    """Distance of points along a path, past its start, from the part, by libigl: positive outside."""
    points = np.concatenate([a + np.linspace(0, 1, 60)[:, None] * (b - a) for a, b in pairwise(path)])
    signed = igl.signed_distance(points, part.mesh.vertices_mm, part.mesh.faces)[0]
    return signed[np.linalg.norm(points - path[0], axis=1) > beyond_mm]


def test_a_table_upside_down_gets_a_gate_and_three_vents():
    part = part_of(SOLIDS["table"])
    plan = propose_channels(part, up=-UP)
    assert plan.gate is not None
    assert len(plan.vents) == 3
    assert plan.gate_alone.trapped_mm3 == pytest.approx(3 * 72, rel=0.03)
    assert plan.vented.trapped_mm3 == 0
    feet = {tuple(np.sign(np.round(route.at_mm[:2] - 10)).astype(int)) for route in plan.channels}
    assert feet == {(1, 1), (1, -1), (-1, 1), (-1, -1)}


def test_the_openings_proposed_leave_no_air_when_fill_is_run_again():
    part = box_with_dome()
    plan = propose_channels(part, up=UP)
    again = find_pockets(part, up=UP, gate_mm=plan.gate.at_mm, vents_mm=tuple(v.at_mm for v in plan.vents))
    assert plan.gate_alone.trapped_mm3 > 3000
    assert again.trapped_mm3 <= 4.0


@pytest.mark.parametrize("up", [(0, 0, -1), (1, 0, 0), (0.3, 0.5, 0.6), (-0.7, 0.1, 0.5)])
def test_channels_keep_off_the_part_by_libigls_signed_distance(up):
    part = part_of(SOLIDS["table"])
    plan = propose_channels(part, up=np.array(up, dtype=float))
    routes = [route for route in plan.channels if route is not None]
    assert routes
    high = (part.mesh.vertices_mm @ plan.vented.up).max()
    for route in routes:
        assert away_mm(part, route.path_mm, 3.0 * route.radius_start_mm).min() > route.radius_start_mm
        assert route.path_mm[-1] @ plan.vented.up > high
        assert route.reason


def overhung() -> Part:
    """A foot with a pocket under a roof that hangs over it: a vent straight up would run into the roof."""
    post = box((0, 0, 0), (8, 20, 40))
    return part_of(
        joined(post, box((0, -20, 32), (50, 40, 40)), box((0, 0, 0), (30, 20, 6)), box((20, 5, 5), (28, 15, 14)))
    )


def test_a_vent_under_an_overhang_goes_out_from_under_it():
    part = overhung()
    plan = propose_channels(part, up=UP)
    (vent,) = [one for one in plan.vents if "mm³" in one.reason]
    assert len(vent.path_mm) == 3
    assert away_mm(part, vent.path_mm, 2.5 * vent.radius_end_mm).min() > vent.radius_end_mm
    assert plan.vented.trapped_mm3 == pytest.approx(0, abs=1)


def test_channels_keep_off_keys_and_each_other():
    part = part_of(SOLIDS["table"])
    free = propose_channels(part, up=-UP)
    key = np.array([[*(free.vents[0].at_mm - 9 * UP), 2.0]])
    kept = propose_channels(part, up=-UP, spheres=key)
    from firstpour.fill.places import polyline_distance_mm

    for route in kept.channels:
        assert polyline_distance_mm(key[:, :3], route.path_mm)[0] >= 2.0 + route.radius_end_mm
    paths = [route.path_mm for route in kept.channels]
    assert min(polyline_distance_mm(a, b).min() for i, a in enumerate(paths) for b in paths[:i]) >= 2.0


def test_no_opening_goes_on_a_show_face_where_a_hidden_one_serves():
    plan = propose_channels(shown_dome(), up=-UP)
    assert plan.gate.place is PlaceKind.HIDDEN
    assert plan.findings == ()


def test_an_opening_on_a_show_face_says_so_and_why():
    shown = part_of(SOLIDS["table"], mark=FaceMark.SHOW)
    plan = propose_channels(shown, up=-UP)
    assert {f.code for f in plan.findings} == {"gate-show", "vent-show", "gate-narrowed"}
    assert all(f.remedy for f in plan.findings)
    assert plan.gate.radius_start_mm == pytest.approx(0.4 * 3, rel=0.1)
    assert "nothing better" in plan.vents[0].reason


def test_a_vent_goes_to_the_half_of_its_peak_that_is_not_shown():
    mesh = part_of(SOLIDS["u"].refine(6)).mesh
    centres = mesh.vertices_mm[mesh.faces].mean(axis=1)
    shown = (centres[:, 0] > 14) & (centres[:, 2] > 18.99) & (centres[:, 1] < 2.5)
    marks = np.where(shown, int(FaceMark.SHOW), int(FaceMark.HIDDEN)).astype(np.uint8)
    (vent,) = propose_channels(Part(name="u", mesh=mesh, marks=marks), up=UP).vents
    assert vent.place is PlaceKind.HIDDEN
    assert vent.at_mm[1] > 2.5
    marks = np.where(shown, int(FaceMark.HIDDEN), int(FaceMark.SHOW)).astype(np.uint8)
    (vent,) = propose_channels(Part(name="u", mesh=mesh, marks=marks), up=UP).vents
    assert vent.at_mm[1] < 2.5


def test_a_gate_and_vents_of_the_users_own_stay_where_they_are():
    part = part_of(SOLIDS["table"])
    gate, vent = np.array([10.0, 10.0, 8.0]), np.array([1.5, 1.5, 0.0])
    plan = propose_channels(part, up=-UP, gates_mm=(gate,), vents_mm=(vent,))
    assert plan.gate.at_mm == pytest.approx(gate)
    assert plan.gate.reason == "given"
    assert plan.vents[0].at_mm == pytest.approx(vent)
    assert plan.vents[0].reason == "given"
    assert len(plan.vents) == 4
    assert plan.vented.trapped_mm3 == 0


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 70.0])
def test_a_gate_on_a_thin_rim_is_no_wider_than_the_rim_allows(turn):
    wall = box((-30, -1.5, 0), (30, 1.5, 20)).rotate((0.0, 0.0, turn))
    plan = propose_channels(part_of(wall), up=UP)
    assert 2 * plan.gate.radius_start_mm == pytest.approx(0.8 * 3.0, abs=0.8 * np.sqrt(2) * plan.vented.pitch_mm)
    assert "gate-narrowed" in {f.code for f in plan.findings}
    thick = propose_channels(part_of(box((-30, -10, 0), (30, 10, 20)).rotate((0.0, 0.0, turn))), up=UP)
    assert thick.gate.radius_start_mm == 3.0
    assert {f.code for f in thick.findings} <= {"vent-narrowed"}
