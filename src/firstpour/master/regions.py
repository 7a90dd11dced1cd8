"""The surface taken apart: faces that run smoothly into each other, and level patches."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from firstpour.values import FloatArray, IntArray, Mesh, face_normals, face_vectors_mm2, frozen_array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Neighbours:
    """Pairs of faces that share an edge (k, 2), and the cosine of the angle between their normals (k,)."""

    pairs: IntArray
    cosines: FloatArray


def neighbours_of(mesh: Mesh) -> Neighbours:
    """Which faces of a closed mesh share an edge."""
    count = len(mesh.faces)
    ends = mesh.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    key = ends.min(axis=1) * len(mesh.vertices_mm) + ends.max(axis=1)
    order = np.argsort(key, kind="stable")
    face = np.repeat(np.arange(count), 3)[order]
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    pairs = np.stack([face[same], face[same + 1]], axis=1)
    normals = face_normals(mesh)
    cosines = np.einsum("ij,ij->i", normals[pairs[:, 0]], normals[pairs[:, 1]])
    return Neighbours(pairs=frozen_array(pairs, np.int64), cosines=frozen_array(cosines, np.float64))


def smooth_regions(mesh: Mesh, neighbours: Neighbours, *, crease_deg: float) -> IntArray:
    """Number the regions (m,) of faces that meet at less than `crease_deg`."""
    smooth = neighbours.cosines >= np.cos(np.radians(crease_deg))
    return joined(len(mesh.faces), neighbours.pairs[smooth])


def joined(count: int, pairs: IntArray) -> IntArray:
    """Number the connected sets of `count` faces linked by `pairs` (k, 2): (count,)."""
    ones = np.ones(len(pairs), np.int8)
    graph = coo_matrix((ones, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    labels: IntArray = connected_components(graph, directed=False)[1].astype(np.int64)
    return labels


def level_normals(mesh: Mesh, *, keep: int = 8, within_deg: float = 2.0) -> FloatArray:
    """Outward normals (≤ `keep`, 3) of the directions in which most area looks, largest first.

    Faces are gathered by normal, rounded to a grid of about `within_deg`; only directions with 2 % of the area count.
    """
    vectors = face_vectors_mm2(mesh)
    areas = np.linalg.norm(vectors, axis=1)
    solid = areas > 0
    step = np.radians(within_deg)
    cells = np.round(vectors[solid] / areas[solid, None] / step).astype(np.int64)
    _, index = np.unique(cells, axis=0, return_inverse=True)
    index = index.reshape(-1)
    sums = np.stack([np.bincount(index, vectors[solid][:, k]) for k in range(3)], axis=1)
    sizes = np.linalg.norm(sums, axis=1)
    large = [int(k) for k in np.argsort(-sizes)[:keep] if sizes[k] >= 0.02 * areas.sum()]
    found: FloatArray = sums[large] / sizes[large, None]
    return found
