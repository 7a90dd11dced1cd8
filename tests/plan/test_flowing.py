"""What the flow of a part's pour is reckoned with, by hand from the gate's own shape."""

from dataclasses import dataclass, replace
from types import SimpleNamespace as Some

import numpy as np
import pytest

from firstpour.fill.breathing import Mix
from firstpour.fill.flow import Liquid
from firstpour.fill.values import Channel, ChannelUse
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldSettings
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.plan import filling, flowing
from firstpour.plan.filling import SLOW_S, flow_through, plan_fill
from firstpour.plan.flowing import flow_of
from firstpour.values import Finding, Severity
from mould_shapes import Z, as_part
from turning_table import roller

UP = np.array([0.48, 0.6, 0.64])
POURED = Some(liquid="resin", time_left_s=90.0)


def gate(*path_mm, mouth_mm=6.0):
    """A gate of radius 3 at the part."""
    return Channel(use=ChannelUse.GATE, path_mm=np.array(path_mm), radius_start_mm=3.0, radius_end_mm=mouth_mm)


def fill_with(channel):
    return Some(up=UP, plan=Some(gate=channel, widest_gate_mm=4.5, vented=Some(up=UP)))


@pytest.fixture
def given(monkeypatch):
    """What the flow is asked with, through a gate."""

    def asked(channel):
        monkeypatch.setattr(filling, "pour_flow", lambda part, **words: {"part": part, **words})
        return flow_of("part", fill_with(channel), POURED)

    return asked


def test_the_flow_is_asked_with_what_the_fill_and_the_materials_say(given):
    asked = given(gate((0.0, 0.0, 10.0), (0.0, 0.0, 30.0)))
    assert asked["up"] == pytest.approx((0.48, 0.6, 0.64))
    assert (asked["part"], asked["liquid"], asked["time_left_s"]) == ("part", "resin", 90.0)
    assert (asked["gate_radius_mm"], asked["widest_gate_mm"]) == (3.0, 4.5)


def test_the_head_is_the_rise_of_the_gate_along_up_from_its_first_to_its_last_point(given):
    asked = given(gate(5.0 * UP, 9.0 * UP + [8.0, 0.0, 0.0], 35.0 * UP))
    assert asked["head_mm"] == pytest.approx(30.0)


def test_a_level_gate_has_the_head_of_a_filled_gate(given):
    across = np.array([0.64, 0.0, -0.48])
    assert given(gate(10.0 * UP, 10.0 * UP + 30.0 * across))["head_mm"] == 5.0


def test_a_cone_resists_like_a_shorter_pipe_and_no_gate_is_shorter_than_two_of_its_widths(given):
    """From radius 3 to 6 the ∫ (3/r)⁴ dx over a length L is 7/24 L: 35 of 120 mm, 5.8 of 20 mm; 4 radii are 12."""
    assert given(gate((0.0, 0.0, 0.0), (0.0, 0.0, 120.0)))["gate_length_mm"] == pytest.approx(35.0)
    assert given(gate((0.0, 0.0, 0.0), (0.0, 0.0, 20.0)))["gate_length_mm"] == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("fill", "poured"),
    [
        (None, POURED),
        (fill_with(None), POURED),
        (fill_with(gate((0.0, 0.0, 0.0), (0.0, 0.0, 20.0))), Some(liquid=None, time_left_s=0.0)),
    ],
)
def test_without_gate_or_material_there_is_no_flow(fill, poured):
    assert flow_of("part", fill, poured) is None


@dataclass(frozen=True)
class Flow:
    """A flow, as far as parts together are told of it."""

    fill_s: float | None
    volume_ml: float
    name: str
    findings: tuple = ()


def together(monkeypatch, *flows):
    """Parts of which the mould holds one, two, three …, each with its flow; flows of all."""
    members = [
        Some(part=flow, fill="fill", member=Some(request=PartRequest(name=f"part {n}")), in_mould=(0,) * n)
        for n, flow in enumerate(flows, start=1)
    ]
    monkeypatch.setattr(flowing, "flow_of", lambda part, fill, poured: part)
    return flowing.flow_of_all(members, POURED)


def test_parts_together_are_filled_one_after_the_other_and_the_slowest_is_told(monkeypatch):
    """One of 10 s and 4 ml, two of 30 s and 5 ml, three of 20 s and 6 ml: 130 s and 32 ml."""
    late = Finding(severity=Severity.INFO, code="late", what="w", remedy="r", where="gate")
    whole = together(
        monkeypatch, Flow(10.0, 4.0, "quick"), Flow(30.0, 5.0, "slow", findings=(late,)), Flow(20.0, 6.0, "middling")
    )
    assert (whole.name, whole.fill_s, whole.volume_ml) == ("slow", 130.0, 32.0)
    assert whole.findings == (replace(late, where="part 2, gate"),)


def test_one_that_never_passes_is_slower_than_any_and_leaves_no_minutes(monkeypatch):
    whole = together(monkeypatch, Flow(900.0, 4.0, "slow"), Flow(None, 5.0, "never"))
    assert (whole.name, whole.fill_s, whole.volume_ml) == ("never", None, 14.0)


def test_where_the_flow_of_one_part_is_not_known_nothing_is_told_of_all(monkeypatch):
    assert together(monkeypatch, Flow(10.0, 4.0, "known"), None) is None
    assert together(monkeypatch, None) is None
    assert together(monkeypatch) is None


def test_a_thick_mix_is_poured_where_its_gate_is_short_and_wide():
    """Through its thin edge a ribbed roller fills in minutes; straight up, through its broad end, in one."""
    part = as_part("roller", roller())
    settings = MouldSettings()
    one = lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS, sizes=settings.parting)
    thin, thick = Mix(viscosity_pa_s=0.1), Mix(viscosity_pa_s=3.0)
    through = {}
    for mix in (thin, thick):
        fill = plan_fill(part, one, PartRequest(name="roller"), settings, mix=mix)
        liquid = Liquid(viscosity_pa_s=3.0, density_g_ml=1.05)
        through[mix.viscosity_pa_s] = (fill, flow_through(part, fill.plan, liquid, time_left_s=600.0).fill_s)
    (leaning, slow_s), (flat, quick_s) = through[0.1], through[3.0]
    assert abs(leaning.up @ Z) < 0.9
    assert abs(flat.up @ Z) == pytest.approx(1.0)
    assert quick_s < SLOW_S < slow_s
    assert flat.plan.vented.trapped_mm3 <= leaning.plan.vented.trapped_mm3
