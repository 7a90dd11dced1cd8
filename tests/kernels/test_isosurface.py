"""The isosurface: closed and two-sided whatever the field, and true to known surfaces."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.measure import marching_cubes

from firstpour.errors import BadRequest
from firstpour.kernels.isosurface import case_table, corner_of, isosurface
from firstpour.surface.isosurface import isosurface_mesh
from firstpour.values import FloatArray, IntArray, face_areas_mm2, mesh_volume_mm3


def walled_noise(seed: int, *, shape: tuple[int, int, int], levels: int) -> FloatArray:
    """Random values, some exactly equal, with all outermost nodes outside."""
    rng = np.random.default_rng(seed)
    values = np.ones(tuple(n + 2 for n in shape))
    values[1:-1, 1:-1, 1:-1] = np.round(rng.normal(size=shape) * levels) / levels
    return values


def assert_two_manifold(faces: IntArray) -> None:
    """Each side once in each direction, and the faces around each vertex in one ring."""
    sides = Counter((int(face[k]), int(face[(k + 1) % 3])) for face in faces for k in range(3))
    assert set(sides.values()) == {1}
    assert all((b, a) in sides for a, b in sides)
    around: dict[int, dict[int, int]] = {}
    for face in faces.tolist():
        for k in range(3):
            around.setdefault(face[k], {})[face[(k + 1) % 3]] = face[(k + 2) % 3]
    for ring in around.values():
        at = start = next(iter(ring))
        for _ in ring:
            at = ring[at]
            assert at != start or _ == list(ring)[-1]
        assert at == start


@given(
    seed=st.integers(0, 2**32 - 1),
    shape=st.tuples(*[st.integers(1, 6)] * 3),
    levels=st.sampled_from([1, 2, 1000]),
)
@settings(max_examples=25, deadline=None)
def test_the_surface_of_pure_noise_is_a_closed_two_manifold(
    seed: int, shape: tuple[int, int, int], levels: int
) -> None:
    values = walled_noise(seed, shape=shape, levels=levels)
    vertices, faces = isosurface(values, 0.0, np.zeros(3), 1.0)
    if not (values < 0).any():
        assert len(faces) == 0
        return
    assert_two_manifold(faces)
    assert set(faces.ravel().tolist()) == set(range(len(vertices)))


def test_noise_reaches_the_rare_case_of_two_sheets_over_one_face() -> None:
    table = case_table()
    assert table.joined_twice.any()
    values = walled_noise(1, shape=(8, 8, 8), levels=1000)
    vertices, _ = isosurface(values, 0.0, np.zeros(3), 1.0)
    inside = values < 0
    code = np.zeros(tuple(n - 1 for n in values.shape), np.int64)
    for corner in range(8):
        x, y, z = corner & 1, corner >> 1 & 1, corner >> 2
        nz, ny, nx = code.shape
        code |= inside[z : z + nz, y : y + ny, x : x + nx].astype(np.int64) << corner
    assert len(vertices) > table.sheets[code].sum()  # more vertices than sheets: some sides were kept apart


def test_the_table_has_one_sheet_for_a_corner_and_two_for_opposite_corners() -> None:
    table = case_table()
    assert table.sheets[0] == table.sheets[255] == 0
    assert table.sheets[0b00000001] == 1
    assert table.sheets[0b10000001] == 2
    crossed = [edge for edge in range(12) if table.sheet_of[1, edge] >= 0]
    assert all(corner_of(edge, 0) == 0 for edge in crossed)
    assert len(crossed) == 3


def ellipsoid(pitch_mm: float) -> tuple[FloatArray, FloatArray]:
    """A field that is zero on the ellipsoid 6, 10, 16 and close to a distance there."""
    nodes = [np.arange(-half - 3 * pitch_mm, half + 3 * pitch_mm, pitch_mm) for half in (16.0, 10.0, 6.0)]
    z, y, x = np.meshgrid(*nodes, indexing="ij")
    share = np.sqrt((x / 6) ** 2 + (y / 10) ** 2 + (z / 16) ** 2)
    steep = np.sqrt((x / 36) ** 2 + (y / 100) ** 2 + (z / 256) ** 2)
    return share * (share - 1) / np.maximum(steep, 1e-9), np.array([nodes[2][0], nodes[1][0], nodes[0][0]])


def test_an_ellipsoid_has_its_volume_and_area_and_gains_fourfold_on_halving_the_pitch() -> None:
    # Ellipsoid 6, 10, 16: V = 4021.2386, A = 1383.2828 (skimage.draw.ellipsoid_stats; checks of the project).
    errors = []
    for pitch_mm in (1.0, 0.5):
        values, origin = ellipsoid(pitch_mm)
        mesh = isosurface_mesh(values, level=0.0, origin_mm=origin, pitch_mm=pitch_mm)
        errors.append(abs(mesh_volume_mm3(mesh) / 4021.2386 - 1))
        assert face_areas_mm2(mesh).sum() == pytest.approx(1383.2828, rel=0.02)
    assert errors[1] < 0.005
    assert 3.0 < errors[0] / errors[1] < 5.0


def test_the_surface_agrees_with_marching_cubes_of_a_general_library() -> None:
    values, origin = ellipsoid(0.5)
    mesh = isosurface_mesh(values, level=0.4, origin_mm=origin, pitch_mm=0.5)
    points, faces, _, _ = marching_cubes(values, 0.4, gradient_direction="ascent")
    a, b, c = (0.5 * points[faces[:, k]].astype(float) for k in range(3))
    peer_mm3 = abs(float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6)
    assert mesh_volume_mm3(mesh) == pytest.approx(peer_mm3, rel=0.005)
    assert mesh.vertices_mm.max(axis=0) == pytest.approx(0.5 * points.max(axis=0)[::-1] + origin, abs=0.25)


def test_a_flat_face_of_a_distance_field_stays_flat_and_in_place() -> None:
    z, _, _ = np.meshgrid(np.arange(12.0), np.arange(9.0), np.arange(9.0), indexing="ij")
    x, y = np.abs(np.arange(9.0) - 4)[None, None, :], np.abs(np.arange(9.0) - 4)[None, :, None]
    values = np.maximum(np.maximum(2.3 - z, z - 8.6), np.maximum(x, y) - 2.5)
    mesh = isosurface_mesh(values, level=0.0, origin_mm=np.zeros(3), pitch_mm=1.0)
    inner = (np.abs(mesh.vertices_mm[:, :2] - 4) < 1.0).all(axis=1)
    heights = np.unique(mesh.vertices_mm[inner, 2].round(9))
    assert heights.tolist() == [2.3, 8.6]


@pytest.mark.parametrize(
    ("values", "pitch_mm", "problem"),
    [
        (np.full((2, 5, 5), 1.0), 1.0, "shape"),
        (np.full((5, 5, 5), np.nan), 1.0, "not numbers"),
        (np.full((5, 5, 5), 1.0), 0.0, "pitch"),
        (np.full((5, 5, 5), -1.0), 1.0, "edge of its grid"),
        (np.full((5, 5, 5), 1.0), 1.0, "nothing"),
    ],
)
def test_a_field_without_a_closed_surface_is_refused(values: FloatArray, pitch_mm: float, problem: str) -> None:
    with pytest.raises(BadRequest, match=problem):
        isosurface_mesh(values, level=0.0, origin_mm=np.zeros(3), pitch_mm=pitch_mm)
