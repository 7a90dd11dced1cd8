"""Which half of the mould each face goes to, and the seam that runs between them.

A minimum cut on the face graph decides (decision 0030). An edge costs its length times a weight: low on sharp edges,
brows and hidden faces, high on show faces. A face that looks up and goes to the lower half, or the other way round,
costs the undercut that this makes: its plan area times how far it lies from where the part turns over. So real
undercuts and steep walls that are merely rough are weighed alike, and the seam keeps short, level and on edges.
Everything is in the frame of the draw: d is +z.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from ortools.graph.python import max_flow
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from firstpour.part.part import FaceMark
from firstpour.parting.ties import Ties
from firstpour.parting.values import Reach
from firstpour.surface.edges import CREASE_COSINE, Edges, edge_cosines, edge_lengths_mm, side_of
from firstpour.values import (
    BoolArray,
    FloatArray,
    IntArray,
    Mesh,
    face_areas_mm2,
    face_centres_mm,
    face_vectors_mm2,
)

COST_STEPS = 1000.0
MOST_TRIES, DEARER, NEAR_RATIO = 6, 3.0, 0.03
"""How often the cut is made again where the seam crosses itself, how much dearer it becomes there each time, and how
far about such a place (a share of the part's size)."""
UPRIGHT_RATIO = 1e-6
PULL_PER_MM3 = 4.0
"""What a mm³ of undercut costs, in mm of seam (our own choice, decision 0030)."""
DEEPEST_PRICED_MM = 3.0
"""Undercut deeper than this costs no more for each mm²; nearer to where the part turns over, all is open."""
PRICED_SIZE_MM = 50.0
"""These prices hold for parts of this size and larger; for smaller ones they go with the size."""
SURE_LEAN = 0.3
"""A face that leans more, and lies deeper than is priced, goes to the half that it looks at."""
TIE_PER_MM2 = 100.0
"""What it costs, in mm of seam, to part silicone between facing faces over a mm² seen along the draw."""
WALL_PULL_MM = 0.2
"""Undercut laid to a vertical wall that one side reaches and that goes to the other half."""
ISLAND_RATIO = 0.002
"""A patch of one half inside the other below this share of the area joins the half around it."""
WEIGHT_SHOW, WEIGHT_HIDDEN, WEIGHT_SHARP, WEIGHT_BROW, WEIGHT_UNDERCUT, WEIGHT_RISE = 4.0, 0.25, 0.3, 0.5, 3.0, 6.0
"""What a millimetre of seam costs there, against 1 elsewhere (our own choice, decision 0030).

The border of a show face lies half way between show and plain; a brow is where the part turns over or a vertical wall
ends."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wish:
    """What each face (m,) asks for: `side` +1 up, −1 down, 0 vertical; its `Reach`; its `FaceMark`s."""

    side: NDArray[np.int8]
    reach: NDArray[np.uint8]
    marks: NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Allotted:
    """Which faces (m,) go to the upper half; what each costs in the lower (where positive) or in the upper half."""

    upper: BoolArray
    pull: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prices:
    """What the seam costs along each edge (e,), what each face (m,) costs in the lower half (where positive) or in
    the upper, and which faces are not in question."""

    cost: FloatArray
    pull: FloatArray
    sure: BoolArray


def prices_of(mesh: Mesh, edges: Edges, wish: Wish) -> Prices:
    """What a seam costs anywhere on the mesh."""
    pull, sure = _pulls(mesh, edges, wish)
    return Prices(cost=_edge_costs(mesh, edges, wish), pull=pull, sure=sure)


def dearer_near(prices: Prices, mesh: Mesh, edges: Edges, spots_mm: FloatArray) -> Prices:
    """The prices with edges beside the spots (n, 3) made dearer."""
    near_mm = NEAR_RATIO * float(np.ptp(mesh.vertices_mm, axis=0).max())
    middles_mm = mesh.vertices_mm[edges.ends].mean(axis=1)
    dear = cKDTree(spots_mm).query(middles_mm, distance_upper_bound=near_mm)[0] < np.inf
    return replace(prices, cost=np.where(dear, DEARER * prices.cost, prices.cost))


def allot_faces(mesh: Mesh, edges: Edges, wish: Wish) -> Allotted:
    """Give each face to a half by a minimum cut.

    Where the seam then crosses itself seen along the draw, both of its lines are made dearer there, and the cut is
    made again; of all tries that with the fewest such places counts.
    """
    prices = prices_of(mesh, edges, wish)
    best, fewest = wish.side > 0, np.inf
    for _ in range(MOST_TRIES):
        upper = allotted_at(prices, mesh, edges, wish).upper
        spots_mm = fold_spots_mm(mesh, seam_edges(mesh, edges, upper))
        if len(spots_mm) < fewest:
            best, fewest = upper, len(spots_mm)
        if len(spots_mm) == 0:
            break
        prices = dearer_near(prices, mesh, edges, spots_mm)
    return Allotted(upper=best, pull=prices.pull)


def allotted_at(prices: Prices, mesh: Mesh, edges: Edges, wish: Wish, *, ties: Ties | None = None) -> Allotted:
    """The cheapest allotment at these prices; with `ties` faces that are tied stay together."""
    free = ~prices.sure
    if ties is not None:
        free |= ties.near
    upper = _cheapest(edges, free=free, upper=wish.side > 0, cost=prices.cost, pull=prices.pull, ties=ties)
    upper = _parted_bodies(edges, without_islands(mesh, edges, upper), wish)
    return Allotted(upper=upper, pull=prices.pull)


def _parted_bodies(edges: Edges, upper: BoolArray, wish: Wish) -> BoolArray:
    """Bodies that lie wholly in one half parted where they turn over: each must come out of the mould."""
    a, b = edges.faces.T
    n = len(upper)
    count, body = connected_components(coo_array((np.ones(len(a)), (a, b)), shape=(n, n)), directed=False)
    share = np.bincount(body, weights=upper, minlength=count) / np.bincount(body, minlength=count)
    whole = ((share == 0.0) | (share == 1.0))[body]
    return np.where(whole, wish.side > 0, upper)


def _pulls(mesh: Mesh, edges: Edges, wish: Wish) -> tuple[FloatArray, BoolArray]:
    """What each face (m,) costs in the lower half (where positive) or in the upper, and which are not in question."""
    turns_over = wish.side[edges.faces[:, 0]] != wish.side[edges.faces[:, 1]]
    small = min(1.0, float(np.ptp(mesh.vertices_mm, axis=0).max()) / PRICED_SIZE_MM)
    deepest_mm, price_per_mm3 = DEEPEST_PRICED_MM * small, PULL_PER_MM3 / small**2
    depth_mm = np.full(len(mesh.faces), deepest_mm)
    if turns_over.any():
        brows = mesh.vertices_mm[edges.ends[turns_over]].mean(axis=1)
        near, _ = cKDTree(brows).query(face_centres_mm(mesh), distance_upper_bound=deepest_mm)
        depth_mm = np.minimum(near, deepest_mm)
    vectors = face_vectors_mm2(mesh)
    areas_mm2 = np.linalg.norm(vectors, axis=1)
    reached = wish.reach != Reach.NEITHER
    pull = price_per_mm3 * np.where(reached, np.abs(vectors[:, 2]) * depth_mm * wish.side, 0.0)
    wall = wish.side == 0
    one_way = (wish.reach == Reach.ABOVE).astype(float) - (wish.reach == Reach.BELOW)
    pull[wall] = (price_per_mm3 * WALL_PULL_MM * small * areas_mm2 * one_way)[wall]
    leans = np.abs(vectors[:, 2]) > SURE_LEAN * areas_mm2
    return pull, reached & leans & (depth_mm >= deepest_mm)


def fold_spots_mm(mesh: Mesh, seam: IntArray) -> FloatArray:
    """Where seam edges (k, 2) meet or cross each other seen along the draw, other than end to end: (n, 3)."""
    crowded = np.flatnonzero(np.bincount(seam[:, 0]) > 1)
    middles: FloatArray = mesh.vertices_mm[seam[folded_edges(mesh, seam)]].mean(axis=1)
    return np.concatenate([mesh.vertices_mm[crowded], middles])


def folded_edges(mesh: Mesh, seam: IntArray) -> IntArray:
    """Which seam edges (k, 2) meet or cross another seen along the draw, other than end to end.

    A seam may run straight up or down the draw: the vertices of such a run count as one.
    """
    lines = shapely.linestrings(mesh.vertices_mm[seam][:, :, :2])
    one, other = shapely.STRtree(lines).query(lines, predicate="intersects")
    joint = _one_to_a_run(mesh, seam)[seam]
    apart = (joint[one][:, :, None] != joint[other][:, None, :]).all(axis=(1, 2))
    return np.unique(one[apart])


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


def _edge_costs(mesh: Mesh, edges: Edges, wish: Wish) -> FloatArray:
    """What the seam costs along each edge (e,): its length times its weight."""
    beside = edges.faces
    weight = np.ones(len(edges.ends))
    weight += (WEIGHT_SHOW - 1.0) * ((wish.marks & FaceMark.SHOW) != 0)[beside].mean(axis=1)
    weight[((wish.marks & FaceMark.HIDDEN) != 0)[beside].any(axis=1)] = WEIGHT_HIDDEN
    sharp = edge_cosines(mesh, edges) < CREASE_COSINE
    weight[sharp] *= WEIGHT_SHARP
    weight[(wish.side[beside[:, 0]] != wish.side[beside[:, 1]]) & ~sharp] *= WEIGHT_BROW
    weight[(wish.reach == Reach.NEITHER)[beside].all(axis=1)] *= WEIGHT_UNDERCUT
    lengths_mm = edge_lengths_mm(mesh, edges)
    rise = np.abs(np.diff(mesh.vertices_mm[edges.ends][:, :, 2], axis=1)[:, 0]) / np.maximum(lengths_mm, 1e-12)
    costs: FloatArray = weight * lengths_mm * (1.0 + WEIGHT_RISE * rise * rise)
    return costs


def _cheapest(
    edges: Edges, *, free: BoolArray, upper: BoolArray, cost: FloatArray, pull: FloatArray, ties: Ties | None = None
) -> BoolArray:
    """Give the free faces (m,) to the halves so that the seam between them costs least.

    `pull` (m,): what it costs to give a face to the lower half (where positive) or to the upper (where negative).
    """
    if not free.any():
        return upper
    source, sink = 0, 1
    node = np.where(upper, source, sink)
    node[free] = 2 + np.arange(int(free.sum()))
    flow = max_flow.SimpleMaxFlow()
    _join(flow, node[edges.faces], cost)
    _join(flow, node[edges.faces[:, ::-1]], cost)
    if ties is not None:
        _join(flow, node[ties.pairs], TIE_PER_MM2 * ties.pairs_mm2)
        _join(flow, node[ties.pairs[:, ::-1]], TIE_PER_MM2 * ties.pairs_mm2)
        _join(flow, node[ties.stacked], TIE_PER_MM2 * ties.stacked_mm2)
    wanted, nodes = np.round(COST_STEPS * pull[free]).astype(np.int64), node[free]
    flow.add_arcs_with_capacity(np.full(len(nodes), source), nodes, np.maximum(wanted, 0))
    flow.add_arcs_with_capacity(nodes, np.full(len(nodes), sink), np.maximum(-wanted, 0))
    if flow.solve(source, sink) != flow.OPTIMAL:
        return upper
    in_upper = np.zeros(2 + int(free.sum()), bool)
    in_upper[flow.get_source_side_min_cut()] = True
    chosen = upper.copy()
    chosen[free] = in_upper[node[free]]
    return chosen


def _join(flow: max_flow.SimpleMaxFlow, between: IntArray, cost: FloatArray) -> None:
    """Make it cost so much if of two nodes (k, 2) the first goes to the upper half and the second to the lower."""
    apart = between[:, 0] != between[:, 1]
    whole = np.maximum(1, np.round(COST_STEPS * cost[apart])).astype(np.int64)
    flow.add_arcs_with_capacity(between[apart, 0], between[apart, 1], whole)


def without_islands(mesh: Mesh, edges: Edges, upper: BoolArray) -> BoolArray:
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


def seam_edges(mesh: Mesh, edges: Edges, upper: BoolArray) -> IntArray:
    """Directed edges (k, 2) between the halves, the upper half on their left."""
    apart = np.flatnonzero(upper[edges.faces[:, 0]] != upper[edges.faces[:, 1]])
    faces, ends = edges.faces[apart], edges.ends[apart]
    above = np.where(upper[faces[:, 0]], faces[:, 0], faces[:, 1])
    corner = side_of(mesh, above, ends)
    rows = np.arange(len(apart))
    return np.stack([mesh.faces[above][rows, corner], mesh.faces[above][rows, (corner + 1) % 3]], axis=1)


def seam_loops(seam: IntArray) -> tuple[IntArray, ...]:
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
