"""Level lines across vertical walls, so that a seam can run straight along them at the heights that matter.

Those are the heights of sharp edges at the walls' ends, and of the places where the part turns over beside a wall.
"""

import numpy as np
from numpy.typing import NDArray

from firstpour.parting.split import Cut, split_faces
from firstpour.surface.edges import edge_lengths_mm, edges_of
from firstpour.values import FloatArray, Mesh

MOST_LEVELS = 6
SAME_LEVEL_RATIO = 0.005
"""Heights this near to each other, as a share of the part's height, count as one."""


def with_levels(cut: Cut, side: NDArray[np.int8]) -> Cut:
    """The cut mesh with its vertical walls (`side` 0) split along the heights that matter.

    Its `parent` are faces of `cut`.
    """
    mesh, parent = cut.mesh, np.arange(len(cut.mesh.faces))
    wall = side == 0
    for height_mm in _heights_mm(mesh, side):
        level = np.where(wall[:, None], mesh.vertices_mm[mesh.faces][:, :, 2] - height_mm, np.nan)
        again = split_faces(mesh, edges_of(mesh), level)
        mesh, parent, wall = again.mesh, parent[again.parent], wall[again.parent]
    return Cut(mesh=mesh, level=cut.level[parent], parent=parent)


def _heights_mm(mesh: Mesh, side: NDArray[np.int8]) -> FloatArray:
    """The heights that matter most, by the length of the level edges that lie there and by the ends of seams."""
    edges = edges_of(mesh)
    beside = side[edges.faces]
    z = mesh.vertices_mm[edges.ends][:, :, 2]
    same_mm = SAME_LEVEL_RATIO * float(np.ptp(mesh.vertices_mm[:, 2]))
    ends_wall = (beside == 0).sum(axis=1) == 1
    level = ends_wall & (np.abs(z[:, 0] - z[:, 1]) < 0.1 * same_mm)
    lengths_mm = edge_lengths_mm(mesh, edges)
    on_wall = np.zeros(len(mesh.vertices_mm), bool)
    on_wall[mesh.faces[side == 0]] = True
    turns_over = (beside.prod(axis=1) < 0)[:, None] & on_wall[edges.ends]
    heights = np.concatenate([z[level].mean(axis=1), z[turns_over]])
    weights = np.concatenate([lengths_mm[level], np.full(int(turns_over.sum()), float(lengths_mm.mean()))])
    if len(heights) == 0 or same_mm <= 0.0:
        return np.empty(0)
    which = np.unique(np.round(heights / same_mm).astype(np.int64), return_inverse=True)[1]
    totals = np.bincount(which, weights=weights)
    chosen = np.argsort(-totals, kind="stable")[:MOST_LEVELS]
    heaviest = [heights[which == k][np.argmax(weights[which == k])] for k in chosen]
    inside = (np.array(heaviest) > z.min() + same_mm) & (np.array(heaviest) < z.max() - same_mm)
    picked: FloatArray = np.array(heaviest)[inside]
    return picked
