"""STEP: sizes and volumes against closed form, what is damaged or cannot be read told in words."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from firstpour.errors import UnreadablePart
from firstpour.part import step_file
from firstpour.part.read import read_part
from firstpour.part.step_file import OFF_MM
from firstpour.values import face_normals, mesh_volume_mm3
from step_files import box_step, cylinder_step


def written(folder: Path, name: str, content: bytes) -> Path:
    (folder / name).write_bytes(content)
    return folder / name


@pytest.mark.parametrize("name", ["box.step", "box.stp", "BOX.STEP"])
def test_a_box_has_its_size_along_its_own_axes(tmp_path: Path, name: str) -> None:
    part = read_part(written(tmp_path, name, box_step(size=(10.0, 20.0, 30.0))))
    corners = part.mesh.vertices_mm
    assert corners.min(axis=0) == pytest.approx([0.0, 0.0, 0.0], abs=1e-5)
    assert corners.max(axis=0) == pytest.approx([10.0, 20.0, 30.0], abs=1e-5)
    assert mesh_volume_mm3(part.mesh) == pytest.approx(6000.0, rel=1e-6)
    assert part.bodies == 1
    assert {one.code for one in part.findings} == {"step-facets", "welded"}


def test_the_facets_of_a_cylinder_lie_no_further_off_than_is_said(tmp_path: Path) -> None:
    """A flat face between two places on a circle lies off it by r (1 − cos(half its angle)), in its middle."""
    radius, height = 10.0, 7.0
    part = read_part(written(tmp_path, "cylinder.step", cylinder_step(radius=radius, height=height)))
    mesh = part.mesh
    across = np.linalg.norm(mesh.vertices_mm[:, :2], axis=1)
    assert across.max() == pytest.approx(radius, abs=1e-4)
    wall = mesh.faces[np.abs(face_normals(mesh)[:, 2]) < 0.5]
    edges = np.concatenate([wall[:, [0, 1]], wall[:, [1, 2]], wall[:, [2, 0]]])
    middles = np.linalg.norm(mesh.vertices_mm[edges].mean(axis=1)[:, :2], axis=1)
    assert 0.0 < radius - middles.min() <= OFF_MM
    exact_mm3 = math.pi * radius**2 * height
    assert exact_mm3 * (1.0 - 2.0 * OFF_MM / radius) < mesh_volume_mm3(mesh) < exact_mm3


@pytest.mark.parametrize(
    "content",
    [b"ISO-10303-21;", b"nonsense", box_step(size=(1.0, 1.0, 1.0))[:900], b"\0" * 400],
    ids=["head", "words", "cut", "noughts"],
)
def test_a_damaged_file_is_told_in_words(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(UnreadablePart, match="STEP file"):
        read_part(written(tmp_path, "part.step", content))


def test_a_file_that_brings_the_reader_down_is_told_like_any_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(step_file, "READ", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)")
    with pytest.raises(UnreadablePart, match="damaged, or holds no solid"):
        read_part(written(tmp_path, "part.step", box_step(size=(1.0, 1.0, 1.0))))


def test_one_that_is_never_read_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(step_file, "READ", "import time; time.sleep(60)")
    monkeypatch.setattr(step_file, "LONGEST_S", 0.5)
    with pytest.raises(UnreadablePart, match="was not read within"):
        read_part(written(tmp_path, "part.step", box_step(size=(1.0, 1.0, 1.0))))


def test_without_the_reader_it_is_said_what_to_add(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cascadio", None)
    monkeypatch.setattr(step_file, "is_there", lambda: False)
    with pytest.raises(UnreadablePart, match="not installed here") as told:
        read_part(written(tmp_path, "part.step", box_step(size=(1.0, 1.0, 1.0))))
    assert "firstpour[step]" in told.value.remedy
