"""Channels along a bent parting surface: on it, rising, clear of the part; else straight along the draw."""

from itertools import pairwise

import igl
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fill_shapes import Solid, box, part_of
from firstpour.fill.breathing import Mix, breath_of
from firstpour.fill.cavity import cut_cavity
from firstpour.fill.channels import ChannelSizes, propose_channels
from firstpour.fill.gates import Foot, FootKind, fan_path
from firstpour.fill.routes import BESIDE_MM, keeps_off, lay_ground
from firstpour.fill.surface_ways import PartingSurface
from firstpour.fill.values import Channel, ChannelUse, MadeAs
from firstpour.fill.ways import LONE_HOOP_RATIO, Way, lay_ways
from firstpour.values import FloatArray

Z = np.array([0.0, 0.0, 1.0])
WALL_MM = 10.0


def bent(radius_mm: float, *, slope: float, wave_mm: float) -> tuple[PartingSurface, FloatArray]:
    """A surface through the great circle of a ball at the origin that leans and waves the more, the farther off."""

    def height_mm(xy: FloatArray) -> FloatArray:
        off = np.maximum(0.0, np.hypot(xy[:, 0], xy[:, 1]) - radius_mm)
        lean = slope * xy[:, 0] * off / (off + 5.0)
        height: FloatArray = lean + wave_mm * np.sin(xy[:, 1] / 4.0) * off / (off + 5.0)
        return height

    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    seam = radius_mm * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(240)])
    size = radius_mm + WALL_MM
    surface = PartingSurface(
        frame=np.eye(3), low_mm=np.full(3, -size), high_mm=np.full(3, size), height_mm=height_mm, seam_mm=(seam,)
    )
    return surface, seam


def ball(radius_mm: float):
    return part_of(Solid.sphere(radius_mm, 120))


def along(path: FloatArray) -> FloatArray:
    return np.concatenate([a + np.linspace(0, 1, 30)[:, None] * (b - a) for a, b in pairwise(path)])


@settings(max_examples=10, deadline=None)
@given(radius=st.floats(12, 30), slope=st.floats(-0.4, 0.4), wave=st.floats(0, 1.5), turn=st.floats(0, 360))
def test_on_edge_every_channel_lies_on_the_surface_rises_and_keeps_off_the_part(radius, slope, wave, turn):
    surface, _ = bent(radius, slope=slope, wave_mm=wave)
    part = ball(radius)
    a = np.radians(turn)
    plan = propose_channels(part, up=np.array([np.cos(a), np.sin(a), 0.0]), draw=Z, surface=surface)
    assert plan.gate is not None
    assert plan.vents
    for channel in plan.channels:
        assert channel.made_as is MadeAs.BOTH_HALVES
        inner = along(channel.path_mm[:-1])
        assert np.abs(inner[:, 2] - surface.height_mm(inner[:, :2])).max() < 0.3
        level = along(channel.path_mm[:-1]) @ plan.vented.up
        assert (np.maximum.accumulate(level) - level).max() < 0.5
        assert channel.path_mm[-1] @ plan.vented.up > radius
        signed = igl.signed_distance(inner, part.mesh.vertices_mm, part.mesh.faces)[0]
        steps = np.linalg.norm(np.diff(inner, axis=0), axis=1)
        ahead = np.concatenate([[0.0], np.cumsum(steps)])
        wider = channel.radius_end_mm - channel.radius_start_mm
        radius_mm = channel.radius_start_mm + wider * ahead / channel.length_mm
        left = ahead > 2.0 * (channel.radius_start_mm + BESIDE_MM)
        assert (signed[left] - radius_mm[left] > BESIDE_MM - plan.vented.pitch_mm).all()
        mouth = channel.path_mm[-1]
        assert (mouth > surface.high_mm).any() or (mouth < surface.low_mm).any()


@pytest.mark.parametrize(("gap_mm", "clear"), [(0.3, False), (1.2, False), (1.9, True), (4.0, True)])
def test_a_channel_that_grows_beside_a_wall_keeps_off_it_as_wide_as_it_is(gap_mm, clear):
    """Its mouth, 6 mm, comes as near to a wall beside it as the gap says; its start lies 3 mm farther off."""
    part = part_of(box((0, 0, -10), (60, 20, 10)) + box((0, 0, -10), (4, 80, 10)))
    ground = lay_ground(part, up=np.array([0.0, 1, 0]), draw=Z, wall_mm=10.0, spheres=None, resolution=256)
    x = 4.0 + 6.0 + gap_mm
    path = np.array([[x, 20.0, 0.0], [x, 80.0, 0.0]])
    assert keeps_off(ground, path, radius_mm=3.0, mouth_mm=6.0) is clear


def test_where_the_surface_lies_flat_channels_run_straight_along_the_draw_and_hardly_widen():
    surface, _ = bent(20.0, slope=0.0, wave_mm=0.0)
    plan = propose_channels(ball(20.0), up=Z, draw=Z, surface=surface)
    assert plan.gate is not None
    assert plan.gate.made_as is MadeAs.LOOSE_ROD
    assert {vent.made_as for vent in plan.vents} == {MadeAs.DRILLED}
    for channel in plan.channels:
        step = channel.path_mm[1] - channel.path_mm[0]
        assert np.abs(step[:2]).max() < 1e-9
        assert channel.radius_end_mm <= (1 + LONE_HOOP_RATIO) * channel.radius_start_mm + 1e-9
    assert {"gate-lone", "vent-drilled"} <= {finding.code for finding in plan.findings}


def test_a_loose_rod_stands_on_the_part_with_its_whole_foot_though_the_parting_line_runs_round_the_edge():
    """All round the top edge lies the parting line, which comes first; a rod there would hang over the edge."""
    disc = part_of(Solid.cylinder(10.0, 25.0, 25.0, 96).translate((0.0, 0.0, -9.0)))
    surface, _ = bent(25.0, slope=0.0, wave_mm=0.0)
    plan = propose_channels(disc, up=Z, draw=Z, surface=surface)
    assert plan.gate is not None
    assert plan.gate.made_as is MadeAs.LOOSE_ROD
    assert np.hypot(*plan.gate.at_mm[:2]) + plan.gate.radius_start_mm < 25.0
    assert plan.gate.at_mm[2] == pytest.approx(1.0, abs=0.05)


def test_a_rod_that_hangs_over_is_better_than_no_gate():
    """A roof of 60°: nowhere along its ridge does the whole foot stand on it."""
    below = box((-25, -6, -9), (25, 6, 0))
    ridge = Solid.hull_points([(x, y, z) for x in (-25, 25) for y, z in ((-6, 0), (6, 0), (0, 6 * 3**0.5))])
    bar = part_of(below + ridge)
    size = np.array([35.0, 16.0, 21.0])
    line = np.array([[-25.0, -6, 0], [25, -6, 0], [25, 6, 0], [-25, 6, 0]])
    surface = PartingSurface(
        frame=np.eye(3), low_mm=-size, high_mm=size, height_mm=lambda xy: np.zeros(len(xy)), seam_mm=(line,)
    )
    plan = propose_channels(bar, up=Z, draw=Z, surface=surface)
    assert plan.gate is not None
    assert plan.gate.made_as is MadeAs.LOOSE_ROD


def test_a_gate_that_can_leave_neither_way_is_an_error_and_says_where():
    surface, _ = bent(20.0, slope=0.0, wave_mm=0.0)
    inside = np.array([0.0, 0.0, 20.0])
    plan = propose_channels(ball(20.0), up=np.array([1.0, 0, 0]), draw=Z, surface=surface, gates_mm=(inside,))
    assert plan.gates == ()
    (blocked,) = [finding for finding in plan.findings if finding.code == "gate-blocked"]
    assert blocked.where is not None


def test_a_closed_mould_with_one_peak_gets_a_vent_beside_its_gate_and_high_up():
    surface, _ = bent(20.0, slope=0.0, wave_mm=0.0)
    plan = propose_channels(ball(20.0), up=np.array([1.0, 0, 0]), draw=Z, surface=surface)
    (vent,) = plan.vents
    apart = np.linalg.norm(vent.at_mm - plan.gate.at_mm)
    assert 2 * plan.gate.radius_start_mm < apart < 15
    assert vent.at_mm[0] > 14


@pytest.mark.parametrize(("radius_mm", "breathes"), [(3.0, False), (5.0, True)])
def test_a_wide_gate_breathes_for_a_small_cavity(radius_mm, breathes):
    """8 ml: a 10 mm gate passes 33 ml of air a minute in a mix of 1 Pa·s, a 6 mm gate 1.9 ml (formulas.bubbles)."""
    part = part_of(box((0, 0, 0), (20, 20, 20)))
    plan = propose_channels(part, up=Z, sizes=ChannelSizes(gate_radius_mm=radius_mm))
    assert breath_of(_cavity(part), plan.gate, mix=Mix()).serves is breathes
    assert bool(plan.vents) is not breathes


@pytest.mark.parametrize(("viscosity_pa_s", "breathes"), [(0.2, True), (1.0, False), (20.0, False)])
def test_a_thin_mix_breathes_through_a_gate_that_a_thick_one_closes(viscosity_pa_s, breathes):
    """8 ml through a gate of 7 mm: 4.5 ml of air a minute at 1 Pa·s, above 8 ml at a fifth of that (Wallis's law)."""
    part = part_of(box((0, 0, 0), (20, 20, 20)))
    mix = Mix(viscosity_pa_s=viscosity_pa_s)
    plan = propose_channels(part, up=Z, sizes=ChannelSizes(gate_radius_mm=3.5), mix=mix)
    assert breath_of(_cavity(part), plan.gate, mix=mix).serves is breathes
    assert bool(plan.vents) is not breathes


def test_the_vent_that_breathes_goes_to_the_highest_places_and_there_the_farthest():
    step = part_of(box((0, 0, 0), (60, 20, 10)) + box((0, 0, 0), (40, 20, 20)))
    plan = propose_channels(step, up=Z, gates_mm=(np.array([5.0, 10, 20]),))
    (vent,) = plan.vents
    assert vent.at_mm[2] == pytest.approx(20)
    assert vent.at_mm[0] > 38
    assert "while the gate is full" in vent.reason


def _cavity(part):
    from firstpour.fill.cavity import cut_cavity

    return cut_cavity(part, Z, resolution=64)


def test_several_gates_may_be_given_and_fill_bodies_of_their_own():
    part = part_of(box((0, 0, 0), (20, 20, 20)) + box((40, 0, 0), (60, 20, 18)))
    places = (np.array([10.0, 10, 20]), np.array([50.0, 10, 18]))
    plan = propose_channels(part, up=Z, gates_mm=places)
    assert len(plan.gates) == 2
    assert {channel.use for channel in plan.channels} == {ChannelUse.GATE, ChannelUse.VENT}
    assert "never-fills" not in {finding.code for finding in plan.findings}
    assert plan.vented.unfilled_mm3 == 0


def test_a_pointed_tip_lies_inside_the_gate_and_a_leg_does_not():
    cone = part_of(Solid.cylinder(30.0, 12.0, 0.4, 96))
    tip = propose_channels(cone, up=Z).gate
    assert tip.radius_start_mm == 3.0
    width_at_end = 0.4 + (12.0 - 0.4) * tip.sink_mm / 30.0
    assert tip.sink_mm > 3.0
    assert width_at_end <= 3.0
    leg = part_of(box((0, 0, 0), (20, 20, 8)) + box((8.5, 8.5, 7), (11.5, 11.5, 30)))
    assert "gate-on-tip" not in {finding.code for finding in propose_channels(leg, up=Z).findings}


def test_a_thin_rim_on_the_parting_line_takes_a_fan():
    thin = part_of(box((-30, -20, -1), (30, 20, 1)))
    seam = np.array([[-30.0, -20, 0], [30, -20, 0], [30, 20, 0], [-30, 20, 0]])
    surface = PartingSurface(
        frame=np.eye(3),
        low_mm=np.array([-40.0, -30, -9]),
        high_mm=np.array([40.0, 30, 9]),
        height_mm=lambda xy: np.zeros(len(xy)),
        seam_mm=(seam,),
    )
    gate = propose_channels(thin, up=np.array([0.0, 1, 0]), draw=Z, surface=surface, resolution=256).gate
    length = float(np.linalg.norm(np.diff(gate.feet_mm, axis=0), axis=1).sum())
    assert 2 * gate.foot_radius_mm * length == pytest.approx(np.pi * 9.0, rel=0.2)
    assert 2 * gate.foot_radius_mm < 2.0
    assert gate.radius_start_mm == 3.0


def test_a_fan_on_a_round_rim_keeps_to_where_the_line_runs_nearly_level():
    """A disc on edge, 1.6 mm thick: farther down than 27° the feet would come out behind the rim."""
    disc = part_of(Solid.cylinder(1.6, 20.0, 20.0, 240).translate((0.0, 0.0, -0.8)))
    surface, _ = bent(20.0, slope=0.0, wave_mm=0.0)
    gate = propose_channels(disc, up=np.array([1.0, 0, 0]), draw=Z, surface=surface, resolution=256).gate
    assert len(gate.feet_mm) >= 3
    turn = np.degrees(np.arctan2(gate.feet_mm[:, 1], gate.feet_mm[:, 0]))
    assert turn.min() < -15.0
    assert turn.max() > 15.0
    assert np.abs(turn).max() < 29.0
    outside = np.hypot(gate.feet_mm[:, 0], gate.feet_mm[:, 1])
    assert outside == pytest.approx(20.0, abs=0.02)


def test_a_cone_resists_as_its_straight_length_does():
    """Poiseuille's resistance summed over 20,000 slices of a cone from 2 to 5 mm, 30 mm long."""
    channel = Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0, 0], [0, 0, 30]]), radius_start_mm=2.0, radius_end_mm=5.0
    )
    radii = 2.0 + 3.0 * (np.arange(20_000) + 0.5) / 20_000
    assert channel.straight_length_mm == pytest.approx((30 / 20_000 * (2.0 / radii) ** 4).sum(), rel=1e-6)


@pytest.mark.parametrize(("angle_deg", "clear"), [(20.0, False), (60.0, True)])
def test_a_wedge_of_silicone_behind_a_channel_that_leaves_askew_is_seen(angle_deg, clear):
    """After 9 mm of its way, 3.7 mm wide, at 20° its axis is 9 sin 20° = 3.1 mm off the face."""
    part = part_of(box((-60, -20, -30), (60, 0, 30)))
    ground = lay_ground(part, up=np.array([0.0, 1, 0]), draw=Z, wall_mm=10.0, spheres=None, resolution=256)
    angle = np.radians(angle_deg)
    path = np.array([[0.0, 0.0, 0.0], 40.0 * np.array([np.cos(angle), np.sin(angle), 0.0])])
    assert keeps_off(ground, path, radius_mm=3.0, mouth_mm=6.0) is clear


def test_a_thin_wall_beside_a_channel_is_not_missed_between_the_circles():
    """A wall of 1.2 mm that reaches into the channel, a third of its radius from the axis."""
    part = part_of(box((0, 0, -10), (60, 20, 10)) + box((18.6, 0, -10), (19.8, 80, 10)))
    ground = lay_ground(part, up=np.array([0.0, 1, 0]), draw=Z, wall_mm=10.0, spheres=None, resolution=256)
    path = np.array([[21.3, 20.0, 0.0], [21.3, 80.0, 0.0]])
    assert not keeps_off(ground, path, radius_mm=5.0, mouth_mm=5.0)


@pytest.mark.parametrize(("slope", "fans"), [(0.0, True), (3.0, False)])
def test_no_fan_where_its_neck_would_lie_under_its_feet_along_the_draw(slope, fans):
    """A thin plate whose rim the surface leaves level, or falling at 72°: there the fan would be undercut."""
    part = part_of(box((-30, -20, -0.8), (30, 0, 0.8)))
    low, high = np.array([-40.0, -30, -60]), np.array([40.0, 30, 20])
    surface = PartingSurface(
        frame=np.eye(3),
        low_mm=low,
        high_mm=high,
        height_mm=lambda xy: -slope * np.maximum(xy[:, 1], 0.0),
        seam_mm=(np.array([[-30.0, -20, 0], [30, -20, 0], [30, 0, 0], [-30, 0, 0]]),),
    )
    cavity = cut_cavity(part, np.array([0.0, 1, 0]), resolution=128)
    ways = lay_ways(cavity, draw=Z, surface=surface, wall_mm=10.0, spheres=None)
    feet = np.column_stack([np.linspace(-6.0, 6.0, 9), np.zeros(9), np.zeros(9)])
    foot = Foot(kind=FootKind.FAN, radius_mm=3.0, width_mm=1.6, feet_mm=feet, foot_radius_mm=0.6)
    path = np.array([[0.0, 0, 0], [0.0, 8.0, -8.0 * slope], [0.0, 16.0, -16.0 * slope]])
    way = Way(path_mm=path, made_as=MadeAs.BOTH_HALVES, mouth_mm=6.0)
    assert (fan_path(ways, way, foot) is not None) is fans
