"""The dexel kernels against a slow twin, face by face and line by line."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.kernels import dexels as kernel
from firstpour.surface.dexels import cut_dexels, grid_along
from firstpour.values import FloatArray, IntArray, frame_along
from sample_shapes import CLOSED, SHAPES

directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1)


def crossed_lines(corners: FloatArray, nx: int, ny: int) -> np.ndarray:
    """Slow twin: lines (ny, nx) that cross a face. A line does if just one edge of its row starts at or before it."""
    x, y = np.meshgrid(np.arange(float(nx)), np.arange(float(ny)))
    before = np.zeros((ny, nx), np.int64)
    for k in range(3):
        (ax, ay), (bx, by) = sorted((corners[k, :2], corners[(k + 1) % 3, :2]), key=lambda end: end[1])
        if ay == by:
            continue
        at = np.clip(ax + (y - ay) * ((bx - ax) / (by - ay)), min(ax, bx), max(ax, bx))
        before += (ay <= y) & (y < by) & (at <= x)
    return before == 1


def slow_dexels(pix: FloatArray, faces: IntArray, nx: int, ny: int) -> list[list[tuple[float, int]]]:
    """Slow twin: for each line its depths and faces, from low to high."""
    lines: list[list[tuple[float, int]]] = [[] for _ in range(nx * ny)]
    for f, face in enumerate(faces):
        a, b, c = pix[face]
        normal = np.cross(b - a, c - a)
        for j, i in np.argwhere(crossed_lines(pix[face], nx, ny)):
            depth = a[2] - (normal[0] * (i - a[0]) + normal[1] * (j - a[1])) / normal[2]
            lines[j * nx + i].append((float(np.clip(depth, pix[face, 2].min(), pix[face, 2].max())), f))
    return [sorted(line) for line in lines]


@given(name=st.sampled_from(["cube", "tilted box", "two bodies", "leaky cube", "sliver"]), direction=directions)
@settings(max_examples=20, deadline=None)
def test_the_kernel_crosses_the_same_faces_as_its_slow_twin(name: str, direction: tuple[float, float, float]) -> None:
    mesh = SHAPES[name].mesh
    grid = grid_along(mesh, np.array(direction), resolution=17, margin=1)
    offsets, z_mm, face = kernel.dexel_lines(grid.pix, mesh.faces, grid.nx, grid.ny)
    slow = slow_dexels(grid.pix, mesh.faces, grid.nx, grid.ny)
    assert np.diff(offsets).tolist() == [len(line) for line in slow]
    assert sorted(face.tolist()) == sorted(f for line in slow for _, f in line)
    np.testing.assert_allclose(z_mm, [z for line in slow for z, _ in line], atol=1e-6)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=15, deadline=None)
def test_a_heap_of_random_triangles_gives_the_same_as_its_slow_twin(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pix = rng.uniform(-3, 15, (30, 3))
    pix[:10, :2] = np.round(pix[:10, :2])  # corners that lie on lines exactly
    faces = np.array([rng.choice(30, 3, replace=False) for _ in range(20)])
    offsets, z_mm, _ = kernel.dexel_lines(pix, faces, 12, 9)
    slow = slow_dexels(pix, faces, 12, 9)
    assert np.diff(offsets).tolist() == [len(line) for line in slow]
    np.testing.assert_allclose(z_mm, [z for line in slow for z, _ in line], atol=1e-6)


@pytest.mark.parametrize("name", CLOSED)
def test_every_line_that_enters_a_closed_mesh_leaves_it_along_64_directions(name: str) -> None:
    mesh = SHAPES[name].mesh
    for direction in np.random.default_rng(64).normal(size=(64, 3)):
        grid = grid_along(mesh, direction, resolution=48)
        offsets, _, _ = kernel.dexel_lines(grid.pix, mesh.faces, grid.nx, grid.ny)
        assert not (np.diff(offsets) % 2).any()


@pytest.mark.parametrize("direction", [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, 1, 0), (0, 1, 1), (1, 1, 1)])
def test_parity_holds_where_lines_run_along_faces_and_through_corners(direction: tuple[int, int, int]) -> None:
    for name in CLOSED:
        mesh = SHAPES[name].mesh
        for resolution in (10, 20, 40):
            grid = grid_along(mesh, np.array(direction, float), resolution=resolution)
            offsets, _, _ = kernel.dexel_lines(grid.pix, mesh.faces, grid.nx, grid.ny)
            assert not (np.diff(offsets) % 2).any(), (name, resolution)


@given(name=st.sampled_from(CLOSED), direction=directions)
@settings(max_examples=20, deadline=None)
def test_depth_pairs_are_the_ends_of_the_dexels(name: str, direction: tuple[float, float, float]) -> None:
    mesh = SHAPES[name].mesh
    grid = grid_along(mesh, np.array(direction), resolution=24)
    dexels = cut_dexels(mesh, np.array(direction), resolution=24)
    bottom, top, solid = np.full(grid.nx * grid.ny, np.inf), np.full(grid.nx * grid.ny, -np.inf), 0.0
    solid = np.zeros(grid.nx * grid.ny)
    kernel.depth_pairs(grid.pix, kernel.line_ahead(grid.pix), mesh.faces, grid.nx, grid.ny, bottom, top, solid)
    for n in range(grid.nx * grid.ny):
        z_mm = dexels.z_mm[dexels.offsets[n] : dexels.offsets[n + 1]]
        assert (bottom[n], top[n]) == ((z_mm[0], z_mm[-1]) if len(z_mm) else (np.inf, -np.inf))
        assert solid[n] == pytest.approx(float((z_mm[1::2] - z_mm[0::2]).sum()), abs=1e-9)


@pytest.mark.parametrize("name", CLOSED)
def test_the_sweep_finds_the_void_that_the_dexels_of_each_direction_have(name: str) -> None:
    mesh = SHAPES[name].mesh
    chosen = np.random.default_rng(5).normal(size=(6, 3))
    swept = kernel.sweep_voids(
        mesh.vertices_mm, mesh.faces, np.stack([frame_along(direction) for direction in chosen]), 40
    )
    for direction, (void_mm3, height_mm, pitch_mm) in zip(chosen, swept, strict=True):
        dexels = cut_dexels(mesh, direction, resolution=40)
        z_mm, hit = dexels.z_mm, np.diff(dexels.offsets) > 0
        spans_mm = z_mm[dexels.offsets[1:][hit] - 1] - z_mm[dexels.offsets[:-1][hit]]
        expected = (spans_mm.sum() - (z_mm[1::2] - z_mm[0::2]).sum()) * dexels.pitch_mm**2
        assert void_mm3 == pytest.approx(expected, rel=1e-9, abs=1e-6)
        assert height_mm == pytest.approx(np.ptp(mesh.vertices_mm @ direction / np.linalg.norm(direction)))
        assert pitch_mm == pytest.approx(dexels.pitch_mm)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=20, deadline=None)
def test_a_column_fill_sets_the_voxels_whose_middle_lies_inside(seed: int) -> None:
    rng = np.random.default_rng(seed)
    nx, ny, nz, z0, pitch = 5, 4, 12, -1.0, 0.5
    runs = [np.sort(rng.uniform(-2, 6, 2 * rng.integers(0, 4))) for _ in range(nx * ny)]
    offsets = np.cumsum([0] + [len(run) for run in runs])
    voxels = kernel.fill_columns(offsets, np.concatenate(runs), nx, ny, nz, z0, pitch)
    for n, run in enumerate(runs):
        middles = z0 + (np.arange(nz) + 0.5) * pitch
        inside = np.searchsorted(run, middles, side="right") % 2 == 1
        assert voxels[:, n // nx, n % nx].tolist() == inside.astype(int).tolist()
