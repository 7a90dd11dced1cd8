"""The vent that breathes while the gate is full: where it goes, and what is said where none does."""

from types import SimpleNamespace as Some

import numpy as np
import pytest

from fill_shapes import UP, box, joined, part_of
from firstpour.fill import last_vent
from firstpour.fill.breathing import Breath, Mix
from firstpour.fill.cavity import cut_cavity
from firstpour.fill.channels import propose_channels
from firstpour.fill.last_vent import AWAY_RATIO, breathing_vent, last_spouts
from firstpour.fill.places import seam_line
from firstpour.fill.values import Channel, ChannelUse, PlaceKind
from firstpour.fill.vents import Spout, Vented
from firstpour.fill.ways import lay_ways
from firstpour.part.part import FaceMark, Part
from firstpour.values import face_centres_mm


def cut(solid, *, resolution=48):
    return cut_cavity(solid if isinstance(solid, Part) else part_of(solid), UP, resolution=resolution)


def block_ways(cavity):
    """The ground of a block that is cut open: no parting surface."""
    return lay_ways(cavity, draw=None, surface=None, wall_mm=8.0, spheres=None)


def seam_ways(cavity, *loops_mm, lone=False):
    """A mould of two halves with these parting lines; whether channels may leave straight along the draw."""
    return Some(cavity=cavity, surface="there", seam=seam_line(loops_mm), lone_serves=lone)


def round_gate(radius_mm, *, mouth_mm=None):
    return Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0.0, 20.0], [0.0, 0.0, 40.0]]), radius_start_mm=radius_mm,
        radius_end_mm=mouth_mm or 2.0 * radius_mm,
    )  # fmt: skip


def test_the_whole_of_a_level_roof_is_looked_at_and_the_farthest_place_from_the_gate_taken():
    ways = block_ways(cut(box((0, 0, 0), (60, 50, 20)), resolution=90))
    for corner in ((0, 0), (60, 0), (0, 50), (60, 50)):
        gate = np.array([*corner, 20.0])
        spouts = last_spouts(ways, gates_mm=(gate,), apart_mm=10.0)
        assert spouts[0].at_mm == pytest.approx([60 - corner[0], 50 - corner[1], 20.0], abs=6.0)
        assert len(spouts) == 6
        apart = [np.linalg.norm(a.at_mm - b.at_mm) for n, a in enumerate(spouts) for b in spouts[:n]]
        assert min(apart) > 3.0
        assert spouts[0].reason == "lets the air out while the gate is full of material, on an unmarked face"


def test_on_a_large_part_places_tried_lie_three_hundredths_of_its_diagonal_apart():
    """Of 200 × 150 × 20 mm, 251 across, that is 7.5 mm."""
    ways = block_ways(cut(box((0, 0, 0), (200, 150, 20)), resolution=100))
    spouts = last_spouts(ways, gates_mm=(np.array([0.0, 0.0, 20.0]),), apart_mm=10.0)
    apart = [np.linalg.norm(a.at_mm - b.at_mm) for n, a in enumerate(spouts) for b in spouts[:n]]
    assert len(spouts) == 6
    assert 7.5 < min(apart) < 13.0


def test_every_gate_is_kept_away_from():
    """Between gates at the ends of a roof of 60 mm only its middle is 24 mm from both."""
    ways = block_ways(cut(box((0, 0, 0), (60, 12, 20)), resolution=60))
    gates = tuple(np.array([x, 6.0, 20.0]) for x in (4.0, 56.0))
    spouts = last_spouts(ways, gates_mm=gates, apart_mm=24.0)
    assert spouts
    assert all(27.0 < one.at_mm[0] < 33.0 for one in spouts)


def test_on_a_coarse_grid_places_within_half_a_line_count_as_level():
    """Lines a millimetre apart: a far half that lies 0.4 mm lower is as high, one 0.6 mm lower is not."""
    for step_mm, takes_lower in ((0.4, True), (0.6, False)):
        solid = joined(box((0, 0, 0), (24, 12, 20)), box((23, 0, 0), (48, 12, 20 - step_mm)))
        ways = block_ways(cut(solid, resolution=48))
        assert ways.cavity.dexels.pitch_mm == pytest.approx(1.0, abs=0.05)
        first, *_ = last_spouts(ways, gates_mm=(np.array([2.0, 6.0, 20.0]),), apart_mm=4.0)
        assert bool(first.at_mm[0] > 24.0) is takes_lower


def test_of_more_places_than_are_looked_at_the_highest_are():
    """A large low roof beside a small high one."""
    ways = block_ways(cut(joined(box((0, 0, 0), (60, 50, 10)), box((50, 40, 9), (60, 50, 20))), resolution=90))
    first, *_ = last_spouts(ways, gates_mm=(np.array([51.0, 41.0, 20.0]),), apart_mm=6.0)
    assert first.at_mm[2] == pytest.approx(20.0)


@pytest.mark.parametrize(("apart_mm", "found"), [(16.0, True), (20.0, False)])
def test_no_place_is_nearer_to_the_gate_than_asked(apart_mm, found):
    """From the middle of a roof of 24 × 24 its corners are 17 mm away."""
    ways = block_ways(cut(box((0, 0, 0), (24, 24, 20)), resolution=24))
    spouts = last_spouts(ways, gates_mm=(np.array([12.0, 12.0, 20.0]),), apart_mm=apart_mm)
    assert bool(spouts) is found
    assert all(np.linalg.norm(one.at_mm - [12.0, 12.0, 20.0]) >= apart_mm for one in spouts)


@pytest.mark.parametrize(("step_mm", "takes_lower"), [(0.2, True), (0.3, False), (0.4, False)])
def test_places_within_a_quarter_of_a_millimetre_count_as_level_and_there_the_farther_is_taken(step_mm, takes_lower):
    """The far half of the roof lies a step lower; levels are rounded to half millimetres."""
    solid = joined(box((0, 0, 0), (12, 12, 20)), box((11, 0, 0), (24, 12, 20 - step_mm)))
    ways = block_ways(cut(solid, resolution=50))
    first, *_ = last_spouts(ways, gates_mm=(np.array([2.0, 6.0, 20.0]),), apart_mm=4.0)
    assert bool(first.at_mm[0] > 12.0) is takes_lower


def test_a_show_face_is_the_last_place_to_breathe_through():
    part = part_of(joined(box((0, 0, 0), (12, 12, 18)), box((11, 0, 0), (24, 12, 20))))
    shown = face_centres_mm(part.mesh)[:, 2] > 19.9
    part = Part(name="steps", mesh=part.mesh, marks=np.where(shown, int(FaceMark.SHOW), 0).astype(np.uint8))
    first, *_ = last_spouts(block_ways(cut(part)), gates_mm=(np.array([20.0, 6.0, 20.0]),), apart_mm=5.0)
    assert first.at_mm[2] == pytest.approx(18.0)


@pytest.mark.parametrize("lone", [False, True])
def test_on_a_parting_surface_the_line_breathes_and_the_roof_only_where_a_channel_may_leave_through_one_half(lone):
    line = np.array([[0, 0, 8.0], [24, 0, 12], [24, 12, 12], [0, 12, 8]])
    ways = seam_ways(cut(box((0, 0, 0), (24, 12, 20))), line, lone=lone)
    first, *_ = last_spouts(ways, gates_mm=(np.array([0.0, 6.0, 20.0]),), apart_mm=5.0)
    assert first.at_mm[2] == pytest.approx(20.0 if lone else 12.0)
    assert first.place is (PlaceKind.UNMARKED if lone else PlaceKind.SEAM)
    assert last_spouts(seam_ways(ways.cavity), gates_mm=(np.zeros(3),), apart_mm=5.0) == []


class Breathing:
    """A filling with vents, and where the vent that breathes would go; each vent is named by its height.

    The part is as long as `size_mm`; ways out lead from the places `way_mm` or farther from the gate.
    """

    def __init__(self, monkeypatch, *, pitch_mm=0.2, takes_s=999.0, spouts_mm=(20.0, 15.0), way_mm=0.0, size_mm=50.0):
        self.aparts_mm, self.filled, self.asked = [], [], []
        self.spouts = [self.spout(high) for high in spouts_mm]
        self.cavity = Some(
            dexels=Some(pitch_mm=pitch_mm), up=UP,
            part=Some(mesh=Some(vertices_mm=np.array([[0.0, 0.0, 0.0], [size_mm, 0.0, 0.0]]))),
        )  # fmt: skip
        breath = Breath(air_ml=12.0, across_mm=6.0, takes_s=takes_s)
        monkeypatch.setattr(last_vent, "breath_of", lambda *_, mix: self.asked.append(mix) or breath)
        monkeypatch.setattr(last_vent, "last_spouts", self.last_spouts)
        led = lambda ways, spouts, **_: (spouts[0] if spouts and self.aparts_mm[-1] <= way_mm else None, ways)  # noqa: E731
        monkeypatch.setattr(last_vent, "vent_from", led if way_mm else lambda ways, spouts, **_: (spouts[0], ways))
        monkeypatch.setattr(last_vent, "filled", lambda *words: self.filled.append(words) or "filled")

    @staticmethod
    def spout(high_mm):
        return Spout(at_mm=np.array([40.0, 2.0, high_mm]), place=PlaceKind.SEAM, reason="highest")

    def last_spouts(self, _ways, *, gates_mm, apart_mm):
        self.aparts_mm.append(apart_mm)
        return self.spouts

    def vented(self, *highs_mm, gates=None, mix=None):
        before = Vented(
            vents=tuple(self.spout(high) for high in highs_mm), blocked=(), fill="as it was",
            ways=Some(cavity=self.cavity, ground=Some(box=np.eye(3))),
        )  # fmt: skip
        return breathing_vent(
            before, gates=gates or (round_gate(3.0),), radius_mm=1.0, mouth_ratio=2.0, passage_mm=0.0, mix=mix
        )


@pytest.mark.parametrize(
    ("pitch_mm", "vents_mm", "added"),
    [
        (0.2, (), True), (0.2, (19.4,), True), (0.2, (19.6,), False), (0.2, (10.0, 19.6), False),
        (2.0, (18.1,), False), (2.0, (17.9,), True), (0.2, (10.0, 11.0), True), (0.2, (25.0,), False),
    ],
)  # fmt: skip
def test_a_vent_breathes_unless_one_is_as_high_already(monkeypatch, pitch_mm, vents_mm, added):
    """To half a millimetre or a line of the grid below the highest place, 20 mm."""
    case = Breathing(monkeypatch, pitch_mm=pitch_mm)
    after = case.vented(*vents_mm)
    assert [one.at_mm[2] for one in after.vents] == [*vents_mm, *([20.0] if added else [])]
    assert (after.fill, after.blocked, after.findings) == ("filled" if added else "as it was", (), ())


def test_a_vent_as_high_but_beside_the_gate_does_not_serve(monkeypatch):
    """The place is 40 mm off; 0.12 of a part of 300 mm is 36 mm, of one of 350 mm more than 40."""
    near = Channel(use=ChannelUse.VENT, path_mm=np.array([[12.0, 0, 20], [12, 0, 40]]), radius_start_mm=1.0,
                   radius_end_mm=2.0)  # fmt: skip
    case = Breathing(monkeypatch, size_mm=300.0)
    before = Vented(
        vents=(near,), blocked=(), fill="as it was", ways=Some(cavity=case.cavity, ground=Some(box=np.eye(3)))
    )
    after = breathing_vent(before, gates=(round_gate(3.0),), radius_mm=1.0, mouth_ratio=2.0, passage_mm=0.0)
    assert [one.at_mm[0] for one in after.vents] == [12.0, 40.0]


def test_a_wide_gate_needs_no_vent_and_the_figures_are_said(monkeypatch):
    after = Breathing(monkeypatch, takes_s=25.0).vented(mix=Mix(viscosity_pa_s=0.5, density_g_ml=1.1))
    (said,) = after.findings
    assert (said.code, after.vents) == ("vent-not-needed", ())
    assert all(words in said.what for words in ("6.0 mm", "12.0 ml", "25 s", "60 s", "0.50 Pa·s", "1.10 g/ml"))


def test_where_no_place_is_away_from_the_gate_that_is_said(monkeypatch):
    case = Breathing(monkeypatch, spouts_mm=(), way_mm=1.0)
    after = case.vented()
    assert [one.code for one in after.findings] == ["vent-no-place"]
    assert (after.vents, after.blocked) == ((), ())


def test_a_place_without_a_way_out_is_told(monkeypatch):
    case = Breathing(monkeypatch, way_mm=1.0)
    after = case.vented(12.0)
    assert after.blocked == (case.spouts[0],)
    assert (len(after.vents), after.fill, case.filled) == (1, "as it was", [])


def test_the_vent_goes_away_from_the_gate_and_nearer_only_where_nothing_else_leads_out(monkeypatch):
    """3 + 6 + 1 mm are needed in any case; of a part of 200 mm 24 mm are wanted."""
    case = Breathing(monkeypatch, size_mm=200.0)
    assert (case.vented().findings, case.aparts_mm) == ((), [pytest.approx(200.0 * AWAY_RATIO)])
    case = Breathing(monkeypatch, size_mm=200.0, way_mm=12.0)
    after = case.vented()
    assert case.aparts_mm == pytest.approx([200.0 * AWAY_RATIO, 10.0])
    (said,) = after.findings
    assert (said.code, len(after.vents)) == ("vent-near-gate", 1)
    assert "40 mm" in said.what
    assert "24 mm" in said.what


@pytest.mark.parametrize(("mouth_mm", "apart_mm"), [(5.0, 10.0), (9.0, 13.0)])
def test_the_vent_keeps_clear_of_the_gate_by_its_foot_its_mouth_and_its_own_radius(monkeypatch, mouth_mm, apart_mm):
    """3 + twice 3 + 1, or 3 + 9 + 1 where the mouth is wider than that."""
    case = Breathing(monkeypatch)
    case.vented(gates=(round_gate(3.0, mouth_mm=mouth_mm), round_gate(50.0)))
    assert case.aparts_mm[0] == pytest.approx(apart_mm)
    assert len(case.filled[0][1]) == 2


def test_whether_a_gate_breathes_is_asked_of_what_is_poured_or_of_a_typical_mix(monkeypatch):
    case, thick = Breathing(monkeypatch, takes_s=1.0), Mix(viscosity_pa_s=9.0)
    case.vented(mix=thick)
    case.vented()
    assert case.asked == [thick, Mix()]


@pytest.mark.parametrize("size_mm", [30.0, 150.0])
def test_a_plate_of_any_size_gets_its_vent_a_tenth_of_it_from_the_gate(size_mm):
    part = part_of(box((0, 0, 0), (size_mm, 0.6 * size_mm, 0.3 * size_mm)))
    plan = propose_channels(part, up=UP, mix=Mix(viscosity_pa_s=5.0))
    diagonal = np.linalg.norm([size_mm, 0.6 * size_mm, 0.3 * size_mm])
    assert max(np.linalg.norm(vent.at_mm - plan.gate.at_mm) for vent in plan.vents) >= 0.1 * diagonal
