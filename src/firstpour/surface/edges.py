"""Edges of a closed mesh: their ends, the two faces beside each, and how sharp they are."""

from dataclasses import dataclass

import numpy as np

from firstpour.kernels.edges import pair_sides
from firstpour.values import FloatArray, IntArray, Mesh, face_normals, frozen_array

CREASE_COSINE = float(np.cos(np.radians(40.0)))
"""Edges sharper than this are creases."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edges:
    """`ends` (e, 2) vertex numbers, lower first; `faces` (e, 2) the two faces that share the edge."""

    ends: IntArray
    faces: IntArray


def edges_of(mesh: Mesh) -> Edges:
    """Edges of a closed mesh. Where more than two faces meet at an edge, faces are paired as they come."""
    ends, faces, _ = pair_sides(mesh.faces, len(mesh.vertices_mm))
    return Edges(ends=frozen_array(ends, np.int64), faces=frozen_array(faces, np.int64))


def edge_lengths_mm(mesh: Mesh, edges: Edges) -> FloatArray:
    """Length of each edge (e,) in mm."""
    ends = mesh.vertices_mm[edges.ends]
    lengths: FloatArray = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    return lengths


def edge_cosines(mesh: Mesh, edges: Edges) -> FloatArray:
    """Cosine of the angle between the normals of an edge's two faces (e,): 1 is flat, 0 a square edge."""
    normals = face_normals(mesh)
    cosines: FloatArray = np.einsum("ij,ij->i", normals[edges.faces[:, 0]], normals[edges.faces[:, 1]])
    return cosines


def side_of(mesh: Mesh, faces: IntArray, ends: IntArray) -> IntArray:
    """Which side of each face is the edge: side k runs from corner k to corner k + 1."""
    missing = (mesh.faces[faces] != ends[:, :1]) & (mesh.faces[faces] != ends[:, 1:])
    side: IntArray = (np.argmax(missing, axis=1) + 1) % 3
    return side
