"""The sweep against the sorted dexels (its slow twin), and both against closed forms."""

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest, UnreadablePart
from firstpour.kernels import dexels as kernel
from firstpour.kernels import sweep
from firstpour.kernels.crossings import MOST_LINES, packed_line
from firstpour.surface.dexels import (
    Dexels,
    bottom_map_mm,
    cut_dexels,
    dexel_volume_mm3,
    dexels_of,
    frame_of,
    grid_along,
    top_map_mm,
)
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, mesh_volume_mm3

directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: sum(c * c for c in d) > 0.01)
resolutions = st.integers(1, 90)


def union_of_boxes(seed: int) -> Mesh:
    """A closed mesh of a few tilted boxes and balls: large and small faces, holes and undercuts."""
    rng = np.random.default_rng(seed)
    solid = manifold3d.Manifold()
    for _ in range(4):
        box = manifold3d.Manifold.cube(rng.uniform(2, 12, 3), True)
        ball = manifold3d.Manifold.sphere(rng.uniform(2, 6), int(rng.integers(4, 60)))
        for piece in (box, ball):
            solid = solid + piece.rotate(rng.uniform(0, 360, 3)).translate(rng.uniform(-6, 6, 3))
    return from_solid(solid)


def convex_body(seed: int, points: int) -> Mesh:
    """The hull of a few random points, or of many: facets from large to small."""
    rng = np.random.default_rng(seed)
    return from_solid(manifold3d.Manifold.hull_points(rng.normal(size=(points, 3)) * [4, 7, 11]))


def sweep_one(mesh: Mesh, direction: np.ndarray, resolution: int) -> np.ndarray:
    frames = frame_of(direction)[None]
    return kernel.sweep_voids(mesh.vertices_mm, mesh.faces, frames, resolution)[0]


def void_by_sorting(dexels: Dexels) -> float:
    top, bottom = top_map_mm(dexels), bottom_map_mm(dexels)
    hit = top >= bottom
    return float((top[hit] - bottom[hit]).sum()) * dexels.pitch_mm**2 - dexel_volume_mm3(dexels)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), direction=directions, resolution=resolutions)
def test_the_sweep_finds_the_void_that_sorted_dexels_find(seed, direction, resolution):
    mesh, direction = union_of_boxes(seed), np.array(direction)
    dexels = cut_dexels(mesh, direction, resolution=resolution)
    void_mm3, height_mm, pitch_mm = sweep_one(mesh, direction, resolution)
    assert pitch_mm == pytest.approx(dexels.pitch_mm, rel=1e-12)
    assert height_mm == pytest.approx(np.ptp(mesh.vertices_mm @ frame_of(direction)[2]), rel=1e-12)
    assert void_mm3 == pytest.approx(void_by_sorting(dexels), abs=1e-7 * mesh_volume_mm3(mesh))


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    points=st.sampled_from([4, 8, 30, 400]),
    direction=directions,
    resolution=resolutions,
)
def test_a_convex_body_has_exactly_no_void(seed, points, direction, resolution):
    assert sweep_one(convex_body(seed, points), np.array(direction), resolution)[0] == 0.0


@pytest.mark.parametrize("direction", [(0, 0, 1), (1, 0, 0), (1, 1, 0), (1, 1, 1), (0, 1, 1e-9)])
@pytest.mark.parametrize("resolution", [1, 2, 63, 64, 65])
def test_a_box_cut_along_its_walls_edges_and_corners_has_exactly_no_void(direction, resolution):
    box = from_solid(manifold3d.Manifold.cube([10, 10, 10], True))
    assert sweep_one(box, np.array(direction, float), resolution)[0] == 0.0


def test_the_void_between_two_walls_is_the_gap_across_it_and_nothing_along_it():
    """Two boxes 4 mm apart: 4 · 10 · 10 mm³."""
    wall = manifold3d.Manifold.cube([3, 10, 10], False)
    pair = from_solid(wall + wall.translate([7, 0, 0]))
    assert sweep_one(pair, np.array([0.0, 0.0, 1.0]), 80)[0] == 0.0
    assert sweep_one(pair, np.array([1.0, 0.0, 0.0]), 80)[0] == pytest.approx(400.0, rel=1e-12)


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 10_000), direction=directions)
def test_the_void_does_not_depend_on_the_order_of_faces_and_vertices(seed, direction):
    mesh, rng = union_of_boxes(seed), np.random.default_rng(seed)
    order = rng.permutation(len(mesh.vertices_mm))
    place = np.argsort(order)
    faces = np.roll(place[mesh.faces][rng.permutation(len(mesh.faces))], int(rng.integers(3)), axis=1)
    shuffled = Mesh(vertices_mm=mesh.vertices_mm[order], faces=faces)
    first, second = (sweep_one(m, np.array(direction), 64)[0] for m in (mesh, shuffled))
    assert first == pytest.approx(second, abs=1e-9 * mesh_volume_mm3(mesh))


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), size=st.floats(0.2, 6), resolution=st.sampled_from([1, 3, 30, 124, 125, 900]))
def test_leaving_out_faces_by_their_rough_corners_loses_no_crossing(seed, size, resolution):
    """Slow twin: without binary places no face is left out."""
    rng = np.random.default_rng(seed)
    middles = rng.uniform(-0.5, resolution - 0.5, (400, 1, 3))
    corners = np.clip(middles + rng.uniform(-size, size, (400, 3, 3)), -0.5, resolution - 0.5)
    corners[::3, :, :2] = np.round(corners[::3, :, :2] * 4) / 4  # corners and edges that lie on lines exactly
    faces = np.arange(1200, dtype=np.uint32).reshape(400, 3)
    bits = sweep.binary_places(resolution)
    assert bits == min(8, int(np.log2(MOST_LINES / (resolution + 1))))
    picked, tallies = [], []
    for places in (0, bits):
        pix = corners.reshape(-1, 3)
        ahead = np.array([packed_line(x, y, places) for x, y, _ in pix], np.int32)
        tally = sweep.new_tally(resolution**2)
        sweep.tally_lines(*pix.T.copy(), ahead, places, faces, resolution, resolution, tally)
        tallies.append(tally)
        picked.append(sweep.pick_faces(ahead, places, faces, np.empty(401, np.uint32), np.empty(401, np.uint32)))
    np.testing.assert_array_equal(*tallies)
    assert picked[0][1] == picked[1][1]
    assert picked[1][0] <= picked[0][0]


def test_nearly_all_small_faces_that_miss_the_only_line_in_their_box_are_left_out():
    """Right triangles with legs of 0.9 pixels, line (6, 6) in the box of each: half of them miss it."""
    right_angles = np.random.default_rng(0).uniform([5.1, 5.1, 0.0], [6.0, 6.0, 1.0], (2000, 3))
    corners = right_angles[:, None] + np.array([[0, 0, 0], [0.9, 0, 0], [0, 0.9, 0]])
    pix, faces = corners.reshape(-1, 3), np.arange(6000, dtype=np.uint32).reshape(2000, 3)
    rows = np.empty(2001, np.uint32), np.empty(2001, np.uint32)
    bits = sweep.binary_places(128)
    ahead = np.array([packed_line(x, y, bits) for x, y, _ in pix], np.int32)
    kept, wider = sweep.pick_faces(ahead, bits, faces, *rows)
    met = (6.0 - right_angles[:, :2]).sum(axis=1) <= 0.9
    assert wider == 0
    assert 900 < met.sum() <= kept <= 1.1 * met.sum()


def test_many_directions_come_out_as_one_at_a_time():
    mesh = union_of_boxes(3)
    frames = np.stack([frame_of(d) for d in np.random.default_rng(0).normal(size=(70, 3))])
    together = kernel.sweep_voids(mesh.vertices_mm, mesh.faces, frames, 48)
    apart = [kernel.sweep_voids(mesh.vertices_mm, mesh.faces, frames[k : k + 1], 48)[0] for k in range(70)]
    np.testing.assert_array_equal(together, apart)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000), direction=directions, resolution=resolutions, bands=st.integers(2, 7))
def test_dexels_do_not_depend_on_the_number_of_bands(seed, direction, resolution, bands):
    mesh = union_of_boxes(seed)
    grid = grid_along(mesh, np.array(direction), resolution=resolution, margin=1)
    one = kernel.dexel_lines_in_bands(grid.pix, mesh.faces, grid.nx, grid.ny, 1)
    many = kernel.dexel_lines_in_bands(grid.pix, mesh.faces, grid.nx, grid.ny, bands)
    for first, second in zip(one[:2], many[:2], strict=True):
        np.testing.assert_array_equal(first, second)
    assert one[3] == many[3] == 0


def test_lines_crossed_more_often_than_there_was_room_for_are_all_kept():
    """Twelve plates one above the other: 24 crossings a line, each plate 1 mm thick."""
    plate = manifold3d.Manifold.cube([10, 10, 1], False)
    stack = from_solid(manifold3d.Manifold.compose([plate.translate([0, 0, 2 * k]) for k in range(12)]))
    dexels = cut_dexels(stack, np.array([0.0, 0.0, 1.0]), resolution=40)
    assert set(np.diff(dexels.offsets)) == {24}
    np.testing.assert_allclose(dexels.z_mm, np.tile(np.arange(24.0), 1600), atol=1e-12)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000), direction=directions, resolution=resolutions)
def test_depth_pairs_hold_the_ends_of_the_sorted_lines(seed, direction, resolution):
    mesh = union_of_boxes(seed)
    grid = grid_along(mesh, np.array(direction), resolution=resolution)
    n = grid.nx * grid.ny
    bottom, top, solid = np.full(n, np.inf), np.full(n, -np.inf), np.zeros(n)
    ahead = kernel.line_ahead(grid.pix)
    kernel.depth_pairs(grid.pix, ahead, mesh.faces, grid.nx, grid.ny, bottom, top, solid)
    dexels = dexels_of(grid, mesh.faces)
    np.testing.assert_array_equal(bottom, bottom_map_mm(dexels).ravel())
    np.testing.assert_array_equal(top, top_map_mm(dexels).ravel())
    assert solid.sum() * grid.pitch_mm**2 == pytest.approx(dexel_volume_mm3(dexels), abs=1e-9 * n)


def test_a_mesh_with_a_face_missing_is_refused():
    mesh = union_of_boxes(1)
    areas = np.abs(np.cross(*(np.diff(mesh.vertices_mm[mesh.faces], axis=1).transpose(1, 0, 2)))[:, 2])
    leaky = Mesh(vertices_mm=mesh.vertices_mm, faces=np.delete(mesh.faces, areas.argmax(), axis=0))
    with pytest.raises(UnreadablePart, match="enter the part without leaving it"):
        cut_dexels(leaky, np.array([0.0, 0.0, 1.0]), resolution=64)


@pytest.mark.parametrize("resolution", [0, MOST_LINES + 1])
def test_a_grid_with_too_few_or_too_many_lines_is_refused(resolution):
    with pytest.raises(BadRequest, match="lines a side"):
        grid_along(union_of_boxes(1), np.array([0.0, 0.0, 1.0]), resolution=resolution)
