"""Straight runs of seam over a wall that is crossed more than once."""

import manifold3d
import numpy as np

from firstpour.parting.wall_lines import straight_on_walls
from firstpour.surface.edges import edges_of
from firstpour.surface.solids import from_solid
from firstpour.values import face_centres_mm, face_normals


def test_two_steps_over_one_wall_are_each_drawn_straight_between_their_ends():
    """A wall 60 × 20 mm, the seam on two bent steps over it that each climb from floor to lid; only with
    `each_run` are they drawn, and then φ is 0 at their ends and of one sign on each side of the line between."""
    mesh = from_solid(manifold3d.Manifold.cube((60.0, 4.0, 20.0)).refine_to_length(2.0))
    edges = edges_of(mesh)
    centres = face_centres_mm(mesh)
    wall = face_normals(mesh)[:, 1] < -0.5
    wave = np.where((centres[:, 2] > 5.0) & (centres[:, 2] < 15.0), 3.0, 0.0)
    upper = (centres[:, 0] > 15.0 + wave) & (centres[:, 0] < 42.0 + wave)
    on_seam = (upper[edges.faces[:, 0]] != upper[edges.faces[:, 1]]) & wall[edges.faces].all(axis=1)
    given = {"wall": wall, "loose": on_seam, "path": on_seam, "closed": np.zeros(len(edges.ends), bool)}
    assert np.isnan(straight_on_walls(mesh, edges, upper, **given)).all()
    phi = straight_on_walls(mesh, edges, upper, **given, each_run=True)
    known = ~np.isnan(phi)
    assert known.any()
    at = mesh.vertices_mm[known]
    inside = (at[:, 0] > 18.0) & (at[:, 0] < 41.0)
    outside = (at[:, 0] < 13.0) | (at[:, 0] > 46.0)
    assert (phi[known][inside] > 0.0).all()
    assert (phi[known][outside] < 0.0).all()
