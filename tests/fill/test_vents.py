"""Where vents go, place by place, against shapes whose pockets are known."""

from types import SimpleNamespace as Some

import numpy as np
import pytest

from fill_shapes import SOLIDS, UP, Solid, box, joined, part_of
from firstpour.fill import vents
from firstpour.fill.cavity import cut_cavity, highest_place
from firstpour.fill.channels import ChannelSizes, propose_channels
from firstpour.fill.places import near_seam, seam_line
from firstpour.fill.pockets import fill_cavity
from firstpour.fill.values import Channel, ChannelUse, PlaceKind
from firstpour.fill.vents import (
    Accepted,
    pocket_spouts,
    settled,
    vent_pockets,
)
from firstpour.fill.ways import lay_ways, way_out
from firstpour.part.part import FaceMark, Part
from firstpour.values import face_centres_mm


def cut(solid, *, resolution=48, up=UP):
    return cut_cavity(solid if isinstance(solid, Part) else part_of(solid), up, resolution=resolution)


def block_ways(cavity):
    """The ground of a block that is cut open: no parting surface."""
    return lay_ways(cavity, draw=None, surface=None, wall_mm=8.0, spheres=None)


def seam_ways(cavity, *loops_mm, lone=False):
    """A mould of two halves with these parting lines; whether channels may leave straight along the draw."""
    return Some(cavity=cavity, surface="there", seam=seam_line(loops_mm), lone_serves=lone)


@pytest.mark.parametrize(
    ("air_mm3", "show_mm3", "too_much"),
    [(4.1, 0.0, True), (3.9, 0.0, False), (0.2, 0.11, True), (3.9, 0.09, False), (4.1, 0.11, True)],
)
def test_four_mm3_may_stay_in_a_pocket_and_a_tenth_of_one_under_show_faces(air_mm3, show_mm3, too_much):
    assert Accepted().is_too_much(Some(volume_mm3=air_mm3, show_mm3=show_mm3)) is too_much


def round_gate(radius_mm, *, foot_radius_mm=0.0, mouth_mm=None):
    return Channel(
        use=ChannelUse.GATE, path_mm=np.array([[0.0, 0.0, 20.0], [0.0, 0.0, 40.0]]), radius_start_mm=radius_mm,
        radius_end_mm=mouth_mm or 2.0 * radius_mm, foot_radius_mm=foot_radius_mm,
    )  # fmt: skip


APEX = np.array([103.3, 52.1, 10.0])


def peak_with(*more_mm):
    """A pyramid with its apex off the lines of the grid, and more corners."""
    foot = [(x, y, 0.0) for x in (80.0, 120.0) for y in (30.0, 70.0)]
    return cut(Solid.hull_points([*foot, tuple(APEX), *(tuple(APEX + one) for one in more_mm)]), resolution=64)


@pytest.mark.parametrize(
    ("lines", "moves"),
    [
        ((0.0, 0.0, -1.0), True), ((1.4, 0.0, -1.0), True), ((1.6, 0.0, -1.0), False), ((0.0, -1.4, -1.0), True),
        ((0.0, -1.6, -1.0), False), ((0.0, 0.0, -1.9), True), ((0.0, 0.0, -2.1), False), ((0.0, 0.0, 0.1), False),
        ((-1.4, 1.4, -0.1), True), ((2.6, 0.0, -1.0), False), ((0.0, 2.6, -1.0), False),
    ],
)  # fmt: skip
def test_a_peak_that_the_grid_found_settles_on_the_corner_just_above_it(lines, moves):
    """Within a line and a half sideways and two lines upwards."""
    cavity = peak_with()
    at = APEX + np.array(lines) * cavity.dexels.pitch_mm
    assert settled(cavity, at) == pytest.approx(APEX if moves else at)


def test_of_two_corners_near_it_the_higher_is_taken():
    pitch_mm = peak_with().dexels.pitch_mm
    cavity = peak_with(np.array([0.6, 0.0, -0.05]) * pitch_mm)
    assert settled(cavity, APEX + np.array([0.4, 0.0, -1.0]) * pitch_mm) == pytest.approx(APEX)


# --- pockets -------------------------------------------------------------------------------------------


def tower_with_bump(bump_mm, *, bump=FaceMark.NONE, around=FaceMark.HIDDEN):
    """A low tower beside a high one; on the low one's roof at z = 20 a bump of 2 × 2 with its own mark."""
    solid = joined(
        box((0, 0, 0), (40, 12, 8)), box((0, 0, 0), (12, 12, 20)), box((28, 0, 0), (40, 12, 40)),
        box((7, 7, 19), (9, 9, 20 + bump_mm)),
    )  # fmt: skip
    part = part_of(solid)
    centres = face_centres_mm(part.mesh)
    top = centres[:, 2] > 20.0 + 1e-6
    top &= centres[:, 0] < 20.0
    return Part(name="tower", mesh=part.mesh, marks=np.where(top, int(bump), int(around)).astype(np.uint8))


def low_tower(part, *, resolution=200):
    """The one pocket of the low tower, filled through the high one."""
    cavity = cut(part, resolution=resolution)
    (pocket,) = fill_cavity(cavity, gate_mm=highest_place(cavity)).pockets
    return cavity, pocket


@pytest.mark.parametrize(
    ("bump_mm", "bump", "level_mm"),
    [
        (0.85, FaceMark.NONE, 20.0), (1.15, FaceMark.NONE, 21.15),
        (0.02, FaceMark.SHOW, 20.0), (0.035, FaceMark.SHOW, 20.035),
    ],
)  # fmt: skip
def test_a_vent_goes_to_a_better_face_below_the_peak_while_the_air_left_above_is_accepted(bump_mm, bump, level_mm):
    """Above the roof stay 4 mm² times the height of the bump: 3.4 and 4.6 mm³; on show 0.08 and 0.14 mm³."""
    cavity, pocket = low_tower(tower_with_bump(bump_mm, bump=bump))
    best, *_ = pocket_spouts(block_ways(cavity), pocket, accepted=Accepted())
    assert best.at_mm[2] == pytest.approx(level_mm, abs=1e-6)
    hidden = level_mm == 20.0
    assert (best.place is PlaceKind.HIDDEN) is hidden
    below = bump_mm > cavity.dexels.pitch_mm
    assert best.reason.endswith("on a hidden face, just below the peak") == (hidden and below)


def test_how_much_may_stay_is_asked_with_the_pocket():
    cavity, pocket = low_tower(tower_with_bump(0.85))
    strict, *_ = pocket_spouts(block_ways(cavity), pocket, accepted=Accepted(air_mm3=2.0, show_mm3=0.1))
    assert strict.at_mm[2] == pytest.approx(20.85)
    assert strict.place is PlaceKind.UNMARKED


def test_on_a_level_roof_the_most_inward_place_comes_first_and_no_two_places_are_near_each_other():
    cavity, pocket = low_tower(
        part_of(joined(box((0, 0, 0), (40, 12, 8)), box((0, 0, 0), (12, 12, 20)), box((28, 0, 0), (40, 12, 40))))
    )
    spouts = pocket_spouts(block_ways(cavity), pocket, accepted=Accepted())
    assert spouts[0].at_mm == pytest.approx([6.0, 6.0, 20.0], abs=0.3)
    assert spouts[0].reason == f"lets {pocket.volume_mm3:.1f} mm³ of air out, on an unmarked face"
    assert len(spouts) == 6
    apart = [np.linalg.norm(a.at_mm - b.at_mm) for n, a in enumerate(spouts) for b in spouts[:n]]
    assert 3.0 < min(apart) < 3.5


@pytest.mark.parametrize("accepted", [Accepted(), Accepted(air_mm3=0.0, show_mm3=0.0)])
def test_a_pointed_roof_is_vented_at_its_very_point_however_little_air_may_stay(accepted):
    point = Solid.hull_points([(x, y, 15.0) for x in (0, 12) for y in (0, 12)] + [(5.03, 6.17, 20.0)])
    solid = joined(box((0, 0, 0), (40, 12, 8)), box((0, 0, 0), (12, 12, 15)), point, box((28, 0, 0), (40, 12, 40)))
    cavity, pocket = low_tower(part_of(solid), resolution=96)
    first, *others = pocket_spouts(block_ways(cavity), pocket, accepted=accepted)
    assert first.at_mm == pytest.approx([5.03, 6.17, 20.0])
    assert all(one.at_mm[2] < 20.0 - 1e-6 for one in others)


def test_where_channels_lie_on_a_parting_surface_its_line_is_tried_last_from_the_highest_place_down():
    """A line around the low tower below its roof, which climbs from 14 to 20 mm along x."""
    roof = Solid.hull_points([(x, y, z) for x in (0, 12) for y in (0, 12) for z in (7, 14 + 0.5 * x)])
    leaning = joined(box((0, 0, 0), (40, 12, 8)), roof, box((28, 0, 0), (40, 12, 40)))
    cavity, pocket = low_tower(part_of(leaning), resolution=64)
    line = np.array([[0, 0, 11], [12, 0, 17], [12, 12, 17], [0, 12, 11]], dtype=float)
    accepted = Accepted(air_mm3=1e9, show_mm3=1e9)
    free = pocket_spouts(block_ways(cavity), pocket, accepted=accepted)
    spouts = pocket_spouts(seam_ways(cavity, line), pocket, accepted=accepted)
    on_line = spouts[len(free) :]
    assert on_line == []  # the roof is farther than its reach
    near = line + 3.0 * UP
    on_line = pocket_spouts(seam_ways(cavity, near), pocket, accepted=accepted)[len(free) :]
    assert on_line
    assert near_seam(np.array([one.at_mm for one in on_line]), seam_line((near,))).all()
    heights = [one.at_mm[2] for one in on_line]
    assert heights == sorted(heights, reverse=True)
    assert heights[0] == pytest.approx(20.0, abs=0.3)
    assert heights[-1] < heights[0] - 1.0
    assert all("on the parting line" in one.reason and one.reason.endswith("just below the peak") for one in on_line)


USUAL = {"passage_mm": 0.0, "accepted": Accepted()}
FOOT_MM = np.array([1.5, 1.5, 0.0])
"""Under one leg of the table."""


def pins(count):
    """A plate with so many pins on it in rows of four, the first one longer."""
    stand = [
        box((6 * (n % 4), 6 * (n // 4), 1), (6 * (n % 4) + 3, 6 * (n // 4) + 3, 9 if n else 12)) for n in range(count)
    ]
    return joined(box((0, 0, 0), (21, 6 * ((count + 3) // 4) - 3, 2)), *stand)


@pytest.mark.parametrize("own", [0, 1])
def test_no_more_than_twelve_vents_are_proposed_those_of_the_maker_apart(own):
    cavity = cut(pins(18), resolution=96)
    gate, at = np.array([1.5, 1.5, 12.0]), np.array([7.5, 1.5, 9.0])
    vent = Channel(use=ChannelUse.VENT, path_mm=np.stack([at, at + 20 * UP]), radius_start_mm=1.0, radius_end_mm=2.0)
    found = vent_pockets(
        block_ways(cavity),
        gates_mm=(gate,),
        given=(vent,) * own,
        radius_mm=0.6,
        mouth_ratio=1.5,
        **USUAL,
    )
    assert len(found.vents) == 12 + own
    assert found.vents[:own] == (vent,) * own
    assert [one.radius_end_mm / one.radius_start_mm for one in found.vents[own:]] == pytest.approx([1.5] * 12)


def test_where_no_way_leads_out_each_pocket_is_given_up_once(monkeypatch):
    monkeypatch.setattr(vents, "way_out", lambda *_, **__: None)
    cavity = cut(SOLIDS["table"], up=-UP)
    found = vent_pockets(block_ways(cavity), gates_mm=(FOOT_MM,), given=(), radius_mm=1.0, mouth_ratio=2.0, **USUAL)
    assert found.vents == ()
    assert len(found.fill.pockets) == len(found.blocked) == 3
    feet = {tuple(np.round((one.at_mm[:2] - 1.5) / 17.0).astype(int)) for one in found.blocked}
    assert feet == {(0, 1), (1, 0), (1, 1)}


def near(at, leg):
    return np.linalg.norm(at - leg) < 4.0


def test_one_pocket_without_a_way_out_is_given_up_once_and_the_others_get_their_vents(monkeypatch):
    shut = np.array([18.5, 18.5, 0.0])
    monkeypatch.setattr(
        vents, "way_out", lambda ways, at, **how: None if near(at, shut) else way_out(ways, at, **how)
    )
    found = vent_pockets(
        block_ways(cut(SOLIDS["table"], up=-UP)),
        gates_mm=(FOOT_MM,),
        given=(),
        radius_mm=1.0,
        mouth_ratio=2.0,
        **USUAL,
    )
    (blocked,) = found.blocked
    assert near(blocked.at_mm, shut)
    assert len(found.vents) == 2
    assert [pocket.top_mm[2] for pocket in found.fill.pockets] == pytest.approx([0.0])


def test_a_vent_is_as_much_wider_outside_as_asked():
    plan = propose_channels(
        part_of(SOLIDS["table"]), up=-UP, sizes=ChannelSizes(vent_radius_mm=0.8, mouth_ratio=1.75)
    )
    assert [(one.radius_start_mm, one.radius_end_mm) for one in plan.vents] == [pytest.approx((0.8, 1.4))] * 3
