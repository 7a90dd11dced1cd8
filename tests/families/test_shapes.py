"""The families are closed solids of the size asked for, the same every time."""

import numpy as np
import pytest
import trimesh

from families import FAMILIES, SIZES_MM, family_part
from firstpour.values import mesh_volume_mm3


def test_there_are_at_least_24_families_each_told_apart():
    assert len(FAMILIES) >= 24
    assert all(family.good_for.endswith(".") for family in FAMILIES.values())
    assert len({family.good_for for family in FAMILIES.values()}) == len(FAMILIES)


@pytest.mark.parametrize("name", FAMILIES)
def test_a_family_is_one_closed_body_of_about_its_size_and_faces(name):
    for size_mm, faces in zip(SIZES_MM[:2], (1_500, 8_000), strict=True):
        mesh = family_part(name, size_mm=size_mm, faces=faces).mesh
        seen = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        assert seen.is_watertight
        assert seen.is_winding_consistent
        assert seen.body_count == 1
        assert seen.volume > 0.0
        assert 0.85 * size_mm <= seen.extents.max() <= 1.1 * size_mm
        assert 0.7 * faces <= len(mesh.faces) <= 5 * faces


def test_a_family_is_the_same_every_time_and_may_lie_any_way():
    one, again, other = (family_part("fan", size_mm=20.0, turn_seed=seed).mesh for seed in (3, 3, None))
    np.testing.assert_array_equal(one.vertices_mm, again.vertices_mm)
    np.testing.assert_array_equal(one.faces, again.faces)
    assert mesh_volume_mm3(one) == pytest.approx(mesh_volume_mm3(other), rel=1e-9)
    assert not np.allclose(one.vertices_mm, other.vertices_mm)
