"""The parting line on the part: where the upper half of the mould hands over to the lower.

On a rounded face the seam runs where the smooth normal is level (n·d = 0), cut through the faces as a clean
polyline; along vertical walls, where it may lie at any height, a minimum cut on the face graph puts it on sharp
edges and hidden faces (decision 0002). Everything here is in the frame of the draw: d is +z.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.graph.python import max_flow
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.mould.undercut import VERTICAL_COSINE
from firstpour.mould.values import Reach
from firstpour.part.edges import Edges, edge_cosines, edge_lengths_mm, edges_of
from firstpour.part.part import FaceMark
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, face_areas_mm2, face_normals, face_vectors_mm2

STEEP_COSINE = 0.1
"""A face within 6° of the draw belongs to a steep wall."""
CREASE_COSINE = float(np.cos(np.radians(30.0)))
SNAP_RATIO = 0.02
"""A seam that passes an edge this close to its end goes through the end."""
ISLAND_RATIO = 0.002
"""A patch of one half inside the other below this share of the area joins the half around it."""
WEIGHT_SHOW, WEIGHT_HIDDEN, WEIGHT_SHARP, WEIGHT_UNDERCUT = 4.0, 0.25, 0.3, 30.0
"""What a millimetre of seam costs there, against 1 elsewhere; the border of a show face lies half way between (our own
choice, decision 0002)."""


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
    side = _sides(cut.mesh, cut.level, cut.parent, lean)
    edges = edges_of(cut.mesh)
    rough = _rough_walls(mesh, lean=lean, blocked=reach == Reach.NEITHER, shallow=shallow)
    upper = _choose_halves(
        cut.mesh, edges, side=side, reach=reach[cut.parent], marks=marks[cut.parent], rough=rough[cut.parent]
    )
    seam = _seam_edges(cut.mesh, edges, upper)
    return Seamed(mesh=cut.mesh, parent=cut.parent, upper=upper, edges=seam, loops=_loops(seam))


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
        side = _side_of(mesh, face, edges.ends[crossed])
        midpoint[face, side] = len(mesh.vertices_mm) + np.arange(len(crossed))
    faces, levels, parent = _subdivide(mesh.faces, midpoint, level)
    return _Cut(
        mesh=Mesh(vertices_mm=np.concatenate([mesh.vertices_mm, points]), faces=faces), level=levels, parent=parent
    )


def _side_of(mesh: Mesh, faces: IntArray, ends: IntArray) -> IntArray:
    """Which side of each face is the edge: side k runs from corner k to corner k + 1."""
    missing = (mesh.faces[faces] != ends[:, :1]) & (mesh.faces[faces] != ends[:, 1:])
    side: IntArray = (np.argmax(missing, axis=1) + 1) % 3
    return side


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


def _sides(mesh: Mesh, level: FloatArray, parent: IntArray, lean: FloatArray) -> NDArray[np.int8]:
    """+1 for faces that look up, −1 down, 0 vertical; on the band of the seam by the smooth normal."""
    side = np.sign(np.where(np.abs(lean) > VERTICAL_COSINE, lean, 0.0))[parent]
    mean = np.nansum(level, axis=1)
    smooth = ~np.isnan(level).any(axis=1) & (mean != 0.0) & (side != 0.0)
    side[smooth] = np.sign(mean[smooth])
    return side.astype(np.int8)


def _rough_walls(mesh: Mesh, *, lean: FloatArray, blocked: BoolArray, shallow: BoolArray | None) -> BoolArray:
    """Faces of steep walls (m,) in which some faces are out of reach, but all of those only by a shallow undercut."""
    if shallow is None or not (blocked & shallow).any():
        return np.zeros(len(mesh.faces), bool)
    steep = np.abs(lean) < STEEP_COSINE
    edges = edges_of(mesh)
    a, b = edges.faces[steep[edges.faces].all(axis=1)].T
    count, patch = connected_components(
        coo_array((np.ones(len(a)), (a, b)), shape=(len(steep), len(steep))), directed=False
    )
    deep = np.bincount(patch, weights=blocked & ~shallow, minlength=count) > 0
    held = np.bincount(patch, weights=blocked & shallow, minlength=count) > 0
    walls: BoolArray = steep & held[patch] & ~deep[patch]
    return walls


def _choose_halves(
    mesh: Mesh,
    edges: Edges,
    *,
    side: NDArray[np.int8],
    reach: NDArray[np.uint8],
    marks: NDArray[np.uint8],
    rough: BoolArray,
) -> BoolArray:
    """Whether each face goes to the upper half: by its side, or by a minimum cut where either half could have it."""
    upper = side > 0
    blocked = (reach == Reach.NEITHER) & ~rough
    free = blocked | rough | ((side == 0) & (reach == Reach.BOTH))
    upper[(side == 0) & (reach == Reach.ABOVE)] = True
    if free.any():
        upper = _cheapest_seam(mesh, edges, free=free, upper=upper, blocked=blocked, marks=marks)
    return _without_islands(mesh, edges, upper)


def _cheapest_seam(
    mesh: Mesh, edges: Edges, *, free: BoolArray, upper: BoolArray, blocked: BoolArray, marks: NDArray[np.uint8]
) -> BoolArray:
    """Give the free faces to the halves so that the seam between them costs least."""
    weight = np.ones(len(edges.ends))
    shown = ((marks & FaceMark.SHOW) != 0)[edges.faces].mean(axis=1)
    weight += (WEIGHT_SHOW - 1.0) * shown
    weight[((marks & FaceMark.HIDDEN) != 0)[edges.faces].any(axis=1)] = WEIGHT_HIDDEN
    weight[edge_cosines(mesh, edges) < CREASE_COSINE] *= WEIGHT_SHARP
    weight[blocked[edges.faces].any(axis=1)] = WEIGHT_UNDERCUT
    cost = np.maximum(1, np.round(1000.0 * weight * edge_lengths_mm(mesh, edges))).astype(np.int64)
    source, sink = 0, 1
    node = np.where(upper, source, sink)
    node[free] = 2 + np.arange(int(free.sum()))
    between = node[edges.faces]
    apart = between[:, 0] != between[:, 1]
    flow = max_flow.SimpleMaxFlow()
    for one, other in ((0, 1), (1, 0)):
        flow.add_arcs_with_capacity(between[apart, one], between[apart, other], cost[apart])
    if flow.solve(source, sink) != flow.OPTIMAL:
        return upper
    in_upper = np.zeros(2 + int(free.sum()), bool)
    in_upper[flow.get_source_side_min_cut()] = True
    chosen = upper.copy()
    chosen[free] = in_upper[node[free]]
    return chosen


def _without_islands(mesh: Mesh, edges: Edges, upper: BoolArray) -> BoolArray:
    """Let patches too small to matter join the half around them."""
    same = upper[edges.faces[:, 0]] == upper[edges.faces[:, 1]]
    a, b = edges.faces[same].T
    count, patch = connected_components(
        coo_array((np.ones(len(a)), (a, b)), shape=(len(upper), len(upper))), directed=False
    )
    if count <= 2:
        return upper
    areas_mm2 = np.bincount(patch, weights=face_areas_mm2(mesh))
    small = areas_mm2 < ISLAND_RATIO * areas_mm2.sum()
    joined: BoolArray = upper ^ small[patch]
    return joined


def _seam_edges(mesh: Mesh, edges: Edges, upper: BoolArray) -> IntArray:
    """Directed edges (k, 2) between the halves, the upper half on their left."""
    apart = np.flatnonzero(upper[edges.faces[:, 0]] != upper[edges.faces[:, 1]])
    faces, ends = edges.faces[apart], edges.ends[apart]
    above = np.where(upper[faces[:, 0]], faces[:, 0], faces[:, 1])
    corner = _side_of(mesh, above, ends)
    rows = np.arange(len(apart))
    return np.stack([mesh.faces[above][rows, corner], mesh.faces[above][rows, (corner + 1) % 3]], axis=1)


def _loops(seam: IntArray) -> tuple[IntArray, ...]:
    """Chains of seam edges, the upper half on their left; none at all if two of them meet at a vertex."""
    start, stop = seam.T
    if len(np.unique(start)) != len(start):
        return ()
    after = dict(zip(start.tolist(), stop.tolist(), strict=True))
    loops = []
    while after:
        first, here = after.popitem()
        chain = [first]
        while here != first:
            chain.append(here)
            here = after.pop(here)
        loops.append(np.array(chain, np.int64))
    return tuple(loops)
