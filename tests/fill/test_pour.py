from dataclasses import replace

import numpy as np
import pytest

from fill_shapes import box, joined, part_of, shown_dome, tilted
from firstpour.errors import BadRequest, UnreadablePart
from firstpour.fill.pockets import find_pockets
from firstpour.fill.pour import cost, pour_directions, rank_pours, standing
from firstpour.fill.values import Peak, PlaceKind, Pour, PourKind
from firstpour.part.part import Part
from firstpour.values import Mesh


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
