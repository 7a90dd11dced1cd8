"""Bodies and voids: arrangements of boxes against volumes counted cell by cell, and against other libraries."""

import itertools

import igl
import numpy as np
import pytest
import trimesh
from hypothesis import example, given, settings
from hypothesis import strategies as st

from box_arrangements import CELL_MM, Box, box_corners, cells_of, heap_of, volume_mm3
from firstpour.errors import UnreadablePart
from firstpour.part import bodies
from firstpour.part.repair import Repaired, repair_mesh
from firstpour.surface.sides import same_vertices, sides_of
from firstpour.values import FloatArray, Mesh, mesh_volume_mm3, moved
from sample_shapes import ball, box, together

REFUSALS = ("touches itself", "whether it is a hollow", "could not be united into one solid", "passes through itself")
"""What is said where bodies lie on one another so that their shells run through each other."""
HAIR_MM3 = 5.0
"""What drawing a touching edge a hair back may take from a part 60 mm long."""


def a_box(low: int, high: int) -> st.SearchStrategy[Box]:
    side = st.sampled_from(list(itertools.combinations(range(low, high + 1), 2)))
    return st.tuples(side, side, side).map(lambda s: (s[0][0], s[1][0], s[2][0], s[0][1], s[1][1], s[2][1]))


def nested(boxes: list[Box]) -> bool:
    return any(
        all(b[k] <= a[k] for k in range(3)) and all(a[k] <= b[k] for k in range(3, 6))
        for a, b in itertools.permutations(boxes, 2)
    )


def corners_of(boxes: list[Box], inward: list[bool], *, fine: bool, rng: np.random.Generator) -> FloatArray:
    return np.concatenate(
        [box_corners(one, fine=fine, inward=turn, rng=rng) for one, turn in zip(boxes, inward, strict=True)]
    )


def right_or_refused(boxes: list[Box], inward: list[bool], expected_mm3: float, *, fine: bool, seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = corners_of(boxes, inward, fine=fine, rng=rng)
    problem, result = "", None
    try:
        result = repair_mesh(*heap_of(corners, rng, shuffled=bool(seed % 2)))
    except UnreadablePart as refused:
        problem = refused.problem
    if result is None:
        assert fine or any(why in problem for why in REFUSALS)
        return
    assert mesh_volume_mm3(result.mesh) == pytest.approx(expected_mm3, abs=HAIR_MM3)
    assert (sides_of(same_vertices(result.mesh.vertices_mm)[result.mesh.faces]).counts == 2).all()
    other = trimesh.Trimesh(result.mesh.vertices_mm, result.mesh.faces, process=False)
    assert other.is_watertight
    assert other.is_winding_consistent
    assert other.volume == pytest.approx(mesh_volume_mm3(result.mesh), rel=1e-9)


@given(boxes=st.lists(a_box(0, 6), min_size=1, max_size=5), fine=st.booleans(), seed=st.integers(0, 99))
@example(boxes=[(0, 0, 0, 1, 1, 1), (0, 0, 0, 1, 1, 1), (0, 0, 0, 1, 1, 2), (0, 0, 0, 1, 1, 1)], fine=False, seed=0)
@example(boxes=[(1, 0, 2, 4, 5, 3), (0, 5, 4, 1, 6, 6), (0, 5, 4, 1, 6, 6), (0, 5, 2, 3, 6, 6)], fine=True, seed=25)
@settings(max_examples=60, deadline=None)
def test_boxes_in_any_arrangement_have_the_volume_of_their_cells_or_are_refused(
    boxes: list[Box], fine: bool, seed: int
) -> None:
    right_or_refused(boxes, [False] * len(boxes), volume_mm3(cells_of(boxes)), fine=fine, seed=seed)


@given(boxes=st.lists(a_box(1, 5), min_size=1, max_size=4), fine=st.booleans(), seed=st.integers(0, 99))
@settings(max_examples=60, deadline=None)
def test_voids_that_touch_or_overlap_take_their_cells_from_the_block(boxes: list[Box], fine: bool, seed: int) -> None:
    expected_mm3 = 216 * CELL_MM**3 - volume_mm3(cells_of(boxes))
    right_or_refused([(0, 0, 0, 6, 6, 6), *boxes], [False] + [True] * len(boxes), expected_mm3, fine=fine, seed=seed)


@given(
    boxes=st.lists(a_box(0, 6), min_size=1, max_size=4).filter(lambda boxes: not nested(boxes)),
    fine=st.booleans(),
    seed=st.integers(0, 9999),
)
@settings(max_examples=60, deadline=None)
def test_boxes_of_which_some_are_inside_out_have_the_volume_of_their_cells_or_are_refused(
    boxes: list[Box], fine: bool, seed: int
) -> None:
    inward = (np.random.default_rng(seed).random(len(boxes)) < 0.5).tolist()
    right_or_refused(boxes, inward, volume_mm3(cells_of(boxes)), fine=fine, seed=seed)


@given(boxes=st.lists(a_box(0, 6), min_size=2, max_size=4), seed=st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_the_solid_is_where_the_winding_number_of_the_whole_is_one_or_more(boxes: list[Box], seed: int) -> None:
    # Winding numbers: libigl, over the faces as they came.
    rng = np.random.default_rng(seed)
    vertices_mm, faces = heap_of(corners_of(boxes, [False] * len(boxes), fine=False, rng=rng), rng, shuffled=True)
    try:
        result = repair_mesh(vertices_mm, faces)
    except UnreadablePart:
        return
    points = rng.integers(0, 6, (60, 3)) * CELL_MM + rng.uniform(0.1, 0.9, (60, 3)) * CELL_MM
    before = np.round(igl.winding_number(vertices_mm, faces, points))
    after = np.round(igl.winding_number(result.mesh.vertices_mm, result.mesh.faces, points))
    assert (after == (before >= 1)).all()


def repaired(mesh: Mesh) -> Repaired:
    return repair_mesh(mesh.vertices_mm, mesh.faces)


def inside_out(mesh: Mesh) -> Mesh:
    return Mesh(vertices_mm=mesh.vertices_mm, faces=mesh.faces[:, ::-1])


def test_boxes_that_overlap_and_share_an_edge_keep_their_volume() -> None:
    four = [(0, 0, 0, 2, 2, 2), (0, 0, 0, 1, 3, 2), (2, 2, 0, 4, 4, 2), (1, 1, 0, 3, 2, 3)]
    right_or_refused(four, [False] * 4, volume_mm3(cells_of(four)), fine=False, seed=0)


def test_a_cube_with_two_voids_that_share_an_edge_has_both() -> None:
    block = box(40, 40, 40)
    voids = inside_out(together(box(10, 10, 10, at=(10, 10, 10)), box(10, 10, 10, at=(20, 20, 10))))
    result = repaired(together(block, voids))
    assert mesh_volume_mm3(result.mesh) == pytest.approx(64_000 - 2_000, abs=0.5)
    assert "enclosed-void" in {finding.code for finding in result.findings}


def test_a_body_in_a_void_that_another_body_fills_is_no_hollow() -> None:
    hollow = together(box(40, 40, 40), inside_out(box(6, 6, 6, at=(17, 17, 17))))
    result = repaired(together(hollow, box(10, 10, 60, at=(15, 15, -10))))
    assert mesh_volume_mm3(result.mesh) == pytest.approx(64_000 + 2 * 1_000)
    assert result.bodies == 1


def test_two_columns_that_meet_in_an_edge_between_plates_are_drawn_apart_along_it() -> None:
    plates = [box(20, 20, 10), box(20, 20, 10, at=(0, 0, 20))]
    columns = [box(10, 10, 10, at=(0, 0, 10)), box(10, 10, 10, at=(10, 10, 10))]
    result = repaired(together(*plates, *columns))
    assert result.bodies == 1
    assert mesh_volume_mm3(result.mesh) == pytest.approx(10_000, abs=0.5)
    assert "touching-parted" in {finding.code for finding in result.findings}


def test_a_hollow_that_lies_across_two_bodies_is_refused() -> None:
    pair = together(box(20, 20, 20), box(20, 20, 20, at=(15, 0, 0)), inside_out(box(10, 4, 4, at=(12, 8, 8))))
    with pytest.raises(UnreadablePart, match="cannot be told whether it is a hollow"):
        repaired(pair)


def test_the_volume_before_and_after_is_told() -> None:
    result = repaired(together(box(10, 10, 10), inside_out(box(8, 8, 8, at=(20, 0, 0)))))
    told = next(finding.what for finding in result.findings if finding.code == "inside-out")
    assert "1 of 2 shells" in told
    assert "from 488.0 to 1512.0 mm³" in told


def test_more_bodies_than_anyone_casts_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bodies, "MOST_SHELLS", 5)
    tiny = [moved(ball(0.2, segments=8), offset_mm=np.array([float(n), 0, 0])) for n in range(6)]
    with pytest.raises(UnreadablePart, match="6 separate bodies and voids; up to 5"):
        repaired(together(*tiny))


def test_a_doubled_body_that_shares_a_wall_with_another_counts_once() -> None:
    result = repaired(together(box(10, 10, 10), box(10, 10, 10, at=(10, 0, 0)), box(10, 10, 10)))
    assert mesh_volume_mm3(result.mesh) == pytest.approx(2000)


def test_bodies_that_cancel_each_other_are_refused_and_never_dropped_as_scraps() -> None:
    boxes: list[Box] = [(0, 3, 2, 1, 6, 3), (4, 2, 2, 6, 4, 6), (0, 3, 1, 4, 4, 5)]
    rng = np.random.default_rng(1)
    corners = corners_of(boxes, [False, False, True], fine=True, rng=rng)
    with pytest.raises(UnreadablePart, match="enclose as much inside out"):
        repair_mesh(*heap_of(corners, rng, shuffled=True))


def test_a_curved_sheet_with_two_sides_is_a_scrap() -> None:
    dome = ball(8.0, segments=32)
    upper = dome.faces[(dome.vertices_mm[dome.faces][:, :, 2] > -1e-9).all(axis=1)]
    sheet = Mesh(vertices_mm=dome.vertices_mm + 40.0, faces=np.concatenate([upper, upper[:, ::-1]]))
    result = repaired(together(box(20, 20, 20), sheet))
    assert mesh_volume_mm3(result.mesh) == pytest.approx(8000)
    assert result.bodies == 1
