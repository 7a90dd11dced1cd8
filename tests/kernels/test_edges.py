"""Edges of closed meshes against a slow twin and Euler's formula."""

from collections import defaultdict

import numpy as np
import pytest

from firstpour.kernels.edges import pair_sides
from firstpour.surface.edges import edge_cosines, edge_lengths_mm, edges_of
from mould_shapes import sample


def edges_slowly(faces):
    """Faces beside each edge, by a dictionary."""
    beside = defaultdict(set)
    for n, face in enumerate(faces.tolist()):
        for k in range(3):
            beside[frozenset((face[k], face[(k + 1) % 3]))].add(n)
    return dict(beside)


@pytest.mark.parametrize("name", ["cube", "torus", "L-bracket", "two-hole plate"])
def test_edges_equal_those_of_a_dictionary(name):
    mesh = sample(name).mesh
    ends, faces, waiting = pair_sides(mesh.faces, len(mesh.vertices_mm))
    found = {frozenset(e): set(f) for e, f in zip(ends.tolist(), faces.tolist(), strict=True)}
    assert waiting == 0
    assert (ends[:, 0] < ends[:, 1]).all()
    assert found == edges_slowly(mesh.faces)


def test_a_missing_face_leaves_three_sides_without_a_partner():
    mesh = sample("cube").mesh
    assert pair_sides(mesh.faces[1:], len(mesh.vertices_mm))[2] == 3


@pytest.mark.parametrize(("name", "genus"), [("cube", 0), ("sphere", 0), ("torus", 1), ("two-hole plate", 2)])
def test_edges_obey_the_formula_of_euler(name, genus):
    mesh = sample(name).mesh
    assert len(mesh.vertices_mm) - len(edges_of(mesh).ends) + len(mesh.faces) == 2 - 2 * genus


def test_a_cube_has_twelve_square_edges_of_its_own_length():
    mesh = sample("cube").mesh
    edges = edges_of(mesh)
    square = np.abs(edge_cosines(mesh, edges)) < 1e-12
    assert square.sum() == 12
    assert edge_lengths_mm(mesh, edges)[square] == pytest.approx(20.0)
