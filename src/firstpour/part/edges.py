"""Edges of a closed mesh: their ends, the two faces beside each, and how sharp they are."""

from dataclasses import dataclass

import numpy as np

from firstpour.values import FloatArray, IntArray, Mesh, face_normals, frozen_array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edges:
    """`ends` (e, 2) vertex numbers, lower first; `faces` (e, 2) the two faces that share the edge."""

    ends: IntArray
    faces: IntArray


def edges_of(mesh: Mesh) -> Edges:
    """Edges of a closed mesh. Where more than two faces meet at an edge, faces are paired as they come."""
    half = mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    low, high = half.min(axis=1), half.max(axis=1)
    order = np.argsort(low * np.int64(len(mesh.vertices_mm)) + high, kind="stable")
    pairs = order.reshape(-1, 2)
    return Edges(
        ends=frozen_array(np.stack([low[pairs[:, 0]], high[pairs[:, 0]]], axis=1), np.int64),
        faces=frozen_array(pairs // 3, np.int64),
    )


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
