from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from fill_shapes import UP, Solid, box, joined, part_of, shown_dome, tilted
from firstpour.errors import BadRequest, UnreadablePart
from firstpour.fill.cavity import cut_cavity
from firstpour.fill.pockets import Cut, find_pockets
from firstpour.fill.pour import cost, pour_directions, rank_pours, reasons_for, standing, wants_vent
from firstpour.fill.values import Peak, PlaceKind, Pour, PourKind
from firstpour.part.part import FaceMark, Part
from firstpour.values import Mesh, frame_along


def test_directions_are_unit_and_as_many_as_asked_and_reach_all_round():
    ups = pour_directions(np.eye(3), 500)
    assert ups.shape == (500, 3)
    assert np.linalg.norm(ups, axis=1) == pytest.approx(np.ones(500))
    probes = np.random.default_rng(1).normal(size=(2000, 3))
    probes /= np.linalg.norm(probes, axis=1, keepdims=True)
    assert np.degrees(np.arccos((probes @ ups.T).max(axis=1))).max() < 12


@pytest.mark.parametrize(
    ("up", "kind", "lean"),
    [
        ((0, 0, 1), PourKind.FLAT, 0),
        ((0, 0, -1), PourKind.FLAT, 0),
        ((0, 1, 0), PourKind.ON_EDGE, 0),
        (tuple(tilted(10)), PourKind.TILTED, 10),
        (tuple(tilted(40)), PourKind.TURNED, 40),
        ((-1, 0, 0), PourKind.ON_EDGE, 0),
        (tuple(tilted(0.9)), PourKind.FLAT, 0.9),
        (tuple(tilted(1.1)), PourKind.TILTED, 1.1),
        (tuple(tilted(15)), PourKind.TILTED, 15),
        (tuple(tilted(16)), PourKind.TURNED, 16),
        (tuple(tilted(80, 90)), PourKind.TILTED, 10),
    ],
)
def test_a_box_stands_flat_on_edge_or_tilted(up, kind, lean):
    found, degrees = standing(np.array(up, dtype=float), np.eye(3))
    assert found is kind
    assert degrees == pytest.approx(lean)


def test_a_shown_dome_is_poured_with_its_hidden_back_on_top():
    best = rank_pours(shown_dome(), directions=150)[0]
    assert best.up == pytest.approx([0, 0, -1])
    assert best.openings_on_show == 0
    assert best.trapped_show_mm3 == 0
    assert best.peaks[0].place is PlaceKind.HIDDEN
    assert any("hidden" in reason for reason in best.reasons)


def test_a_table_is_not_poured_with_its_legs_up():
    legs = [box((x, y, 0), (x + 3, y + 3, 9)) for x in (0, 17) for y in (0, 17)]
    pours = rank_pours(part_of(joined(box((0, 0, 8), (20, 20, 10)), *legs)), directions=150)
    assert pours[0].vents == 0
    inverted = next(p for p in pours if p.up == pytest.approx([0, 0, -1]))
    assert inverted.vents == 3
    assert inverted.trapped_mm3 == pytest.approx(3 * 3 * 3 * 8, rel=0.03)


def test_the_best_is_what_find_pockets_finds_there():
    part = shown_dome()
    for pour in rank_pours(part, directions=60)[:6]:
        fill = find_pockets(part, up=pour.up, gate_mm=pour.gate_mm, resolution=256)
        assert fill.trapped_mm3 == pytest.approx(pour.trapped_mm3, abs=0.5)


def test_the_parting_line_takes_openings_before_unmarked_faces():
    part = part_of(box((0, 0, 0), (20, 30, 10)))
    loop = np.array([[0, 0, 5.0], [20, 0, 5], [20, 30, 5], [0, 30, 5]])
    best = rank_pours(part, directions=150, seam_mm=(loop,))
    places = {p.peaks[0].place for p in best}
    assert PlaceKind.UNMARKED in places
    assert best[0].peaks[0].place is PlaceKind.SEAM


def test_too_few_directions_and_open_parts_are_refused():
    part = shown_dome()
    with pytest.raises(BadRequest, match="5 pour directions"):
        rank_pours(part, directions=5)
    with pytest.raises(BadRequest, match="not all zero"):
        rank_pours(part, draw=np.zeros(3))
    leaky = Part(
        name="leaky",
        mesh=Mesh(vertices_mm=part.mesh.vertices_mm, faces=part.mesh.faces[20:]),
        marks=part.marks[20:],
    )
    with pytest.raises(UnreadablePart):
        rank_pours(leaky, directions=50)


def pour_of(**changes):
    """A pour that costs nothing but its gate: on a hidden face, flat, no air, no height."""
    peak = Peak(at_mm=np.zeros(3), air_mm3=0.0, show_mm3=0.0, seals_at_mm=0.0, place=PlaceKind.HIDDEN)
    places = changes.pop("places", (PlaceKind.HIDDEN,))
    given = {
        "up": np.array([0.0, 0, 1]), "kind": PourKind.FLAT, "tilt_deg": 0.0, "trapped_mm3": 0.0,
        "trapped_show_mm3": 0.0, "vents": 0, "openings_on_show": 0, "lone_openings": 0, "level_roof_mm2": None,
        "head_mm": 0.0, "pitch_mm": 1.0, "peaks": tuple(replace(peak, place=place) for place in places),
    }  # fmt: skip
    return Pour(**{**given, **changes})


@pytest.mark.parametrize(
    ("changes", "figure"),
    [
        ({}, 0.0),
        ({"places": (PlaceKind.SEAM,)}, 1.5),
        ({"places": (PlaceKind.UNMARKED,)}, 3.0),
        ({"places": (PlaceKind.SHOW,)}, 18.0),
        ({"places": (PlaceKind.KEEP_CLEAR,)}, 30.0),
        ({"places": (PlaceKind.HIDDEN, PlaceKind.SEAM, PlaceKind.SHOW), "vents": 2}, 17.0),
        ({"lone_openings": 2}, 6.0),
        ({"trapped_mm3": 36.0}, 1.0),
        ({"trapped_mm3": 36.0, "trapped_show_mm3": 9.9}, 7.0),
        ({"kind": PourKind.ON_EDGE}, 0.5),
        ({"kind": PourKind.TILTED}, 2.0),
        ({"kind": PourKind.TURNED}, 6.0),
        ({"head_mm": 50.0}, 1.0),
    ],
)
def test_the_cost_of_a_pour_is_that_of_the_table_in_the_docs(changes, figure):
    """By hand from docs/fill.md, "Which side up"; a part 100 mm across its corners."""
    assert cost(pour_of(**changes), size_mm=100.0) == pytest.approx(figure)


def test_with_a_parting_line_known_the_box_stands_so_that_its_openings_lie_on_the_line():
    part = part_of(box((0, 0, 0), (20, 30, 10)))
    loop = np.array([[0, 0, 5.0], [20, 0, 5], [20, 30, 5], [0, 30, 5]])
    best, *_ = pours = rank_pours(part, directions=150, seam_mm=(loop,))
    assert best.lone_openings == 0
    assert abs(best.up[2]) < 0.7
    flat = next(pour for pour in pours if pour.kind is PourKind.FLAT)
    assert flat.lone_openings == 1
    assert "1 of the openings would leave through one half alone" in flat.reasons


BOX = frame_along(np.array([1.0, 2.0, 2.0]))
"""A box that lies askew, its floor across (1, 2, 2)."""


def test_the_sides_of_the_box_are_tried_first_its_floor_before_its_edges():
    np.testing.assert_allclose(
        pour_directions(BOX, 500)[:6], [BOX[2], BOX[0], BOX[1], -BOX[2], -BOX[0], -BOX[1]], atol=1e-12
    )
    np.testing.assert_allclose(pour_directions(BOX, 4), [BOX[2], BOX[0], BOX[1], -BOX[2]], atol=1e-12)


def test_then_each_side_is_tilted_eight_ways_by_five_ten_and_fifteen_degrees():
    ups, sides = pour_directions(BOX, 500)[6:150], np.concatenate([BOX, -BOX])
    lean = np.degrees(np.arccos((ups @ sides.T).max(axis=1)))
    assert Counter(np.round(lean, 6)) == {5.0: 48, 10.0: 48, 15.0: 48}
    nearest = (ups @ sides.T).argmax(axis=1)
    for side in range(6):
        for degrees in (5.0, 10.0, 15.0):
            around = ups[(nearest == side) & np.isclose(lean, degrees)]
            off = around - np.cos(np.radians(degrees)) * sides[side]
            turns = np.degrees(np.arctan2(off @ BOX[(side + 1) % 3], off @ BOX[(side + 2) % 3]))
            steps = np.diff(np.sort(turns % 360.0))
            assert steps == pytest.approx(np.full(7, 45.0))


def test_then_a_spiral_by_the_golden_angle_spreads_evenly_over_the_ball():
    """Level bands of equal height have equal areas (Archimedes); the golden angle is 137.5077640° (any handbook)."""
    spread = pour_directions(BOX, 500)[150:]
    assert spread[:, 2] == pytest.approx(1.0 - (2.0 * np.arange(350) + 1.0) / 350.0)
    turns = np.degrees(np.arctan2(spread[:, 1], spread[:, 0]))
    assert np.diff(turns) % 360.0 == pytest.approx(np.full(349, 137.5077640), abs=1e-6)
    assert turns[0] == pytest.approx(137.5077640 / 2.0)


HIDDEN = FaceMark.HIDDEN


@pytest.mark.parametrize(("high_mm", "kind"), [(30.0, PourKind.FLAT), (35.0, PourKind.ON_EDGE)])
def test_a_box_stands_on_edge_once_the_height_saved_is_a_quarter_of_its_diagonal(high_mm, kind):
    """All faces hidden, no air: standing on edge costs 0.5, and each share of the diagonal in height twice itself.
    20 × 20 × 30: 2 × 10 / 41.2 = 0.49; 20 × 20 × 35: 2 × 15 / 45.0 = 0.67."""
    best = rank_pours(part_of(box((0, 0, 0), (20, 20, high_mm)), mark=HIDDEN), directions=150, resolution=32)[0]
    assert best.kind is kind
    assert best.head_mm == pytest.approx(high_mm if kind is PourKind.FLAT else 20.0, rel=0.05)


def test_the_box_lies_across_the_draw_or_across_z():
    part = part_of(box((0, 0, 0), (20, 30, 10)))
    flat = {
        None if draw is None else tuple(draw): {
            tuple(np.abs(pour.up).tolist())
            for pour in rank_pours(part, draw=draw, directions=150, resolution=16)
            if pour.kind is PourKind.FLAT
        }
        for draw in (None, np.array([3.0, 0.0, 0.0]))
    }
    assert flat == {None: {(0.0, 0.0, 1.0)}, (3.0, 0.0, 0.0): {(1.0, 0.0, 0.0)}}


def test_the_best_and_the_first_of_every_other_kind_are_worked_out_on_twice_as_fine_a_grid():
    part = part_of(box((0, 0, 0), (20, 30, 10)))
    pours = rank_pours(part, directions=200, resolution=32, refine=2)
    fine = [n for n, pour in enumerate(pours) if pour.reasons]
    kinds = [pour.kind for pour in pours]
    assert fine == sorted({0, 1} | {kinds.index(kind) for kind in PourKind})
    size_mm = float(np.linalg.norm([20, 30, 10]))
    others = sorted(cost(pour, size_mm=size_mm) for pour in pours if pour.kind is not PourKind.TURNED)
    for n, pour in enumerate(pours):
        far = pour.kind is PourKind.TURNED and cost(pour, size_mm=size_mm) > others[1] + 1.0
        lines = 64 if n in fine else 16 if far else 32
        assert pour.pitch_mm == pytest.approx(cut_cavity(part, pour.up, resolution=lines).dexels.pitch_mm, rel=1e-6)
    assert all((pours[n].level_roof_mm2 is not None) == (n in fine) for n in range(len(pours)))


def test_more_peaks_than_are_listed_are_counted_all_the_same():
    """36 pins on a plate, upside down: one carries the gate, 35 want a vent, though 24 are listed."""
    pins = [box((5 * i, 5 * j, 1), (5 * i + 2, 5 * j + 2, 6)) for i in range(6) for j in range(6)]
    part = part_of(joined(box((0, 0, 0), (30, 30, 2)), *pins))
    pours = rank_pours(part, directions=6, resolution=96, refine=1)
    upwards = next(pour for pour in pours if pour.up == pytest.approx(UP))
    assert upwards.reasons == ()
    assert upwards.vents == 35


@pytest.mark.parametrize("first", range(12))
def test_whichever_face_stands_first_in_the_file_the_gate_is_found(first):
    part = part_of(box((0, 0, 0), (20, 30, 10)))
    mesh = Mesh(vertices_mm=part.mesh.vertices_mm, faces=np.roll(part.mesh.faces, first, axis=0))
    pours = rank_pours(Part(name="box", mesh=mesh, marks=part.marks), directions=6, resolution=16, refine=1)
    assert [len(pour.peaks) for pour in pours] == [1] * 6


@pytest.mark.parametrize(("slope_deg", "level_mm2"), [(0.0, 600.0), (1.9, 600.0), (2.1, 0.0), (3.0, 0.0)])
def test_a_roof_flatter_than_two_degrees_is_level(slope_deg, level_mm2):
    """A box of 20 × 30 with a roof that slopes along its first side; its own area is larger by 1 / cos."""
    rise = 20.0 * np.tan(np.radians(slope_deg))
    solid = Solid.hull_points(
        [(x, y, z) for x in (0, 20) for y in (0, 30) for z in (0.0, 10.0 + (rise if x else 0.0))]
    )
    pours = rank_pours(part_of(solid), directions=6, resolution=16, refine=6)
    upright = next(pour for pour in pours if pour.up == pytest.approx(UP))
    assert upright.level_roof_mm2 == pytest.approx(level_mm2, rel=1e-3)


def rim(low_mm):
    return np.array([[0, 0, low_mm], [2, 0, low_mm], [2, 30, low_mm], [0, 30, low_mm]], dtype=float)


@pytest.mark.parametrize(
    ("draw", "low_mm", "lone"), [((0, 0, 1), 10.0, 1), ((1, 0, 0), 10.0, 0), ((1, 0, 0), 0.0, 1), ((0, 0, 1), 0.0, 1)]
)
def test_an_opening_leaves_along_the_parting_line_where_it_is_near_and_the_surface_does_not_lie_flat(
    draw, low_mm, lone
):
    """A wall 2 thick: its top lies within reach of a line around its top, not of one around its foot."""
    part = part_of(box((0, 0, 0), (2, 30, 10)))
    pours = rank_pours(part, draw=np.array(draw, dtype=float), seam_mm=(rim(low_mm),), directions=6, resolution=32)
    upright = next(pour for pour in pours if pour.up == pytest.approx(UP))
    assert upright.lone_openings == lone
    assert {pour.lone_openings for pour in rank_pours(part, directions=6, resolution=32)} == {0}


@pytest.mark.parametrize(
    ("air_mm3", "show_mm3", "wanted"),
    [(4.1, 0.0, True), (3.9, 0.0, False), (0.2, 0.11, True), (0.2, 0.09, False), (4.1, 0.11, True)],
)
def test_four_mm3_of_air_may_stay_and_a_tenth_on_show(air_mm3, show_mm3, wanted):
    """Bubbles of 2 mm and 0.6 mm across: π/6 d³."""
    cut = Cut(at_mm=np.zeros(3), air_mm3=air_mm3, show_mm3=show_mm3, face=0, seals_at_mm=0.0)
    assert wants_vent(cut) is wanted


PLAIN = ("the box stands flat", "no air stays", "gate on a hidden face", "no vent wanted")


@pytest.mark.parametrize(
    ("changes", "number", "words"),
    [
        ({"kind": PourKind.TILTED, "tilt_deg": 9.6}, 0, "the box is tilted 10° on a wedge foot"),
        ({"trapped_mm3": 3.9}, 1, "no air stays"),
        ({"trapped_mm3": 4.4}, 1, "4 mm³ of air without vents"),
        ({"trapped_show_mm3": 0.09}, 1, "no air stays"),
        ({"trapped_mm3": 7.0, "trapped_show_mm3": 0.2}, 1, "7 mm³ of air without vents, 0.2 mm³ of it on show faces"),
        ({"places": (PlaceKind.SHOW, PlaceKind.HIDDEN)}, 2, "gate on a show face"),
        ({"vents": 1}, 3, "one vent wanted"),
        ({"vents": 2}, 3, "2 vents wanted"),
        ({"openings_on_show": 1}, 4, "1 of the openings would lie on show faces or faces to keep clear"),
        ({"lone_openings": 2}, 4, "2 of the openings would leave through one half alone"),
        ({"level_roof_mm2": 101.0}, 4, "101 mm² of level roof holds a film of air: tilt the box a little at first"),
        ({"level_roof_mm2": 99.0}, None, ""),
    ],
)
def test_what_speaks_for_and_against_a_pour_is_said_and_nothing_else(changes, number, words):
    said = list(PLAIN)
    if number is not None:
        said[number : number + 1] = [words]
    assert reasons_for(pour_of(**changes)) == tuple(said)


@pytest.mark.parametrize("count", [5, 20_001])
def test_the_number_of_directions_is_bounded(count):
    with pytest.raises(BadRequest, match=f"{count} pour directions"):
        rank_pours(shown_dome(), directions=count)
    assert len(rank_pours(part_of(box((0, 0, 0), (2, 3, 4))), directions=6, resolution=8)) == 6
