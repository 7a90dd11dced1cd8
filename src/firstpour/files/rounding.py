"""A mesh as single-precision files hold it: rounded, and still closed."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from firstpour.errors import MouldFailed
from firstpour.surface.sides import same_vertices
from firstpour.surface.solids import SPECK_MM3, from_solid, to_solid
from firstpour.values import FloatArray, IntArray, Mesh, face_areas_mm2, mesh_volume_mm3

SIMPLIFY_MM = (0.0, 1e-4, 1e-3)
"""Tried in turn: edges shorter than this are drawn together first, so that rounding cannot fold a sliver."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """Whether a mesh is closed, whether every edge has exactly two faces, its solid bodies and its volume."""

    closed: bool
    two_faces_an_edge: bool
    bodies: int
    volume_mm3: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rounded:
    """A mesh whose coordinates single precision holds exactly, and how it is closed."""

    mesh: Mesh
    closure: Closure


def rounded(mesh: Mesh) -> Rounded:
    """The mesh with coordinates that single precision holds exactly, vertices that fall together made one.

    Raises
    ------
    MouldFailed
        If the rounded surface is not closed or its volume is off by more than rounding explains.
    """
    second_best = None
    for tolerance_mm in SIMPLIFY_MM:
        source = mesh if tolerance_mm == 0.0 else from_solid(to_solid(mesh).simplify(tolerance_mm))
        candidate = welded(source.vertices_mm.astype(np.float32), source.faces)
        closure = closure_of(candidate)
        if not closure.closed or not same_volume(mesh, closure.volume_mm3, tolerance_mm=tolerance_mm):
            continue
        if closure.two_faces_an_edge:
            return Rounded(mesh=candidate, closure=closure)
        second_best = second_best or Rounded(mesh=candidate, closure=closure)
    if second_best is None:
        raise MouldFailed(
            f"a piece of {len(mesh.faces)} faces does not stay closed at the precision of the file",
            remedy="simplify the part, or move it near the origin, and run again",
        )
    return second_best


def same_volume(mesh: Mesh, volume_mm3: float, *, tolerance_mm: float = 0.0) -> bool:
    """Whether a volume is that of `mesh`, its vertices moved by no more than single precision (and the tolerance)."""
    reach_mm = float(np.abs(mesh.vertices_mm).max()) * 2.0**-23 + tolerance_mm
    slack_mm3 = float(face_areas_mm2(mesh).sum()) * reach_mm + 1e-9
    return abs(volume_mm3 - mesh_volume_mm3(mesh)) <= slack_mm3


def welded(vertices: np.ndarray[tuple[int, int], np.dtype[np.float32]], faces: IntArray) -> Mesh:
    """One vertex a place, by exact equality; faces that lost a corner and faces back to back are dropped."""
    exact = (vertices + np.float32(0.0)).astype(np.float64)
    corners = same_vertices(exact)[faces]
    a, b, c = corners.T
    kept = _without_folds(corners[(a != b) & (b != c) & (c != a)])
    used = np.zeros(len(exact), np.bool_)
    used[kept] = True
    return Mesh(vertices_mm=exact[used], faces=(np.cumsum(used) - 1)[kept])


def _without_folds(faces: IntArray) -> IntArray:
    """Drop pairs of faces that lie back to back on the same three vertices."""
    ordered = np.sort(faces, axis=1)
    if (same_vertices(ordered.astype(np.float64)) == np.arange(len(faces))).all():
        return faces
    a, b, c = faces.T
    even = ((a < b) & (b < c)) | ((b < c) & (c < a)) | ((c < a) & (a < b))
    _, group, count = np.unique(ordered, axis=0, return_inverse=True, return_counts=True)
    group = group.reshape(-1)
    turn = np.where(even, 1, -1)
    net = np.bincount(group, weights=turn, minlength=len(count)).astype(np.int64)
    order = np.lexsort([np.arange(len(faces)), -turn * np.sign(net)[group], group])
    place = np.empty(len(faces), np.int64)
    starts = np.concatenate([[0], np.cumsum(count)[:-1]])
    place[order] = np.arange(len(faces)) - starts[group[order]]
    kept: IntArray = faces[place < np.abs(net)[group]]
    return kept


def closure_of(mesh: Mesh) -> Closure:
    """What the surface is: each directed edge must be met by as many the other way round."""
    if len(mesh.faces) == 0:
        return Closure(closed=False, two_faces_an_edge=False, bodies=0, volume_mm3=0.0)
    n = len(mesh.vertices_mm)
    start, end = mesh.faces[:, [0, 1, 2]].ravel(), mesh.faces[:, [1, 2, 0]].ravel()
    forth, back = np.sort(start * n + end), np.sort(end * n + start)
    closed = bool(np.array_equal(forth, back))
    return Closure(
        closed=closed,
        two_faces_an_edge=closed and bool((np.diff(forth) > 0).all()),
        bodies=_bodies(mesh, start, end),
        volume_mm3=mesh_volume_mm3(mesh),
    )


def _bodies(mesh: Mesh, start: IntArray, end: IntArray) -> int:
    """Shells joined through edges of two faces that enclose more than a speck (a void inside is not a body)."""
    n, m = len(mesh.vertices_mm), len(mesh.faces)
    edge = np.minimum(start, end) * n + np.maximum(start, end)
    face = np.repeat(np.arange(m), 3)
    order = np.argsort(edge, kind="stable")
    edge, face = edge[order], face[order]
    first = np.flatnonzero(np.concatenate([[True], np.diff(edge) > 0]))
    pairs = first[np.diff(np.concatenate([first, [len(edge)]])) == 2]
    links = coo_matrix((np.ones(len(pairs)), (face[pairs], face[pairs + 1])), shape=(m, m))
    count, shell = connected_components(links, directed=False)
    volumes = np.bincount(shell, weights=_cone_volumes(mesh), minlength=count)
    return int((volumes > SPECK_MM3).sum())


def _cone_volumes(mesh: Mesh) -> FloatArray:
    """Signed volume between each face and the middle of the mesh (m,)."""
    centred = mesh.vertices_mm - mesh.vertices_mm.mean(axis=0)
    a, b, c = (centred[mesh.faces[:, k]] for k in range(3))
    volumes: FloatArray = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    return volumes
