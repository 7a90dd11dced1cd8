"""Mouths of gate and vents: the level at which they run over, and that a vent leaves beside the gate where it can."""

import numpy as np
import pytest

from fill_shapes import Solid, part_of
from firstpour.fill.channels import propose_channels
from firstpour.fill.mouths import runs_over_at_mm, runs_over_findings
from firstpour.fill.routes import Ground, lay_ground
from firstpour.fill.surface_ways import PartingSurface, lay_plan, surface_way
from firstpour.fill.values import Channel, ChannelUse
from firstpour.values import FloatArray

Z = np.array([0.0, 0.0, 1.0])
X = np.array([1.0, 0.0, 0.0])
SIZE_MM = 30.0
BALL = part_of(Solid.sphere(20.0, 120))


def flat() -> PartingSurface:
    """The level surface through the great circle of the ball."""
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    seam = 20.0 * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(240)])
    size = np.full(3, SIZE_MM)
    return PartingSurface(
        frame=np.eye(3), low_mm=-size, high_mm=size, height_mm=lambda xy: np.zeros(len(xy)), seam_mm=(seam,)
    )


def ground(up: FloatArray) -> Ground:
    """The ball in a block of 60 mm a side, its sides along the axes."""
    laid = lay_ground(BALL, up=up, draw=Z, wall_mm=10.0, spheres=None, resolution=64)
    assert np.allclose(np.abs(laid.box).sum(axis=1), 1.0)
    return laid


def channel(use: ChannelUse, *path: tuple[float, float, float], radius_mm: float) -> Channel:
    return Channel(use=use, path_mm=np.array(path), radius_start_mm=radius_mm, radius_end_mm=radius_mm)


@pytest.mark.parametrize("lean_deg", [0.0, 20.0, 45.0, 90.0])
def test_a_mouth_runs_over_at_its_lowest_place(lean_deg):
    """Of a mouth of 4 mm in the side at x = 30: own arithmetic, against the rim of the mouth point by point."""
    lean = np.radians(lean_deg)
    up = np.cos(lean) * X + np.sin(lean) * np.array([0.0, 1.0, 0.0])
    rod = channel(ChannelUse.GATE, (20, 0, 0), (25, 3, 0), (40, 3, 0), radius_mm=4.0)
    turn = np.linspace(0, 2 * np.pi, 721)
    rim = np.column_stack([np.full(721, SIZE_MM), 3 + 4 * np.cos(turn), 4 * np.sin(turn)])
    assert runs_over_at_mm(ground(up), rod) == pytest.approx((rim @ up).min(), abs=1e-3)


def test_a_vent_through_an_upright_side_is_told_with_how_far_below_the_gate_it_runs_over():
    gate = channel(ChannelUse.GATE, (20, 0, 0), (40, 0, 0), radius_mm=6.0)
    beside = channel(ChannelUse.VENT, (14, 14, 0), (40, 14, 0), radius_mm=2.0)
    aside = channel(ChannelUse.VENT, (14, 14, 0), (22, 22, 0), (22, 40, 0), radius_mm=2.0)
    assert runs_over_findings(ground(X), [gate], [beside]) == []
    (told,) = runs_over_findings(ground(X), [gate], [beside, aside])
    assert told.code == "vent-runs-over"
    assert "10 mm below" in told.what  # the side on top at 30 mm, the lowest place of the mouth at 22 - 2 mm


@pytest.mark.parametrize(("high_mm", "told"), [(29.6, False), (29.0, True)])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_vent_that_runs_over_a_millimetre_too_low_is_told_whichever_side_it_leaves_by(high_mm, told, side):
    """The gate is full at 30 mm; the lowest place of a mouth of 0.5 mm lies 0.9 or 1.5 mm below that."""
    gate = channel(ChannelUse.GATE, (20, 0, 0), (40, 0, 0), radius_mm=6.0)
    vent = channel(ChannelUse.VENT, (14, 0, 0), (high_mm, 14 * side, 0), (high_mm, 40 * side, 0), radius_mm=0.5)
    assert bool(runs_over_findings(ground(X), [gate], [vent])) is told


def test_of_two_gates_the_one_that_runs_over_first_says_how_full_the_mould_gets():
    gates = [
        channel(ChannelUse.GATE, (20, 0, 0), (40, 0, 0), radius_mm=6.0),
        channel(ChannelUse.GATE, (14, 14, 0), (22, 14, 0), (22, 40, 0), radius_mm=2.0),
    ]
    vent = channel(ChannelUse.VENT, (14, -14, 0), (24, -14, 0), (24, -40, 0), radius_mm=2.0)
    assert runs_over_findings(ground(X), gates, [vent]) == []
    assert runs_over_findings(ground(X), gates[:1], [vent]) != []


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_mouth_lies_where_a_rising_channel_leaves_the_block(side):
    """From 14 to 40 mm out it rises from 20 to 26: at the side, 30 mm out, it is 20 + 6 · 16 / 26 high, less 2."""
    rod = channel(ChannelUse.VENT, (14, 0, 0), (20, 14 * side, 0), (26, 40 * side, 0), radius_mm=2.0)
    assert runs_over_at_mm(ground(X), rod) == pytest.approx(20.0 + 6.0 * 16.0 / 26.0 - 2.0)


def test_a_last_stretch_may_be_short_or_end_within_the_block():
    """Out by the side at y = 30, 22 mm up, with a mouth of 2 mm; and towards the side on top, ended at 24 mm."""
    short = channel(ChannelUse.VENT, (14, 14, 0), (22, 29.5, 0), (22, 30.4, 0), radius_mm=2.0)
    assert runs_over_at_mm(ground(X), short) == pytest.approx(20.0)
    inside = channel(ChannelUse.VENT, (20, 0, 0), (24, 5, 0), radius_mm=2.0)
    assert runs_over_at_mm(ground(X), inside) == pytest.approx(24.0)


def test_a_vent_leaves_by_the_side_on_top_and_by_another_only_where_that_is_taken():
    plan = lay_plan(BALL.mesh, flat(), up=X)
    at = 20.0 * np.array([np.cos(0.6), np.sin(0.6), 0.0])

    def way(*taken: tuple[FloatArray, float]) -> FloatArray:
        path = surface_way(plan, at, radius_mm=1.0, mouth_mm=2.0, gate=False, clear=lambda _: True, taken=taken)
        assert path is not None
        return path

    across = (np.array([[28.0, -40, 0], [28, 40, 0]]), 1.0)
    assert way()[-1, 0] > SIZE_MM
    assert abs(way(across)[-1, 1]) > SIZE_MM
    assert way(across)[-1, 0] - 2.0 > 20.0 - plan.cell_mm  # the whole mouth above the ball


def test_a_ball_on_edge_has_vents_that_run_over_no_earlier_than_its_gate():
    plan = propose_channels(BALL, up=X, draw=Z, surface=flat())
    assert plan.vents
    assert "vent-runs-over" not in {finding.code for finding in plan.findings}
    levels = [runs_over_at_mm(ground(X), one) for one in plan.channels]
    assert np.ptp(levels) == pytest.approx(0.0, abs=1e-6)


def test_a_mould_without_a_gate_tells_of_no_level():
    vent = channel(ChannelUse.VENT, (14, 14, 0), (40, 14, 0), radius_mm=2.0)
    assert runs_over_findings(ground(X), [], [vent]) == []
