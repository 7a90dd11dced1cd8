"""Faces split: along the zero of a function over the mesh, for a line of its own to run there, or because long."""

from dataclasses import dataclass

import numpy as np

from firstpour.surface.edges import Edges, edge_lengths_mm, edges_of, side_of
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh

SNAP_RATIO = 0.002
"""A cut that passes an edge this close to its end goes through the end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """The mesh with the cut in it; the function at its corners (m, 3); the face that each comes from (m,)."""

    mesh: Mesh
    level: FloatArray
    parent: IntArray


def split_faces(mesh: Mesh, edges: Edges, level: FloatArray) -> Cut:
    """Split the faces along the zero of a function given at their corners (m, 3); nan where no cut can pass."""
    level, share = _crossings(mesh, edges, level)
    crossed = np.flatnonzero(~np.isnan(share))
    if len(crossed) == 0:
        return Cut(mesh=mesh, level=level, parent=np.arange(len(mesh.faces)))
    ends = mesh.vertices_mm[edges.ends[crossed]]
    points = ends[:, 0] + share[crossed, None] * (ends[:, 1] - ends[:, 0])
    split, levels, parent = _with_points(mesh, edges, crossed, points, level)
    return Cut(mesh=split, level=levels, parent=parent)


def split_long(mesh: Mesh, near: BoolArray, *, longest_mm: float) -> tuple[Mesh, IntArray]:
    """The mesh with the edges of the faces `near` (m,) halved until none is longer; the face each comes from (n,)."""
    parent = np.arange(len(mesh.faces))
    while True:
        edges = edges_of(mesh)
        long = np.flatnonzero(near[edges.faces].any(axis=1) & (edge_lengths_mm(mesh, edges) > longest_mm))
        if len(long) == 0:
            return mesh, parent
        middles = mesh.vertices_mm[edges.ends[long]].mean(axis=1)
        mesh, _, split = _with_points(mesh, edges, long, middles, np.zeros(mesh.faces.shape))
        parent, near = parent[split], near[split]


def _crossings(mesh: Mesh, edges: Edges, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where level = 0 crosses each edge, as the share of the way from its lower end; nan where it does not.

    Corners that it passes too closely are put on the seam (level 0) first.
    """
    level = level.copy()
    mixed: BoolArray = np.logical_and((level < 0).any(axis=1), (level > 0).any(axis=1))
    some = np.flatnonzero(mixed[edges.faces].any(axis=1))
    ends, faces = edges.ends[some], edges.faces[some]
    at = np.empty((2, 2, len(some)), np.int64)
    for k in (0, 1):
        for end in (0, 1):
            at[k, end] = 3 * faces[:, k] + corner_of(mesh, faces[:, k], ends[:, end])
    flat = level.ravel()
    for pass_number in range(2):
        start, stop = flat[at[:, 0]], flat[at[:, 1]]
        crosses = start * stop < 0
        share = np.where(crosses, start / np.where(crosses, start - stop, 1.0), np.nan)
        if pass_number == 0:
            touched = np.zeros(len(mesh.vertices_mm), bool)
            touched[ends[(share < SNAP_RATIO).any(axis=0), 0]] = True
            touched[ends[(share > 1.0 - SNAP_RATIO).any(axis=0), 1]] = True
            near = touched[mesh.faces].ravel() & ~np.isnan(flat)
            flat[near] = 0.0
    counted = crosses.sum(axis=0)
    shares = np.full(len(edges.ends), np.nan)
    mean = np.where(crosses, share, 0.0).sum(axis=0) / np.maximum(counted, 1)
    shares[some] = np.where(counted > 0, mean, np.nan)
    return level, shares


def _with_points(
    mesh: Mesh, edges: Edges, which: IntArray, points_mm: FloatArray, level: FloatArray
) -> tuple[Mesh, FloatArray, IntArray]:
    """The mesh with a point (k, 3) put on each of the edges `which` (k,); level and parent of its faces."""
    midpoint = np.full((len(mesh.faces), 3), -1)
    for k in (0, 1):
        face = edges.faces[which, k]
        midpoint[face, side_of(mesh, face, edges.ends[which])] = len(mesh.vertices_mm) + np.arange(len(which))
    faces, levels, parent = _subdivide(mesh.faces, midpoint, level)
    return Mesh(vertices_mm=np.concatenate([mesh.vertices_mm, points_mm]), faces=faces), levels, parent


def _subdivide(faces: IntArray, midpoint: IntArray, level: FloatArray) -> tuple[IntArray, FloatArray, IntArray]:
    """Faces with one, two or three split sides become two, three or four; the rest stay."""
    count = (midpoint >= 0).sum(axis=1)
    out = [(faces[count == 0], level[count == 0], np.flatnonzero(count == 0))]
    for wanted in (1, 2, 3):
        rows = np.flatnonzero(count == wanted)
        if len(rows) == 0:
            continue
        free = np.argmax(midpoint[rows] >= 0 if wanted == 1 else midpoint[rows] < 0, axis=1)
        first = free if wanted == 1 else (free + 1) % 3
        corner = [(first + k) % 3 for k in range(3)]
        v = [faces[rows, c] for c in corner]
        m = [midpoint[rows, c] for c in corner]
        s = [level[rows, c] for c in corner]
        zero = np.zeros(len(rows))
        for tri in _TEMPLATES[wanted]:
            out.append(
                (
                    np.stack([v[k] if k < 3 else m[k - 3] for k in tri], axis=1),
                    np.stack([s[k] if k < 3 else zero for k in tri], axis=1),
                    rows,
                )
            )
    return tuple(np.concatenate([piece[k] for piece in out]) for k in range(3))  # type: ignore[return-value]


_TEMPLATES = {
    1: [(0, 3, 2), (3, 1, 2)],
    2: [(3, 1, 4), (0, 3, 4), (0, 4, 2)],
    3: [(0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5)],
}
"""Corners 0–2, then the points on sides 0–1, 1–2, 2–0. With two split sides these are 0 and 1, about corner 1."""


def corner_of(mesh: Mesh, faces: IntArray, vertices: IntArray) -> IntArray:
    """Which corner (0, 1, 2) of each face is the vertex."""
    corner: IntArray = np.argmax(mesh.faces[faces] == vertices[:, None], axis=1)
    return corner
