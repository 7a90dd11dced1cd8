"""Very many faces become fewer, and no place moves further than said."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial import KDTree

from firstpour.part import lighter as room
from firstpour.part.lighter import lighter
from firstpour.part.part import FaceMark, Part, marked
from firstpour.part.read import read_likely_part, read_part
from firstpour.values import mesh_volume_mm3
from part_files import binary_stl, written
from sample_shapes import ball, box


@pytest.fixture
def smooth(tmp_path: Path) -> Part:
    return read_part(written(tmp_path, "ball.stl", binary_stl(ball(5, segments=160))))


def test_few_faces_stay_as_they_are(smooth: Part) -> None:
    assert lighter(smooth) is smooth


def test_no_place_moves_further_than_said(smooth: Part, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOST_FACES", 9000)
    light = lighter(smooth)
    assert 1000 < len(light.mesh.faces) <= 9000 < len(smooth.mesh.faces)
    (note,) = light.findings
    assert note.code == "fewer-faces"
    said_mm = float(note.what.split("further than ")[1].split(" mm")[0])
    # trimesh 4 as the outside reference for the distance between the two surfaces
    surface = trimesh.Trimesh(light.mesh.vertices_mm, light.mesh.faces, process=False)
    points = np.concatenate([smooth.mesh.vertices_mm, smooth.mesh.vertices_mm[smooth.mesh.faces].mean(axis=1)])
    near = KDTree(surface.triangles_center).query(points, k=40)[1]
    each = np.repeat(points, 40, axis=0)
    touched = trimesh.triangles.closest_point(surface.triangles[near.ravel()], each)
    far_mm = np.linalg.norm(touched - each, axis=1).reshape(-1, 40).min(axis=1).max()
    assert 0.1 * said_mm < far_mm <= said_mm
    assert surface.is_watertight
    changed_mm3 = mesh_volume_mm3(smooth.mesh) - mesh_volume_mm3(light.mesh)
    assert 0 < changed_mm3 <= far_mm * surface.area


def test_marks_stay_where_they_were(smooth: Part, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOST_FACES", 9000)
    middles = smooth.mesh.vertices_mm[smooth.mesh.faces].mean(axis=1)
    shown = np.where(middles[:, 2] > 1, np.uint8(FaceMark.SHOW), np.uint8(0))
    light = lighter(replace(smooth, marks=shown))
    after = light.mesh.vertices_mm[light.mesh.faces].mean(axis=1)
    edge_mm = 0.5
    assert marked(light, FaceMark.SHOW)[after[:, 2] > 1 + edge_mm].all()
    assert not marked(light, FaceMark.SHOW)[after[:, 2] < 1 - edge_mm].any()


def test_every_command_that_works_on_a_part_gets_the_lighter_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fine = trimesh.Trimesh(*box_of(20.0)).subdivide().subdivide().subdivide()
    path = tmp_path / "cube.stl"
    fine.export(path)
    monkeypatch.setattr(room, "MOST_FACES", 100)
    light = read_likely_part(path)
    assert len(light.mesh.faces) == 12
    assert mesh_volume_mm3(light.mesh) == pytest.approx(8000.0)
    assert len(read_part(path).mesh.faces) == len(fine.faces) == 768


def box_of(side_mm: float) -> tuple[np.ndarray, np.ndarray]:
    cube = box(side_mm, side_mm, side_mm)
    return cube.vertices_mm, cube.faces
