import igl
import numpy as np
import pytest

from fill_shapes import SOLIDS, UP, box, part_of
from firstpour.fill.spots import nearest_spot, nearest_spots


@pytest.mark.parametrize("name", ["ring", "table", "u"])
def test_the_nearest_place_is_that_of_libigl(name):
    part = part_of(SOLIDS[name])
    points = np.random.default_rng(3).uniform(-15, 25, size=(60, 3))
    squared, _, places = igl.point_mesh_squared_distance(points, part.mesh.vertices_mm, part.mesh.faces)
    for point, expected2, place in zip(points, squared, places, strict=True):
        spot = nearest_spot(part, point, up=UP)
        assert spot.distance_mm == pytest.approx(np.sqrt(expected2), abs=1.1e-6)
        assert np.linalg.norm(point - spot.at_mm) == pytest.approx(np.linalg.norm(point - place), abs=1.1e-6)


def test_at_an_edge_the_face_that_looks_up_is_taken():
    part = part_of(box((0, 0, 0), (10, 10, 10)))
    assert nearest_spot(part, np.array([10.0, 5.0, 10.0]), up=UP).normal == pytest.approx([0, 0, 1])
    assert nearest_spot(part, np.array([10.0, 5.0, 10.0]), up=np.array([1.0, 0, 0])).normal == pytest.approx(
        [1, 0, 0]
    )
    assert nearest_spot(part, np.array([12.0, 5.0, 9.9]), up=UP).normal == pytest.approx([1, 0, 0])


def test_many_points_at_once_give_what_each_gives_alone():
    part = part_of(SOLIDS["ring"])
    points = np.random.default_rng(5).uniform(-15, 25, size=(45, 3))
    together = nearest_spots(part, points, up=UP)
    for k, point in enumerate(points):
        alone = nearest_spot(part, point, up=UP)
        assert (together.faces[k], together.distances_mm[k]) == (alone.face, alone.distance_mm)
        assert together.at_mm[k].tolist() == alone.at_mm.tolist()
        assert together.normals[k].tolist() == alone.normal.tolist()
    assert len(nearest_spots(part, np.empty((0, 3)), up=UP).faces) == 0
