"""Where the gate goes and why, how wide it may be, and what is said where nothing leads out."""

from dataclasses import replace

import numpy as np
import pytest

from fill_shapes import UP, Solid, box, joined, part_of
from firstpour.errors import BadRequest
from firstpour.fill import channels
from firstpour.fill.cavity import cut_cavity, highest_place
from firstpour.fill.channels import ChannelSizes, propose_channels
from firstpour.fill.surface_ways import PartingSurface
from firstpour.fill.values import PlaceKind
from firstpour.fill.ways import way_out
from firstpour.part.part import FaceMark, Part
from firstpour.values import Finding, Severity, face_centres_mm, place_words


def towers(step_mm, *, wide_mm=12.0, top=FaceMark.NONE):
    """A tower 20 mm high on a low base, and one higher by the step beside it, so wide and with a mark on its roof."""
    high_mm = 20.0 + step_mm
    mesh = part_of(
        joined(box((0, 0, 0), (40, 12, 8)), box((0, 0, 0), (wide_mm, 12, high_mm)), box((28, 0, 0), (40, 12, 20)))
    ).mesh
    on_top = face_centres_mm(mesh)[:, 2] > high_mm - 1e-6
    return Part(name="towers", mesh=mesh, marks=np.where(on_top, int(top), 0).astype(np.uint8))


def no_way(monkeypatch, *, above_mm=-np.inf):
    """No way leads out from places above a height."""
    monkeypatch.setattr(
        channels, "way_out", lambda ways, at, **how: None if at[2] > above_mm else way_out(ways, at, **how)
    )


def codes(plan):
    return [finding.code for finding in plan.findings]


@pytest.mark.parametrize(
    ("part", "reason"),
    [
        (towers(2.0), "the highest place, on an unmarked face"),
        (towers(0.4, top=FaceMark.SHOW), "the highest place, on an unmarked face"),
        (
            towers(0.8, top=FaceMark.SHOW),
            "0.8 mm below the highest place, which lies on a show face; on an unmarked face",
        ),
        (
            towers(2.0, wide_mm=3.0),
            "2.0 mm below the highest place, which is too narrow; on an unmarked face",
        ),
    ],
)
def test_the_gate_says_why_it_is_not_at_the_highest_place_once_that_is_half_a_millimetre_higher(part, reason):
    plan = propose_channels(part, up=UP)
    assert plan.gate.reason == reason
    assert ("gate-below-top" in codes(plan)) is not reason.startswith("the")


def test_a_highest_place_from_which_no_way_leads_out_is_passed_over_and_said(monkeypatch):
    no_way(monkeypatch, above_mm=21.0)
    gate = propose_channels(towers(2.0), up=UP).gate
    assert gate.at_mm[2] == pytest.approx(20.0)
    assert gate.reason == "2.0 mm below the highest place, which has no clear way out; on an unmarked face"


def test_of_a_gate_that_the_maker_gave_nobody_says_that_it_is_not_on_top():
    plan = propose_channels(towers(2.0), up=UP, gates_mm=(np.array([34.0, 6.0, 20.0]),))
    assert plan.gate.reason == "given"
    assert "gate-below-top" not in codes(plan)


def test_where_nothing_leads_out_the_best_place_is_told_as_blocked_and_filled_from(monkeypatch):
    no_way(monkeypatch)
    part = towers(2.0)
    top_mm = highest_place(cut_cavity(part, UP, resolution=128))
    plan = propose_channels(part, up=UP)
    assert (plan.gates, plan.gate) == ((), None)
    assert plan.gate_alone.gate_mm == pytest.approx(top_mm)
    (blocked,) = [finding for finding in plan.findings if finding.code == "gate-blocked"]
    assert (blocked.severity, blocked.where) == (Severity.ERROR, place_words(top_mm))


def test_a_parting_line_that_runs_low_leaves_no_place_for_a_gate_and_the_top_is_told():
    """A ball of 20 on edge; the line lies 15 below its middle, and the surface is upright."""
    turn = 2.0 * np.pi * np.arange(120) / 120
    low = np.column_stack([np.full(120, -15.0), np.sqrt(175.0) * np.cos(turn), np.sqrt(175.0) * np.sin(turn)])
    surface = PartingSurface(
        frame=np.eye(3), low_mm=np.full(3, -30.0), high_mm=np.full(3, 30.0),
        height_mm=lambda xy: np.zeros(len(xy)), seam_mm=(low,),
    )  # fmt: skip
    across = np.array([1.0, 0.0, 0.0])
    plan = propose_channels(part_of(Solid.sphere(20.0, 60)), up=across, draw=UP, surface=surface, resolution=64)
    assert plan.gates == ()
    assert plan.gate_alone.gate_mm == pytest.approx(20.0 * across, abs=0.5)
    assert "gate-blocked" in codes(plan)


TOPS = (np.array([6.0, 6.0, 20.0]), np.array([34.0, 6.0, 20.0]))


def test_all_gates_given_let_air_out_and_of_those_without_a_way_the_first_is_filled_from(monkeypatch):
    """The second tower holds 12 × 12 × 12 mm³ above the base, to a line of the grid all round."""
    both = propose_channels(towers(0.0), up=UP, gates_mm=TOPS)
    assert len(both.gates) == 2
    assert both.gate_alone.trapped_mm3 == 0.0
    no_way(monkeypatch)
    none = propose_channels(towers(0.0), up=UP, gates_mm=TOPS)
    assert none.gates == ()
    assert codes(none).count("gate-blocked") == 2
    assert none.gate_alone.trapped_mm3 == pytest.approx(12.0**3, rel=0.05)


def test_a_gate_is_as_much_wider_outside_as_asked_and_ends_past_the_silicone_around_the_part():
    """20 mm of tower, 8 of silicone, the radius of the mouth and 1 mm more."""
    for sizes, mouth_mm in ((ChannelSizes(), 6.0), (ChannelSizes(gate_radius_mm=2.0, mouth_ratio=1.5), 3.0)):
        gate = propose_channels(towers(0.0), up=UP, sizes=sizes).gate
        assert gate.radius_end_mm == pytest.approx(mouth_mm)
        assert gate.path_mm[-1][2] == pytest.approx(20.0 + 8.0 + mouth_mm + 1.0)


@pytest.mark.parametrize(("which", "said"), [("gate_radius_mm", "gate"), ("vent_radius_mm", "vents")])
def test_radii_from_nothing_to_a_hundred_millimetres_are_taken(which, said):
    for radius_mm in (0.0, -1.0, 100.1, float("nan")):
        with pytest.raises(BadRequest, match=f"mm for the {said}") as refused:
            ChannelSizes(**{which: radius_mm})
        assert "at most 100 mm" in refused.value.remedy
    for radius_mm in (0.01, 100.0):
        assert getattr(ChannelSizes(**{which: radius_mm}), which) == radius_mm


def test_a_gate_that_the_part_narrowed_cannot_be_widened_and_another_to_12_mm():
    wide = propose_channels(towers(0.0), up=UP)
    assert (wide.gate.radius_start_mm, wide.widest_gate_mm) == (3.0, 12.0)
    rim = propose_channels(part_of(box((-30, -1.5, 0), (30, 1.5, 20))), up=UP)
    assert "gate-narrowed" in codes(rim)
    other = Finding(severity=Severity.INFO, code="other", what="w", remedy="r")
    assert replace(wide, findings=(other,)).widest_gate_mm == 12.0
    more = replace(rim, findings=(*rim.findings, other))
    assert more.widest_gate_mm == rim.gate.radius_start_mm < 2.0
    assert replace(more, gates=()).widest_gate_mm == 12.0


def test_a_channel_reaches_into_the_part_by_two_fifths_of_what_lies_straight_behind_it():
    """A roof of 45° over a level floor: where it is 2 mm high straight down, and 2.8 square to the roof."""
    profile = np.array([(0.0, 0.0), (20.0, 0.0), (0.0, 20.0)])
    wedge = part_of(Solid.hull_points([(x, y, z) for x, z in profile for y in (0.0, 30.0)]))
    plan = propose_channels(
        wedge, up=UP, gates_mm=(np.array([2.0, 15.0, 18.0]),), vents_mm=(np.array([18.0, 15.0, 2.0]),), resolution=256
    )
    vent = plan.vents[0]
    assert vent.path_mm[1] - vent.path_mm[0] == pytest.approx([0.0, 0.0, vent.length_mm])
    assert vent.sink_mm == pytest.approx(0.4 * 2.0, abs=0.4 * plan.vented.pitch_mm)


def test_air_passes_through_any_web_unless_a_narrowest_passage_is_asked_for():
    """The roofs of two towers are joined by a web 0.8 thick and as high as they are."""
    both = [box((0, 0, 0), (12, 12, 20)), box((28, 0, 0), (40, 12, 20))]
    part = part_of(joined(box((0, 0, 0), (40, 12, 8)), *both, box((0, 0, 19.2), (40, 12, 20))))
    free = propose_channels(part, up=UP, gates_mm=TOPS[:1])
    held = propose_channels(part, up=UP, gates_mm=TOPS[:1], passage_mm=1.0)
    assert free.gate_alone.trapped_mm3 == 0.0
    assert held.gate_alone.trapped_mm3 == pytest.approx(12.0**3, rel=0.25)


def test_a_fan_that_would_meet_the_part_becomes_a_narrow_gate(monkeypatch):
    monkeypatch.setattr(channels, "fan_path", lambda *_: None)
    thin = part_of(box((-30, -20, -1), (30, 20, 1)))
    seam = np.array([[-30.0, -20, 0], [30, -20, 0], [30, 20, 0], [-30, 20, 0]])
    surface = PartingSurface(
        frame=np.eye(3), low_mm=np.array([-40.0, -30, -9]), high_mm=np.array([40.0, 30, 9]),
        height_mm=lambda xy: np.zeros(len(xy)), seam_mm=(seam,),
    )  # fmt: skip
    plan = propose_channels(thin, up=np.array([0.0, 1, 0]), draw=UP, surface=surface)
    assert plan.gate.place is PlaceKind.SEAM
    assert (plan.gate.feet_mm.shape, plan.gate.foot_radius_mm) == ((0, 3), 0.0)
    assert plan.gate.radius_start_mm == pytest.approx(0.4 * 2.0, rel=0.4)
    assert "gate-narrowed" in codes(plan)
