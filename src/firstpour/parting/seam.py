"""The parting line on the part: where the upper half of the mould hands over to the lower.

On a rounded face the seam runs where the smooth normal is level (n·d = 0), cut through the faces as a clean
polyline; along vertical walls, where it may lie at any height, a minimum cut on the face graph puts it on sharp
edges and hidden faces (decision 0002). Everything here is in the frame of the draw: d is +z.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.parting.allot import Wish, allot_faces, rough_walls
from firstpour.parting.undercut import VERTICAL_COSINE
from firstpour.parting.values import Reach
from firstpour.surface.edges import CREASE_COSINE, Edges, edge_cosines, edges_of, side_of
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, face_normals, face_vectors_mm2

SNAP_RATIO = 0.02
"""A seam that passes an edge this close to its end goes through the end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seamed:
    """The part's mesh with the seam cut into it.

    `parent` (m,) is the face each comes from; `upper` (m,) whether it belongs to the upper half. `edges` (k, 2) are
    the seam's edges as vertex numbers, the upper half on their left, and `loops` the closed chains they form; there
    are none where two of them would meet at a vertex.
    """

    mesh: Mesh
    parent: IntArray
    upper: BoolArray
    edges: IntArray
    loops: tuple[IntArray, ...]


def cut_seam(
    mesh: Mesh, *, reach: NDArray[np.uint8], marks: NDArray[np.uint8], shallow: BoolArray | None = None
) -> Seamed:
    """Cut the seam into a mesh in the frame of the draw.

    `reach` and `marks` (m,): one `Reach` and one `FaceMark` a face. `shallow` (m,): faces out of reach whose undercut
    is too shallow to matter; steep walls that hold only such faces count as vertical, however rough they are.
    """
    edges = edges_of(mesh)
    lean = face_normals(mesh)[:, 2]
    level = _corner_lean(mesh, edges, lean)
    cut = _split(mesh, edges, level)
    side = _sides(cut.level, cut.parent, lean)
    rough = rough_walls(mesh, lean=lean, blocked=reach == Reach.NEITHER, shallow=shallow)
    wish = Wish(side=side, reach=reach[cut.parent], marks=marks[cut.parent], rough=rough[cut.parent])
    allotted = allot_faces(cut.mesh, wish)
    return Seamed(mesh=cut.mesh, parent=cut.parent, upper=allotted.upper, edges=allotted.seam, loops=allotted.loops)


def _corner_lean(mesh: Mesh, edges: Edges, lean: FloatArray) -> FloatArray:
    """z of the smooth normal at each corner (m, 3), split at creases; nan where no seam can pass."""
    turned_over = np.zeros(len(mesh.vertices_mm), np.uint8)
    np.bitwise_or.at(turned_over, mesh.faces[lean > VERTICAL_COSINE].ravel(), 1)
    np.bitwise_or.at(turned_over, mesh.faces[lean < -VERTICAL_COSINE].ravel(), 2)
    band = (turned_over[mesh.faces] == 3).any(axis=1)
    level = np.full((len(mesh.faces), 3), np.nan)
    if not band.any():
        return level
    smooth = (edge_cosines(mesh, edges) > CREASE_COSINE) & band[edges.faces].all(axis=1)
    links = []
    for end in (0, 1):
        vertex = edges.ends[smooth, end]
        pair = [3 * edges.faces[smooth, k] + _corner_of(mesh, edges.faces[smooth, k], vertex) for k in (0, 1)]
        links.append(np.stack(pair))
    a, b = np.concatenate(links, axis=1)
    corners = np.flatnonzero(np.repeat(band, 3))
    place = np.full(3 * len(mesh.faces), -1)
    place[corners] = np.arange(len(corners))
    graph = coo_array((np.ones(len(a)), (place[a], place[b])), shape=(len(corners), len(corners)))
    _, group = connected_components(graph, directed=False)
    weighted = face_vectors_mm2(mesh)[corners // 3] * _angles(mesh, corners)[:, None]
    total = np.stack([np.bincount(group, weights=weighted[:, k]) for k in range(3)], axis=1)
    size = np.linalg.norm(total, axis=1)
    smooth_lean = np.divide(total[:, 2], size, out=np.zeros_like(size), where=size > 0)
    smooth_lean[np.abs(smooth_lean) < VERTICAL_COSINE] = 0.0
    level.ravel()[corners] = smooth_lean[group]
    return level


def _corner_of(mesh: Mesh, faces: IntArray, vertices: IntArray) -> IntArray:
    """Which corner (0, 1, 2) of each face is the vertex."""
    corner: IntArray = np.argmax(mesh.faces[faces] == vertices[:, None], axis=1)
    return corner


def _angles(mesh: Mesh, corners: IntArray) -> FloatArray:
    """Angle of the face at each corner (k,) in radians."""
    faces, corner = corners // 3, corners % 3
    here, after, before = (mesh.vertices_mm[mesh.faces[faces, (corner + k) % 3]] for k in range(3))
    a, b = after - here, before - here
    angles: FloatArray = np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), np.einsum("ij,ij->i", a, b))
    return angles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cut:
    mesh: Mesh
    level: FloatArray
    parent: IntArray


def _split(mesh: Mesh, edges: Edges, level: FloatArray) -> _Cut:
    """Split the faces along level = 0."""
    level, share = _crossings(mesh, edges, level)
    crossed = np.flatnonzero(~np.isnan(share))
    if len(crossed) == 0:
        return _Cut(mesh=mesh, level=level, parent=np.arange(len(mesh.faces)))
    ends = mesh.vertices_mm[edges.ends[crossed]]
    points = ends[:, 0] + share[crossed, None] * (ends[:, 1] - ends[:, 0])
    midpoint = np.full((len(mesh.faces), 3), -1)
    for k in (0, 1):
        face = edges.faces[crossed, k]
        side = side_of(mesh, face, edges.ends[crossed])
        midpoint[face, side] = len(mesh.vertices_mm) + np.arange(len(crossed))
    faces, levels, parent = _subdivide(mesh.faces, midpoint, level)
    return _Cut(
        mesh=Mesh(vertices_mm=np.concatenate([mesh.vertices_mm, points]), faces=faces), level=levels, parent=parent
    )


def _crossings(mesh: Mesh, edges: Edges, level: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where level = 0 crosses each edge, as the share of the way from its lower end; nan where it does not.

    Corners that it passes too closely are put on the seam (level 0) first.
    """
    level = level.copy()
    at = np.empty((2, 2, len(edges.ends)), np.int64)
    for k in (0, 1):
        for end in (0, 1):
            at[k, end] = 3 * edges.faces[:, k] + _corner_of(mesh, edges.faces[:, k], edges.ends[:, end])
    flat = level.ravel()
    for pass_number in range(2):
        start, stop = flat[at[:, 0]], flat[at[:, 1]]
        crosses = start * stop < 0
        share = np.where(crosses, start / np.where(crosses, start - stop, 1.0), np.nan)
        if pass_number == 0:
            touched = np.zeros(len(mesh.vertices_mm), bool)
            touched[edges.ends[(share < SNAP_RATIO).any(axis=0), 0]] = True
            touched[edges.ends[(share > 1.0 - SNAP_RATIO).any(axis=0), 1]] = True
            near = touched[mesh.faces].ravel() & ~np.isnan(flat)
            flat[near] = 0.0
    counted = crosses.sum(axis=0)
    mean = np.where(crosses, share, 0.0).sum(axis=0) / np.maximum(counted, 1)
    return level, np.where(counted > 0, mean, np.nan)


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


def _sides(level: FloatArray, parent: IntArray, lean: FloatArray) -> NDArray[np.int8]:
    """+1 for faces that look up, −1 down, 0 vertical; on the band of the seam by the smooth normal."""
    side = np.sign(np.where(np.abs(lean) > VERTICAL_COSINE, lean, 0.0))[parent]
    mean = np.nansum(level, axis=1)
    smooth = ~np.isnan(level).any(axis=1) & (mean != 0.0) & (side != 0.0)
    side[smooth] = np.sign(mean[smooth])
    return side.astype(np.int8)
