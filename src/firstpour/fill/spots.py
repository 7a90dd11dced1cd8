"""The place of the surface nearest to a point, and the face it lies on."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from firstpour.part.part import Part
from firstpour.values import FloatArray, IntArray, Mesh, Remembered, face_centres_mm

SAME_MM = 1e-6
"""Faces this much farther off are as near: at an edge the one that looks up most is taken."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spot:
    """A place on `face` of the surface, its outward unit `normal` (3,), and how far off the point asked for was."""

    at_mm: FloatArray
    face: int
    normal: FloatArray
    distance_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trees:
    """Where vertices and middles of faces are, and how far each face (m,) reaches from its middle."""

    vertices: cKDTree
    centres: cKDTree
    size_mm: FloatArray
    widest_mm: float


_TREES: Remembered[Mesh, _Trees] = Remembered(1)


def _trees(mesh: Mesh) -> _Trees:
    centres = face_centres_mm(mesh)
    size = np.linalg.norm(mesh.vertices_mm[mesh.faces] - centres[:, None], axis=2).max(axis=1)
    used = mesh.vertices_mm[np.unique(mesh.faces)]
    return _Trees(vertices=cKDTree(used), centres=cKDTree(centres), size_mm=size, widest_mm=float(size.max()))


def nearest_spot(part: Part, point_mm: FloatArray, *, up: FloatArray) -> Spot:
    """The nearest place of the surface; at an edge, on the face that looks up most."""
    vertices, faces = part.mesh.vertices_mm, part.mesh.faces
    trees = _TREES.of(part.mesh, None, lambda: _trees(part.mesh))
    reach_mm = float(trees.vertices.query(point_mm)[0]) + SAME_MM
    near = np.array(trees.centres.query_ball_point(point_mm, reach_mm + trees.widest_mm, return_sorted=True))
    off = np.linalg.norm(trees.centres.data[near] - point_mm, axis=1)
    near = near[off - trees.size_mm[near] <= reach_mm]
    corners = vertices[faces[near]]
    places = closest_on_triangles(point_mm, corners)
    distances = np.linalg.norm(places - point_mm, axis=1)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    ties = np.flatnonzero(distances <= distances.min() + SAME_MM)
    best = int(ties[np.argmax(normals[ties] @ up)])
    return Spot(at_mm=places[best], face=int(near[best]), normal=normals[best], distance_mm=float(distances[best]))


def nearest_faces(part: Part, points_mm: FloatArray) -> IntArray:
    """The faces (k,) whose middles are nearest to points (k, 3)."""
    faces: IntArray = _TREES.of(part.mesh, None, lambda: _trees(part.mesh)).centres.query(points_mm)[1]
    return faces


def closest_on_triangles(point: FloatArray, corners: FloatArray) -> FloatArray:
    """Nearest points (m, 3) to `point` (3,) on triangles `corners` (m, 3, 3), inside them or on a side."""
    best = corners[:, 0].copy()
    least = np.full(len(corners), np.inf)
    for k in range(3):
        a, along = corners[:, k], corners[:, (k + 1) % 3] - corners[:, k]
        length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
        t = np.clip(np.einsum("ij,ij->i", point - a, along) / length2, 0, 1)
        place = a + t[:, None] * along
        distance = np.linalg.norm(place - point, axis=1)
        best[distance < least] = place[distance < least]
        least = np.minimum(least, distance)
    a, ab, ac = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(ab, ac)
    area2 = np.maximum(np.einsum("ij,ij->i", normal, normal), 1e-300)
    ap = point - a
    v = np.einsum("ij,ij->i", np.cross(ap, ac), normal) / area2
    w = np.einsum("ij,ij->i", np.cross(ab, ap), normal) / area2
    over = (v > 0) & (w > 0) & (v + w < 1)
    best[over] = (a + v[:, None] * ab + w[:, None] * ac)[over]
    return best
