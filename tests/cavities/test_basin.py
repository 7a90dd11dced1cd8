"""One basin over the gates of several cavities: its volume and its runner by exact booleans, its pour by hand."""

from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest

from firstpour.cavities.lay import lay_cavities
from firstpour.choosing.counts import pours_in
from firstpour.choosing.decide import decide_materials
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import casting_trial
from firstpour.errors import BadJob
from firstpour.fill.values import ChannelUse, MadeAs
from firstpour.job.job import PartRequest
from firstpour.job.together import together
from firstpour.mould.basin import DEEP_MM, GRIP_MM, LEAST_WIDE_MM, Basin, basin_of, gates_of
from firstpour.mould.channels import channel_solid
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.plan.cavity_room import cavity_room
from firstpour.plan.filling import plan_fill
from firstpour.surface.solids import to_solid
from mould_shapes import Y, Z, as_part, turned_profile
from routes_shapes import SHELF
from shelf_samples import shipped

SETTINGS, MATERIALS = MouldSettings(), MouldMaterials()
PRINTER_MM = (220.0, 220.0, 250.0)
PART = "pulley"


def pulley():
    profile = [(2.0, 0.0), (14.0, 0.0), (14.0, 2.0), (11.0, 5.0), (14.0, 8.0), (14.0, 10.0), (2.0, 10.0)]
    return as_part(PART, turned_profile(profile, segments=48))


@cache
def four(*, up=(0.0, 0.0, 1.0)):
    part = pulley()
    one = lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS, sizes=SETTINGS.parting)
    fill = plan_fill(part, one, PartRequest(name=PART, up=up), SETTINGS)
    return lay_cavities(
        part, one, fill.channels, up=fill.up, wanted=4, settings=SETTINGS, materials=MATERIALS,
        printer_mm=PRINTER_MM, room=4,
    )  # fmt: skip


@cache
def mould(*, basin: bool, up=(0.0, 0.0, 1.0)):
    several = four(up=up)
    return make_mould(
        several.parting, settings=SETTINGS, materials=MATERIALS, channels=several.channels,
        printer_mm=PRINTER_MM, cavities=4, basin=basin,
    )  # fmt: skip


def solid_of(made, name: str) -> manifold3d.Manifold:
    """In the frame of the draw, which is the part's own here."""
    return to_solid(next(piece.mesh for piece in made.pieces if piece.name == name))


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)])
def test_the_half_with_the_gates_is_less_by_the_trough_and_the_shot_more(up) -> None:
    own, one = mould(basin=False, up=up), mould(basin=True, up=up)
    assert one.basin is not None
    half, other = ("upper", "lower") if up[2] > 0 else ("lower", "upper")
    trough = one.basin.solid()
    before, after = solid_of(own, f"silicone-{half}"), solid_of(one, f"silicone-{half}")
    assert after.volume() == pytest.approx((before - trough).volume(), abs=0.5)
    assert solid_of(one, f"silicone-{other}").volume() == pytest.approx(
        solid_of(own, f"silicone-{other}").volume(), abs=0.5
    )
    rods = manifold3d.Manifold.batch_boolean(
        [channel_solid(gate) for gate in gates_of(one.channels)], manifold3d.OpType.Add
    )
    more_ml = (trough - rods).volume() / 1000.0
    assert 4 * (one.casting_ml - own.casting_ml) == pytest.approx(more_ml, rel=0.01)
    assert one.basin.deep_mm == pytest.approx(min(DEEP_MM, 0.5 * SETTINGS.wall_mm))
    assert one.basin.wide_mm >= LEAST_WIDE_MM


def test_the_runner_is_one_piece_with_a_rod_to_each_gate_and_is_pulled_out_straight() -> None:
    one = mould(basin=True)
    assert [piece.name for piece in one.pieces if "rod" in piece.name or piece.name == "runner"] == ["runner"]
    runner, silicone = solid_of(one, "runner"), solid_of(one, "silicone-upper")
    assert len(runner.decompose()) == 1
    for gate in gates_of(one.channels):
        assert (runner ^ channel_solid(gate)).volume() == pytest.approx(channel_solid(gate).volume(), rel=0.02)
    assert (runner ^ silicone).volume() == pytest.approx(0.0, abs=1e-3)
    top = float(silicone.bounding_box()[5])
    back = float(runner.bounding_box()[5])
    assert back >= top + GRIP_MM - 0.01
    below_mm = (
        runner ^ manifold3d.Manifold.cube((400.0, 400.0, 0.1), True).translate((0.0, 0.0, back - 0.06))
    ).volume()
    assert one.basin is not None
    assert below_mm == pytest.approx(0.1 * one.basin.plan.area, rel=0.2)
    for rise_mm in (0.5, 2.0, 5.0, 10.0, 20.0):
        assert (runner.translate((0.0, 0.0, rise_mm)) ^ silicone).volume() < 1.0, rise_mm


def test_every_gate_opens_into_the_basin_and_no_vent_does() -> None:
    one = mould(basin=True)
    assert one.basin is not None
    trough = one.basin.solid(above_mm=1.0)
    for channel in one.channels:
        met = (trough ^ channel_solid(channel)).volume()
        assert (met > 1.0) is (channel.use is ChannelUse.GATE), channel.use
    assert one.basin.gates == 4


def test_gates_that_leave_along_the_parting_surface_have_none_and_it_is_said() -> None:
    made = mould(basin=True, up=tuple(Y))
    assert any(gate.made_as is MadeAs.BOTH_HALVES for gate in gates_of(made.channels))
    assert made.basin is None
    (said,) = [finding for finding in made.findings if finding.code == "basin-not-made"]
    assert "straight along the draw" in said.what


def test_a_basin_that_is_asked_for_is_poured_along_the_draw() -> None:
    part = pulley()
    one = lay_parting(part, draw_along(part, Z), kind=MouldKind.TRAYS, sizes=SETTINGS.parting)
    fill = plan_fill(part, one, PartRequest(name=PART, cavities=4, basin=True), SETTINGS)
    assert abs(fill.up @ Z) == pytest.approx(1.0)
    assert all(gate.made_as is MadeAs.LOOSE_ROD for gate in gates_of(fill.channels))


def test_a_row_of_vents_between_the_gates_is_in_the_way() -> None:
    one = mould(basin=True)
    block = four().parting.block
    places = np.array([gate.path_mm[-1, :2] for gate in gates_of(one.channels)])
    gate = gates_of(one.channels)[0]
    between = [
        replace(gate, use=ChannelUse.VENT, path_mm=gate.path_mm + np.array([*(0.5 * (a + b) - places[0]), 0.0]))
        for k, a in enumerate(places)
        for b in places[k + 1 :]
    ]
    assert isinstance(basin_of(gates_of(one.channels), block, SETTINGS), Basin)
    assert basin_of([*gates_of(one.channels), *between], block, SETTINGS) == "vents come up between the gates"


def need(**more) -> PartNeed:
    given = {"name": PART, "pieces_ml": {"silicone-upper": 60.0, "silicone-lower": 60.0}, "casting_ml": 6.0}
    return PartNeed(**given, copies=12, hardness="D 75", cavities=4, **more)


def test_a_basin_is_poured_once_a_mould_and_takes_as_long_as_one_cavity() -> None:
    """Four gates of two minutes each, by themselves or at once: own arithmetic."""
    assert [pours_in(need(basin=basin), 8) for basin in (False, True)] == [8, 2]
    material = shipped().get("rigid-plastic-d75-middling")
    own, one = (casting_trial(need(basin=basin, pour_min=2.0), SHELF, material, ()) for basin in (False, True))
    assert (own.pour.openings, own.pour.pour_min) == (4, 8.0)
    assert (one.pour.openings, one.pour.pour_min) == (1, 2.0)
    assert own.fit.work_min - one.fit.work_min > 6.0


def test_a_basin_is_taken_by_itself_only_where_one_mix_fills_all_no_other_way() -> None:
    def room(pour_min: float, basin: bool | None = None):
        asked = need(pour_min=pour_min)
        decision = decide_materials([asked], SHELF).of(PART)
        return cavity_room(PartRequest(name=PART, copies=12, cavities=4, basin=basin), asked, decision, SHELF)

    assert not room(0.1).basin
    assert room(2.5).basin
    assert not room(2.5, basin=False).basin
    assert room(0.1, basin=True).basin


def test_parts_together_in_one_mould_share_no_basin() -> None:
    parts = [PartRequest(name=name, hardness="rigid") for name in ("bracket", "knob")]
    with pytest.raises(BadJob, match="bracket has a basin"):
        together("set", [replace(parts[0], basin=True), parts[1]])
