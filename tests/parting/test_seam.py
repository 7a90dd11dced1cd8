"""Where the seam runs on the part."""

import manifold3d
import numpy as np
import pytest

from firstpour.kernels.edges import pair_sides
from firstpour.parting.draw import draw_along
from firstpour.surface.solids import from_solid
from firstpour.values import face_areas_mm2, mesh_volume_mm3
from mould_shapes import (
    LABELS,
    WITHOUT_UNDERCUT,
    Z,
    as_part,
    draw_of,
    sample,
    seam_of,
    star_prism,
    with_marks,
)

STAR_HIGH_MM = 12.0


def seam_heights(part, direction=Z):
    seamed = seam_of(part, draw_along(part, direction))
    return np.concatenate([seamed.mesh.vertices_mm[loop][:, 2] for loop in seamed.loops])


def plan_area_mm2(loop_mm):
    x, y = loop_mm[:, 0], loop_mm[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


@pytest.mark.parametrize(("name", "direction"), WITHOUT_UNDERCUT, ids=LABELS)
def test_cutting_the_seam_changes_neither_the_surface_nor_the_solid(name, direction):
    part = sample(name)
    seamed = seam_of(part, draw_of(name, tuple(direction.tolist())))
    assert pair_sides(seamed.mesh.faces, len(seamed.mesh.vertices_mm))[2] == 0
    assert mesh_volume_mm3(seamed.mesh) == pytest.approx(mesh_volume_mm3(part.mesh), rel=1e-9)
    areas = np.bincount(seamed.parent, weights=face_areas_mm2(seamed.mesh), minlength=len(part.mesh.faces))
    assert areas == pytest.approx(face_areas_mm2(part.mesh), abs=1e-9 * areas.sum())


@pytest.mark.parametrize(("name", "genus"), [("sphere", 0), ("torus", 1), ("warped ring", 1), ("two-hole plate", 2)])
def test_there_is_a_loop_around_the_part_and_one_for_each_through_hole(name, genus):
    seamed = seam_of(sample(name), draw_of(name, (0.0, 0.0, 1.0)))
    areas = sorted((plan_area_mm2(seamed.mesh.vertices_mm[loop]) for loop in seamed.loops), reverse=True)
    assert len(areas) == genus + 1
    assert areas[0] > 0.0  # counter-clockwise: the upper half on its left
    assert all(area < 0.0 for area in areas[1:])


@pytest.mark.parametrize("direction", [(0.0, 0.0, 1.0), (0.3, -0.5, 0.8), (1.0, 0.2, 0.1)])
def test_the_seam_of_a_ball_is_a_flat_circle_as_large_as_the_ball(direction):
    """Within the chord error of 64 segments: sagitta r(1 − cos(π/n)), twice over for a facet in both directions."""
    part = sample("sphere")
    seamed = seam_of(part, draw_of("sphere", direction))
    (loop,) = seamed.loops
    points = seamed.mesh.vertices_mm[loop]
    sagitta_mm = 15.0 * (1 - np.cos(np.pi / 64))
    radii = np.linalg.norm(points, axis=1)
    assert radii.max() <= 15.0 + 1e-9
    assert radii.min() >= 15.0 - 3 * sagitta_mm
    assert np.abs(points[:, 2]).max() < 15.0 * np.pi / 64  # half a facet


def test_the_seam_of_a_ball_nears_its_equator_as_the_mesh_grows_finer():
    off_mm = []
    for segments in (32, 64, 128):
        ball = as_part("ball", manifold3d.Manifold.sphere(15.0, segments))
        off_mm.append(float(np.abs(seam_heights(ball, np.array([0.3, -0.5, 0.8]))).max()))
    assert off_mm[0] > off_mm[1] > off_mm[2]


@pytest.mark.parametrize(("side", "height_mm"), [(1.0, STAR_HIGH_MM), (-1.0, 0.0)])
def test_the_seam_of_a_prism_runs_along_the_sharp_edge_of_its_hidden_face(side, height_mm):
    prism = with_marks("star", from_solid(star_prism()), hidden=side * Z)
    assert seam_heights(prism) == pytest.approx(height_mm)


@pytest.mark.parametrize(("side", "height_mm"), [(1.0, 0.0), (-1.0, STAR_HIGH_MM)])
def test_the_seam_of_a_prism_keeps_off_the_border_of_its_show_face(side, height_mm):
    prism = with_marks("star", from_solid(star_prism()), show=side * Z)
    assert seam_heights(prism) == pytest.approx(height_mm)


def test_the_seam_of_a_draft_wall_runs_at_its_wide_end():
    assert seam_heights(sample("pyramid")) == pytest.approx(0.0)


def test_faces_that_look_up_and_are_reached_go_to_the_upper_half():
    seamed = seam_of(sample("mushroom"), draw_of("mushroom", (0.0, 0.0, 1.0)))
    high = seamed.mesh.vertices_mm[seamed.mesh.faces].min(axis=1)[:, 2] > 1.0
    low = seamed.mesh.vertices_mm[seamed.mesh.faces].max(axis=1)[:, 2] < -1.0
    assert seamed.upper[high].all()
    assert not seamed.upper[low].any()


def test_seam_edges_lie_between_the_halves_with_the_upper_on_their_left():
    seamed = seam_of(sample("warped ring"), draw_of("warped ring", (0.0, 0.0, 1.0)))
    sides = {}
    for n, face in enumerate(seamed.mesh.faces.tolist()):
        for k in range(3):
            sides[face[k], face[(k + 1) % 3]] = n
    for a, b in seamed.edges.tolist():
        assert seamed.upper[sides[a, b]]
        assert not seamed.upper[sides[b, a]]
    assert sum(len(loop) for loop in seamed.loops) == len(seamed.edges)
