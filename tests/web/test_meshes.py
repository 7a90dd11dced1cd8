"""Meshes as raw arrays come back as they went."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.samples.samples import Sample, sample_part
from firstpour.values import Mesh
from firstpour.web.meshes import mesh_bytes, mesh_from_bytes


@given(st.integers(0, 40), st.integers(0, 60), st.lists(st.sampled_from("abcdefgh"), unique=True, max_size=5))
def test_a_mesh_comes_back_as_it_went(vertices: int, faces: int, names: list[str]) -> None:
    rng = np.random.default_rng(vertices * 100 + faces)
    mesh = Mesh(
        vertices_mm=rng.normal(size=(vertices, 3)),
        faces=rng.integers(0, max(vertices, 1), size=(faces, 3)),
    )
    figures = {name: rng.normal(size=faces) for name in names}
    sent = mesh_from_bytes(mesh_bytes(mesh, figures))
    assert np.array_equal(sent.vertices_mm, mesh.vertices_mm.astype(np.float32))
    assert np.array_equal(sent.faces, mesh.faces)
    assert list(sent.attributes) == names
    assert all(np.array_equal(sent.attributes[one], figures[one].astype(np.float32)) for one in names)


def test_every_number_stands_on_a_step_of_four_bytes() -> None:
    part = sample_part(Sample.LIMPET)
    data = mesh_bytes(part.mesh, {"mark": part.marks, "draft_deg": np.zeros(len(part.marks))})
    n, m = len(part.mesh.vertices_mm), len(part.mesh.faces)
    assert len(data) == 20 + 2 * 32 + 12 * n + 12 * m + 8 * m
    assert data[:4] == b"FPME"


@pytest.mark.parametrize("cut", [0, 3, 19, 30, -1])
def test_what_is_cut_short_is_refused(cut: int) -> None:
    mesh = Mesh(vertices_mm=np.eye(3), faces=np.array([[0, 1, 2]]))
    with pytest.raises(ValueError):  # noqa: PT011
        mesh_from_bytes(mesh_bytes(mesh, {"mark": np.ones(1)})[:cut])


def test_a_figure_too_few_is_refused() -> None:
    mesh = Mesh(vertices_mm=np.eye(3), faces=np.array([[0, 1, 2]]))
    with pytest.raises(ValueError, match="mark"):
        mesh_bytes(mesh, {"mark": np.ones(2)})
