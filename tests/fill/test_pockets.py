import gudhi
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.morphology import reconstruction

from fill_shapes import (
    SOLIDS,
    UP,
    Solid,
    bottle,
    box,
    box_with_cups,
    box_with_dome,
    cells_part,
    joined,
    part_of,
    steps_part,
    tilted,
)
from firstpour.errors import BadRequest
from firstpour.fill.cavity import cut_cavity, highest_place
from firstpour.fill.pockets import find_pockets, peaks_cut_off
from firstpour.part.part import FaceMark, Part
from firstpour.surface.dexels import top_map_mm
from firstpour.surface.solids import to_solid
from firstpour.values import Severity, moved, turned

CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]])


def peaks(solid: Solid, up: np.ndarray) -> int:
    cavity = cut_cavity(part_of(solid), up, resolution=64)
    return len(peaks_cut_off(cavity, gate_mm=highest_place(cavity))[0])


def cap_mm3(radius: float, degrees: float) -> float:
    """A half ball on a roof tilted by an angle: the cap above the highest point of its rim, pi (R-h)^2 (2R+h) / 3."""
    h = radius * np.sin(np.radians(degrees))
    return float(np.pi * (radius - h) ** 2 * (2 * radius + h) / 3)


# --- from outside: GUDHI and scikit-image ---------------------------------------------------------------


def test_peaks_and_saddles_are_those_of_gudhis_superlevel_persistence():
    # The Gudhi User and Reference Manual, cubical complexes: sublevels of the negated heights
    heights = [0.0, 3.0, 1.0, 5.0, 2.0, 4.0, 0.0]
    complex_ = gudhi.CubicalComplex(vertices=[-h for h in heights])
    pairs = {(-birth, -death) for dim, (birth, death) in complex_.persistence() if dim == 0}
    assert pairs == {(5.0, -np.inf), (4.0, 2.0), (3.0, 1.0)}
    cavity = cut_cavity(steps_part(heights), UP, resolution=70)
    gate, *cuts = peaks_cut_off(cavity, gate_mm=highest_place(cavity))[0]
    ours = {(round(float(cut.at_mm[2]) - 1, 9), round(cut.seals_at_mm - 1, 9)) for cut in cuts}
    assert ours == {(4.0, 2.0), (3.0, 1.0)}
    assert gate.at_mm[2] == pytest.approx(6.0)


def comb() -> np.ndarray:
    cells = np.zeros((9, 9), bool)
    cells[:2] = True
    cells[:8, 1] = cells[:6, 4] = cells[:5, 7] = True
    return cells


def trapped_cells(cells: np.ndarray, openings: list[tuple[int, int]]) -> int:
    """Greyscale reconstruction: the highest level from which each cell still reaches an opening."""
    level = np.where(cells, np.arange(len(cells))[:, None], -1).astype(float)
    seed = np.full_like(level, -1.0)
    for row, column in openings:
        seed[row, column] = row
    reached = reconstruction(seed, level, method="dilation", footprint=CROSS)
    return int((cells & (reached < level)).sum())


@pytest.mark.parametrize(("vents", "volumes"), [([], [4.0, 3.0]), ([(5, 4)], [3.0])])
def test_a_comb_traps_the_cells_that_greyscale_reconstruction_finds(vents, volumes):
    cells = comb()
    assert trapped_cells(cells, [(7, 1), *vents]) == sum(volumes)
    openings = [np.array([c + 0.5, 0.5, r + 1.0]) for r, c in [(7, 1), *vents]]
    fill = find_pockets(cells_part(cells), up=UP, gate_mm=openings[0], vents_mm=tuple(openings[1:]), resolution=90)
    assert [round(p.volume_mm3, 6) for p in fill.pockets] == volumes
    assert fill.trapped_mm3 == pytest.approx(sum(volumes))


def bumpy_roof(seed: int) -> Part:
    """A block 30 x 30 whose roof is a random sum of waves, from 8 mm up."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(0, 30, 91), np.linspace(0, 30, 91))
    roof = 14 + sum(
        rng.uniform(0.3, 1.5) * np.cos(rng.uniform(0.2, 0.7) * x + rng.uniform(0.2, 0.7) * y + rng.uniform(0, 6))
        + rng.uniform(0.3, 1.2) * np.cos(rng.uniform(0.2, 0.7) * x - rng.uniform(0.2, 0.7) * y + rng.uniform(0, 6))
        for _ in range(3)
    )
    n = 91
    index = np.arange(n * n).reshape(n, n)
    a, b, c, d = index[:-1, :-1].ravel(), index[:-1, 1:].ravel(), index[1:, 1:].ravel(), index[1:, :-1].ravel()
    top = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    rim = np.concatenate([index[0, :-1], index[:-1, -1], index[-1, :0:-1], index[:0:-1, 0]])
    nxt = np.roll(rim, -1)
    wall = np.concatenate([np.stack([nxt, rim, rim + n * n], 1), np.stack([nxt, rim + n * n, nxt + n * n], 1)])
    flat = np.stack([x.ravel(), y.ravel(), np.zeros(n * n)], 1)
    vertices = np.concatenate([np.stack([x.ravel(), y.ravel(), roof.ravel()], 1), flat])
    from firstpour.values import Mesh

    faces = np.concatenate([top, top[:, ::-1] + n * n, wall])
    return Part(name="bumpy", mesh=Mesh(vertices_mm=vertices, faces=faces), marks=np.zeros(len(faces), np.uint8))


@pytest.mark.parametrize("seed", range(4))
def test_a_bumpy_roof_traps_what_greyscale_reconstruction_finds(seed):
    part = bumpy_roof(seed)
    cavity = cut_cavity(part, UP, resolution=256)
    roof = top_map_mm(cavity.dexels)
    start = np.full_like(roof, -1.0)
    start.flat[np.argmax(roof)] = roof.max()
    reached = reconstruction(start, roof, method="dilation", footprint=CROSS)
    expected = float((roof - reached).sum()) * cavity.dexels.pitch_mm**2
    found = find_pockets(part, up=UP, resolution=256)
    assert expected > 20
    assert found.trapped_mm3 == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(
    ("name", "upright", "inverted"),
    [
        ("box", 1, 1),
        ("table", 1, 4),
        ("u", 2, 1),
        ("floor bump", 1, 1),
        ("void", 1, 1),
        ("ring", 1, 1),
        ("stairs", 1, 1),
    ],
)
def test_solids_have_as_many_peaks_as_gudhi_counts(name, upright, inverted):
    # checks.md, "Trapped air": peaks of solids by GUDHI; a peak of the surface with solid above it traps no air
    assert (peaks(SOLIDS[name], UP), peaks(SOLIDS[name], -UP)) == (upright, inverted)


def test_a_standing_ring_has_one_peak():
    assert peaks(SOLIDS["ring"], np.array([1.0, 0.0, 0.0])) == 1


# --- closed forms ------------------------------------------------------------------------------------


@pytest.mark.parametrize("resolution", [128, 256, 512])
@pytest.mark.parametrize("degrees", [0, 5, 10, 20, 30])
def test_a_dome_on_a_tilted_roof_traps_a_cap(degrees, resolution):
    fill = find_pockets(box_with_dome(), up=tilted(degrees), resolution=resolution)
    assert len(fill.pockets) == 1
    assert fill.trapped_mm3 == pytest.approx(cap_mm3(12.0, degrees), rel=0.01)
    exact = np.array([30.0, 20.0, 20.0]) @ tilted(degrees)
    assert fill.pockets[0].seals_at_mm == pytest.approx(exact, abs=0.1 * fill.pitch_mm)


@pytest.mark.parametrize("degrees", [0, 8, 15, 25])
def test_inverted_cups_trap_all_above_the_highest_point_of_their_rims(degrees):
    # a cylinder cut by a plane through one point of its foot: pi R^2 (H - R tan a)
    radius, height = 7.0, 15.0
    expected = np.pi * radius**2 * (height - radius * np.tan(np.radians(degrees)))
    fill = find_pockets(box_with_cups(radius, height), up=tilted(degrees), resolution=192)
    assert [p.volume_mm3 for p in fill.pockets] == pytest.approx([expected, expected], rel=0.01)


def test_a_bottle_on_its_side_traps_the_segment_above_its_neck():
    big, small, height = 15.0, 5.0, 40.0
    segment = big**2 * np.arccos(small / big) - small * np.sqrt(big**2 - small**2)
    fill = find_pockets(bottle(), up=np.array([1.0, 0, 0]), gate_mm=np.array([5.0, 0.0, 54.9]), resolution=256)
    assert fill.trapped_mm3 == pytest.approx(segment * height, rel=0.01)


def test_a_bottle_with_a_gate_in_its_side_traps_what_lies_above_the_gate():
    fill = find_pockets(bottle(), up=UP, gate_mm=np.array([15.0, 0.0, 30.0]), resolution=256)
    expected = np.pi * (15.0**2 * 10.0 + 5.0**2 * 15.0)
    assert fill.trapped_mm3 == pytest.approx(expected, rel=0.01)
    assert fill.pockets[0].seals_at_mm == pytest.approx(30.0, abs=0.05)


def test_a_bottle_with_its_gate_at_the_mouth_traps_nothing():
    fill = find_pockets(bottle(), up=UP)
    assert fill.pockets == ()
    assert fill.gate_mm == pytest.approx([0, 0, 55], abs=0.5)


# --- properties ----------------------------------------------------------------------------------------


@settings(max_examples=12, deadline=None)
@given(offset=st.tuples(*[st.floats(-500, 500)] * 3), degrees=st.floats(0, 25))
def test_moving_the_part_does_not_change_the_air(offset, degrees):
    part = box_with_dome()
    there = Part(name="moved", mesh=moved(part.mesh, offset_mm=np.array(offset)), marks=part.marks)
    here = find_pockets(part, up=tilted(degrees))
    away = find_pockets(there, up=tilted(degrees))
    assert away.trapped_mm3 == pytest.approx(here.trapped_mm3, rel=1e-3)
    assert away.gate_mm - np.array(offset) == pytest.approx(here.gate_mm, abs=2 * here.pitch_mm)


@settings(max_examples=12, deadline=None)
@given(turn=st.floats(0, 360), degrees=st.floats(0, 25))
def test_turning_the_part_about_gravity_does_not_change_the_air(turn, degrees):
    part, up = box_with_dome(), tilted(degrees)
    a = np.radians(turn)
    cross = np.array([[0, -up[2], up[1]], [up[2], 0, -up[0]], [-up[1], up[0], 0]])
    rotation = np.eye(3) + np.sin(a) * cross + (1 - np.cos(a)) * cross @ cross
    there = Part(name="turned", mesh=turned(part.mesh, rotation=rotation), marks=part.marks)
    assert find_pockets(there, up=up).trapped_mm3 == pytest.approx(cap_mm3(12.0, degrees), rel=0.015)


@settings(max_examples=12, deadline=None)
@given(degrees=st.floats(0, 30), towards=st.floats(-30, 30))
def test_a_finer_grid_agrees_with_a_coarse_one(degrees, towards):
    part, up = box_with_dome(), tilted(degrees, towards)
    coarse, fine = (find_pockets(part, up=up, resolution=r) for r in (128, 512))
    assert coarse.trapped_mm3 == pytest.approx(fine.trapped_mm3, rel=0.015)


def test_a_refined_mesh_gives_the_same_air():
    part = box_with_dome()
    finer = part_of(to_solid(part.mesh).refine(3))
    assert len(finer.mesh.faces) == 9 * len(part.mesh.faces)
    coarse, fine = (find_pockets(p, up=tilted(12)).trapped_mm3 for p in (part, finer))
    assert fine == pytest.approx(coarse, rel=1e-3)


# --- marks, passages, bodies ---------------------------------------------------------------------------


def test_air_under_show_faces_is_counted_apart():
    part = box_with_dome()
    ball = np.linalg.norm(part.mesh.vertices_mm[part.mesh.faces].mean(axis=1) - [18, 20, 20], axis=1) < 12.1
    marks = np.where(ball, int(FaceMark.SHOW), 0).astype(np.uint8)
    shown = find_pockets(Part(name="shown", mesh=part.mesh, marks=marks), up=UP)
    assert shown.trapped_show_mm3 == pytest.approx(shown.trapped_mm3)
    assert shown.pockets[0].on_show
    assert find_pockets(part, up=UP).trapped_show_mm3 == 0


def two_towers(*, thick: float) -> Part:
    """Two towers joined at the foot, and near the top by an upright web as thick as asked."""
    foot = box((0, 0, 0), (30, 10, 6))
    towers = (box((0, 0, 0), (10, 10, 30)), box((20, 0, 0), (30, 10, 30)))
    return part_of(joined(foot, *towers, box((9, 5 - thick / 2, 20), (21, 5 + thick / 2, 30))))


@pytest.mark.parametrize("turn", [0.0, 27.0])
def test_a_web_thinner_than_the_passage_does_not_let_air_through(turn):
    part = two_towers(thick=1.0)
    a = np.radians(turn)
    rotation = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    part = Part(name="towers", mesh=turned(part.mesh, rotation=rotation), marks=part.marks)
    gate = rotation @ np.array([5.0, 5.0, 30.0])
    free = find_pockets(part, up=UP, gate_mm=gate, resolution=128)
    assert free.trapped_mm3 == 0
    held = find_pockets(part, up=UP, gate_mm=gate, resolution=128, passage_mm=2.0)
    assert held.trapped_mm3 == pytest.approx(10 * 10 * 24, rel=0.05)
    wide = find_pockets(two_towers(thick=6.0), up=UP, gate_mm=np.array([5.0, 5, 30]), resolution=128, passage_mm=2.0)
    assert wide.trapped_mm3 == 0


def test_a_passage_does_not_trap_air_in_the_thin_rims_of_a_ball():
    fill = find_pockets(part_of(Solid.sphere(10, 96)), up=UP, passage_mm=1.5)
    assert fill.trapped_mm3 == 0


def test_a_part_joined_by_a_thin_web_alone_fills_but_keeps_its_air():
    solid = joined(box((0, 0, 0), (10, 10, 10)), box((20, 0, 0), (30, 10, 10)), box((9, 0, 4), (21, 10, 5)))
    fill = find_pockets(part_of(solid), up=UP, gate_mm=np.array([5.0, 5, 10]), passage_mm=2.0)
    assert fill.unfilled_mm3 == 0
    assert fill.trapped_mm3 == pytest.approx(1000, rel=0.1)


def test_a_second_body_is_named_as_never_filling():
    fill = find_pockets(part_of(joined(box((0, 0, 0), (10, 10, 12)), box((20, 0, 0), (24, 5, 10)))), up=UP)
    assert fill.unfilled_mm3 == pytest.approx(200, rel=0.05)
    (finding,) = [f for f in fill.findings if f.code == "never-fills"]
    assert finding.severity is Severity.ERROR
    assert finding.where is not None
    place = [float(word) for word in finding.where.partition("[")[2].partition("]")[0].split(",")]
    assert place == pytest.approx([22, 2.5, 10], abs=0.3)


# --- bad input -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "problem"),
    [
        ({"up": np.zeros(3)}, "not all zero"),
        ({"up": np.array([0.0, np.nan, 1.0])}, "finite"),
        ({"gate_mm": np.array([30.0, 20.0, 10.0])}, "inside the cast part"),
        ({"gate_mm": np.array([30.0, 20.0, 80.0])}, "off the cavity"),
        ({"gate_mm": np.array([np.inf, 0.0, 0.0])}, "the gate at"),
        ({"vents_mm": (np.array([-30.0, 0.0, 0.0]),)}, "vent 1"),
        ({"passage_mm": -1.0}, "smallest passage"),
        ({"resolution": 3}, "grid of 3"),
    ],
)
def test_openings_and_directions_that_cannot_be_meant_are_refused(asked, problem):
    with pytest.raises(BadRequest, match=problem) as refused:
        find_pockets(box_with_dome(), **{"up": UP, **asked})
    assert refused.value.remedy


def test_a_vent_below_the_gate_and_a_passage_below_the_grid_are_findings():
    fill = find_pockets(
        box_with_dome(), up=UP, vents_mm=(np.array([18.0, 20.0, 32.0]),), passage_mm=0.2, resolution=128
    )
    assert {f.code for f in fill.findings} == {"vent-below-gate", "passage-unresolved"}
    assert fill.trapped_mm3 == 0
    finer = find_pockets(box_with_dome(), up=UP, passage_mm=0.2, resolution=768)
    assert finer.findings == ()


def test_an_opening_near_the_surface_is_taken_to_it():
    fill = find_pockets(box_with_dome(), up=UP, gate_mm=np.array([57.0, 20.0, 45.6]))
    assert fill.gate_mm == pytest.approx([57, 20, 45])
