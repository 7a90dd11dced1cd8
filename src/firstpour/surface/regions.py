"""The surface taken apart: faces that run smoothly into each other, and level patches."""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from firstpour.surface.edges import Edges
from firstpour.values import FloatArray, IntArray, Mesh, face_vectors_mm2


def smooth_regions(edges: Edges, cosines: FloatArray, *, faces: int, crease_deg: float) -> IntArray:
    """Number the regions (faces,) of faces that meet at less than `crease_deg`; `cosines` (e,) as `edge_cosines`."""
    return joined(faces, edges.faces[cosines >= np.cos(np.radians(crease_deg))])


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
