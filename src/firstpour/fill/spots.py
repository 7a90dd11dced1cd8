"""The place of the surface nearest to a point, and the face it lies on."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from firstpour.part.part import Part
from firstpour.values import FloatArray, IntArray, Mesh, Remembered, face_centres_mm

SAME_MM = 1e-6
"""Faces this much farther off are as near: at an edge the one that looks up most is taken."""
AT_ONCE = 16
"""Points looked for together: beside one very long face nearly all faces may be the nearest of each."""


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spots:
    """Places `at_mm` (k, 3) on `faces` (k,), their outward unit `normals` (k, 3), how far off each point was (k,)."""

    at_mm: FloatArray
    faces: IntArray
    normals: FloatArray
    distances_mm: FloatArray


def nearest_spot(part: Part, point_mm: FloatArray, *, up: FloatArray) -> Spot:
    """The nearest place of the surface; at an edge, on the face that looks up most."""
    spots = nearest_spots(part, point_mm[None], up=up)
    return Spot(
        at_mm=spots.at_mm[0],
        face=int(spots.faces[0]),
        normal=spots.normals[0],
        distance_mm=float(spots.distances_mm[0]),
    )


def nearest_spots(part: Part, points_mm: FloatArray, *, up: FloatArray) -> Spots:
    """The place of the surface nearest to each point (k, 3); at an edge, on the face that looks up most."""
    trees = _TREES.of(part.mesh, None, lambda: _trees(part.mesh))
    near, starts = _faces_near(trees, points_mm)
    points = np.repeat(points_mm, np.diff(starts, append=len(near)), axis=0)
    corners = part.mesh.vertices_mm[part.mesh.faces[near]]
    places = closest_on_triangles(points, corners)
    distances = np.linalg.norm(places - points, axis=1)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    of_point = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(near)))
    least = np.minimum.reduceat(distances, starts) if len(starts) else np.empty(0)
    upward = np.where(distances <= least[of_point] + SAME_MM, normals @ up, -np.inf)
    best = np.lexsort([-upward, of_point])[starts]
    return Spots(at_mm=places[best], faces=near[best], normals=normals[best], distances_mm=distances[best])


def _faces_near(trees: _Trees, points_mm: FloatArray) -> tuple[IntArray, IntArray]:
    """Faces that may be the nearest, those of one point after those of the one before, and where each begins (k,)."""
    near, counts = [np.empty(0, np.int64)], [np.empty(0, np.int64)]
    for first in range(0, len(points_mm), AT_ONCE):
        points = points_mm[first : first + AT_ONCE]
        reach_mm = trees.vertices.query(points)[0] + SAME_MM
        found = trees.centres.query_ball_point(points, reach_mm + trees.widest_mm, return_sorted=True)
        of_point = np.repeat(np.arange(len(points)), [len(some) for some in found])
        faces = np.concatenate(found).astype(np.int64)
        off = np.linalg.norm(trees.centres.data[faces] - points[of_point], axis=1)
        kept = off - trees.size_mm[faces] <= reach_mm[of_point]
        near.append(faces[kept])
        counts.append(np.bincount(of_point[kept], minlength=len(points)))
    many = np.concatenate(counts)
    return np.concatenate(near), np.cumsum(many) - many


def nearest_faces(part: Part, points_mm: FloatArray) -> IntArray:
    """The faces (k,) whose middles are nearest to points (k, 3)."""
    faces: IntArray = _TREES.of(part.mesh, None, lambda: _trees(part.mesh)).centres.query(points_mm)[1]
    return faces


def closest_on_triangles(point: FloatArray, corners: FloatArray) -> FloatArray:
    """Nearest points (m, 3) on triangles `corners` (m, 3, 3), inside or on a side, to `point` (3,) or (m, 3)."""
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
