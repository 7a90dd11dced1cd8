"""Which half of the mould each face goes to, and the seam that runs between them.

Where a face may go to either half (vertical walls, undercuts, steep walls that are merely rough) a minimum cut on the
face graph decides, an edge costing its length times a weight: low on sharp edges and hidden faces, high on show faces
(decision 0002). Everything is in the frame of the draw: d is +z.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from ortools.graph.python import max_flow
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from firstpour.part.part import FaceMark
from firstpour.parting.values import Reach
from firstpour.surface.edges import CREASE_COSINE, Edges, edge_cosines, edge_lengths_mm, edges_of, side_of
from firstpour.values import (
    BoolArray,
    FloatArray,
    IntArray,
    Mesh,
    face_areas_mm2,
    face_centres_mm,
    face_vectors_mm2,
)

STEEP_COSINE = 0.1
"""A face within 6° of the draw belongs to a steep wall."""
COST_STEPS = 1000.0
UPRIGHT_RATIO = 1e-6
PULL_PER_MM = 20.0
"""What a mm² of undercut at a fold costs, in mm of seam (our own choice)."""
MOST_MENDS, MOST_FOLDS = 4, 400
ISLAND_RATIO = 0.002
"""A patch of one half inside the other below this share of the area joins the half around it."""
WEIGHT_SHOW, WEIGHT_HIDDEN, WEIGHT_SHARP, WEIGHT_UNDERCUT, WEIGHT_RISE = 4.0, 0.25, 0.3, 30.0, 2.0
"""What a millimetre of seam costs there, against 1 elsewhere (our own choice, decision 0002).

The border of a show face lies half way between show and plain."""


def rough_walls(mesh: Mesh, *, lean: FloatArray, blocked: BoolArray, shallow: BoolArray | None) -> BoolArray:
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wish:
    """What each face (m,) asks for: `side` +1 up, −1 down, 0 vertical; its `Reach`, its `FaceMark`s, if `rough`."""

    side: NDArray[np.int8]
    reach: NDArray[np.uint8]
    marks: NDArray[np.uint8]
    rough: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Allotted:
    """Which faces (m,) go to the upper half; the seam's edges (k, 2), upper half on their left; the loops they form.

    There are no loops where two of them would meet at a vertex.
    """

    upper: BoolArray
    seam: IntArray
    loops: tuple[IntArray, ...]


def allot_faces(mesh: Mesh, wish: Wish) -> Allotted:
    """Give each face to a half: by its side, or by a minimum cut where either half could have it.

    Where the seam then folds over itself seen along the draw, on a coarse or rough rim, the faces at the fold are
    given again so that it runs straight, at the price of undercut no larger than those faces.
    """
    edges = edges_of(mesh)
    blocked = (wish.reach == Reach.NEITHER) & ~wish.rough
    free = blocked | wish.rough | ((wish.side == 0) & (wish.reach == Reach.BOTH))
    upper = (wish.side > 0) | ((wish.side == 0) & (wish.reach == Reach.ABOVE))
    cost = _edge_costs(mesh, edges, blocked=blocked, marks=wish.marks)
    upper = _without_islands(mesh, edges, _cheapest(edges, free=free, upper=upper, cost=cost))
    return _unfolded(mesh, edges, upper, wish=wish, cost=cost)


def _unfolded(mesh: Mesh, edges: Edges, upper: BoolArray, *, wish: Wish, cost: FloatArray) -> Allotted:
    """Straighten the seam at its folds, or leave it as it was where that does not undo them all."""
    first = seam = _seam_edges(mesh, edges, upper)
    pull = PULL_PER_MM * np.abs(face_vectors_mm2(mesh)[:, 2]) * wish.side
    mended = upper
    for attempt in range(MOST_MENDS):
        spots_mm = fold_spots_mm(mesh, seam)
        if len(spots_mm) == 0:
            return Allotted(upper=mended, seam=seam, loops=_loops(seam))
        if len(spots_mm) > MOST_FOLDS:
            break
        radius_mm = (2 + 2 * attempt) * float(np.median(_lengths_mm(mesh, seam)))
        loose = cKDTree(spots_mm).query(face_centres_mm(mesh), distance_upper_bound=radius_mm)[0] < np.inf
        mended = _cheapest(edges, free=loose, upper=mended, cost=cost, pull=pull * 0.25**attempt)
        mended = _without_islands(mesh, edges, mended)
        seam = _seam_edges(mesh, edges, mended)
    return Allotted(upper=upper, seam=first, loops=_loops(first))


def fold_spots_mm(mesh: Mesh, seam: IntArray) -> FloatArray:
    """Where seam edges (k, 2) meet or cross each other seen along the draw, other than end to end: (n, 3).

    A seam may run straight up or down the draw: the vertices of such a run count as one.
    """
    start = seam[:, 0]
    crowded = np.flatnonzero(np.bincount(start) > 1)
    ends = mesh.vertices_mm[seam]
    lines = shapely.linestrings(ends[:, :, :2])
    one, other = shapely.STRtree(lines).query(lines, predicate="intersects")
    joint = _one_to_a_run(mesh, seam)[seam]
    apart = (joint[one][:, :, None] != joint[other][:, None, :]).all(axis=(1, 2))
    middles: FloatArray = ends[one[apart]].mean(axis=1)
    return np.concatenate([mesh.vertices_mm[crowded], middles])


def _one_to_a_run(mesh: Mesh, seam: IntArray) -> IntArray:
    """A number for each vertex (n,), the same for those that a run of upright seam edges joins."""
    ends = mesh.vertices_mm[seam]
    across = np.linalg.norm((ends[:, 1] - ends[:, 0])[:, :2], axis=1)
    a, b = seam[across < UPRIGHT_RATIO * _lengths_mm(mesh, seam)].T
    n = len(mesh.vertices_mm)
    run: IntArray = connected_components(coo_array((np.ones(len(a)), (a, b)), shape=(n, n)), directed=False)[1]
    return run


def _lengths_mm(mesh: Mesh, seam: IntArray) -> FloatArray:
    ends = mesh.vertices_mm[seam]
    lengths: FloatArray = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    return lengths


def _edge_costs(mesh: Mesh, edges: Edges, *, blocked: BoolArray, marks: NDArray[np.uint8]) -> FloatArray:
    """What the seam costs along each edge (e,): its length times its weight."""
    weight = np.ones(len(edges.ends))
    weight += (WEIGHT_SHOW - 1.0) * ((marks & FaceMark.SHOW) != 0)[edges.faces].mean(axis=1)
    weight[((marks & FaceMark.HIDDEN) != 0)[edges.faces].any(axis=1)] = WEIGHT_HIDDEN
    weight[edge_cosines(mesh, edges) < CREASE_COSINE] *= WEIGHT_SHARP
    weight[blocked[edges.faces].any(axis=1)] = WEIGHT_UNDERCUT
    lengths_mm = edge_lengths_mm(mesh, edges)
    rise = np.abs(np.diff(mesh.vertices_mm[edges.ends][:, :, 2], axis=1)[:, 0]) / np.maximum(lengths_mm, 1e-12)
    costs: FloatArray = weight * lengths_mm * (1.0 + WEIGHT_RISE * rise * rise)
    return costs


def _cheapest(
    edges: Edges, *, free: BoolArray, upper: BoolArray, cost: FloatArray, pull: FloatArray | None = None
) -> BoolArray:
    """Give the free faces (m,) to the halves so that the seam between them costs least.

    `pull` (m,): what it costs to give a face to the lower half (where positive) or to the upper (where negative).
    """
    if not free.any():
        return upper
    source, sink = 0, 1
    node = np.where(upper, source, sink)
    node[free] = 2 + np.arange(int(free.sum()))
    between = node[edges.faces]
    apart = between[:, 0] != between[:, 1]
    whole = np.maximum(1, np.round(COST_STEPS * cost[apart])).astype(np.int64)
    flow = max_flow.SimpleMaxFlow()
    for one, other in ((0, 1), (1, 0)):
        flow.add_arcs_with_capacity(between[apart, one], between[apart, other], whole)
    if pull is not None:
        wanted, nodes = np.round(COST_STEPS * pull[free]).astype(np.int64), node[free]
        ups = np.full(len(nodes), source)
        flow.add_arcs_with_capacity(ups, nodes, np.maximum(wanted, 0))
        flow.add_arcs_with_capacity(nodes, np.full(len(nodes), sink), np.maximum(-wanted, 0))
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
    corner = side_of(mesh, above, ends)
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
