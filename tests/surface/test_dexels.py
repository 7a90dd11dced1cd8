"""Dexels against closed forms and against another library's point-in-solid."""

import igl
import manifold3d
import numpy as np
import pytest

from firstpour.errors import BadRequest, UnreadablePart
from firstpour.surface.dexels import bottom_map_mm, cut_dexels, dexel_volume_mm3, frame_of, top_map_mm, voxels_of
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, face_areas_mm2, face_normals, mesh_volume_mm3
from sample_shapes import CLOSED, CONVEX, SHAPES, polygon_share, revolved, torus

SKEW = np.array([0.3, -0.5, 0.8])


@pytest.mark.parametrize(("segments", "short_percent"), [(32, -1.28), (64, -0.321), (128, -0.0803), (256, -0.0201)])
def test_a_torus_mesh_lacks_the_share_of_its_volume_that_its_polygons_lack(
    segments: int, short_percent: float
) -> None:
    # Torus R10 r3: V = 1776.52879 (2π²Rr²); mesh error recomputed with general-purpose libraries (project's checks).
    mesh = torus(10, 3, segments=segments)
    assert 100 * (mesh_volume_mm3(mesh) / 1776.52879 - 1) == pytest.approx(short_percent, rel=0.01)
    assert mesh_volume_mm3(mesh) == pytest.approx(1776.52879 * polygon_share(segments) ** 2, rel=1e-6)


def cap() -> Mesh:
    """The top 3 mm of a ball of radius 10, in 256 segments."""
    angles = np.linspace(np.arccos(0.7), 0, 65)
    profile = [(0.0, 7.0), *[(10 * np.sin(a), 10 * np.cos(a)) for a in angles[:-1]], (0.0, 10.0)]
    return revolved([(float(r), float(z)) for r, z in profile], segments=256)


@pytest.mark.parametrize(
    ("mesh", "volume_mm3", "rel"),
    [
        # Closed forms: torus 2π²Rr², cap πh²(3R − h)/3, frustum πh(a² + ab + b²)/3, right triangle turned (Pappus).
        (torus(10, 3, segments=256), 1776.52879, 4e-4),
        (cap(), 254.469005, 4e-4),
        (from_solid(manifold3d.Manifold.cylinder(6.0, 10.0, 4.0, 512)), 980.176908, 2e-4),
        (revolved([(10, 0), (13, 0), (10, 6)], segments=512), 622.0353, 2e-4),
    ],
    ids=["torus", "cap", "frustum", "turned triangle"],
)
def test_dexels_of_a_turned_solid_have_its_closed_volume(mesh: Mesh, volume_mm3: float, rel: float) -> None:
    dexels = cut_dexels(mesh, SKEW, resolution=256)
    assert dexel_volume_mm3(dexels) == pytest.approx(volume_mm3, rel=rel + 2e-4)
    flat_mm2 = face_areas_mm2(mesh)[np.abs(face_normals(mesh)[:, 2]) > 0.999].sum()
    for axis in np.eye(3):  # flat ends that lie along the lines are off by up to half a pixel
        dexels = cut_dexels(mesh, axis, resolution=256)
        half_pixel_mm3 = 0.5 * dexels.pitch_mm * flat_mm2
        assert abs(dexel_volume_mm3(dexels) - volume_mm3) <= half_pixel_mm3 + 1e-3 * volume_mm3


@pytest.mark.parametrize("name", CLOSED)
def test_the_table_of_shapes_has_its_closed_forms_and_the_dexels_agree(name: str) -> None:
    shape = SHAPES[name]
    volume_mm3 = mesh_volume_mm3(shape.mesh)
    if shape.volume_mm3 is not None:
        assert volume_mm3 == pytest.approx(shape.volume_mm3, rel=1e-6)
    dexels = cut_dexels(shape.mesh, SKEW, resolution=256)
    assert dexel_volume_mm3(dexels) == pytest.approx(volume_mm3, rel=2e-3)


@pytest.mark.parametrize("name", CONVEX)
def test_a_line_enters_a_convex_solid_once(name: str) -> None:
    for direction in np.random.default_rng(2).normal(size=(20, 3)):
        dexels = cut_dexels(SHAPES[name].mesh, direction, resolution=40)
        assert set(np.diff(dexels.offsets).tolist()) <= {0, 2}


@pytest.mark.parametrize("name", ["tilted box", "bowl", "undercut ring", "torus", "two bodies"])
def test_voxels_agree_with_the_winding_number_of_a_general_library(name: str) -> None:
    mesh = SHAPES[name].mesh
    dexels = cut_dexels(mesh, SKEW, resolution=20)
    low_mm = float((mesh.vertices_mm @ dexels.frame[2]).min())
    high_mm = float((mesh.vertices_mm @ dexels.frame[2]).max())
    layers = int((high_mm - low_mm) / dexels.pitch_mm) + 1
    voxels = voxels_of(dexels, z0_mm=low_mm, layers=layers)
    k, j, i = np.meshgrid(np.arange(layers), np.arange(dexels.ny), np.arange(dexels.nx), indexing="ij")
    u, v = (dexels.origin_mm[n] + dexels.pitch_mm * index.ravel() for n, index in enumerate((i, j)))
    points = np.stack([u, v, low_mm + (k.ravel() + 0.5) * dexels.pitch_mm], axis=1) @ dexels.frame
    winding = igl.winding_number(mesh.vertices_mm, mesh.faces, points)
    assert (voxels.ravel() == (winding > 0.5)).all()
    assert voxels.any()


def test_top_and_bottom_maps_hold_the_outermost_crossings() -> None:
    dexels = cut_dexels(SHAPES["cube"].mesh, np.array([0.0, 0, 1]), resolution=10, margin=1)
    top_mm, bottom_mm = top_map_mm(dexels), bottom_map_mm(dexels)
    assert top_mm.shape == (12, 12)
    assert np.isneginf(top_mm[0]).all()
    assert np.isposinf(bottom_mm[0]).all()
    assert set(top_mm[1:-1, 1:-1].ravel()) == {25.0}
    assert set(bottom_mm[1:-1, 1:-1].ravel()) == {5.0}


def test_an_open_mesh_is_refused_when_a_line_enters_without_leaving() -> None:
    with pytest.raises(UnreadablePart, match="without leaving"):
        cut_dexels(SHAPES["leaky cube"].mesh, np.array([0.0, 0, 1]), resolution=16)


@pytest.mark.parametrize("direction", [(0, 0, 0), (np.nan, 0, 1), (np.inf, 0, 0)])
def test_a_direction_without_length_is_refused(direction: tuple[float, float, float]) -> None:
    with pytest.raises(BadRequest, match="three finite numbers"):
        frame_of(np.array(direction))


def test_a_grid_needs_lines_and_a_solid_with_extent() -> None:
    with pytest.raises(BadRequest, match="0 lines"):
        cut_dexels(SHAPES["cube"].mesh, SKEW, resolution=0)
    nothing = Mesh(vertices_mm=np.zeros((0, 3)), faces=np.zeros((0, 3), np.int64))
    with pytest.raises(UnreadablePart):
        cut_dexels(nothing, SKEW, resolution=8)
    point = Mesh(vertices_mm=np.zeros((3, 3)), faces=np.array([[0, 1, 2]]))
    with pytest.raises(UnreadablePart, match="extent"):
        cut_dexels(point, SKEW, resolution=8)
