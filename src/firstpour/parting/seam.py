"""The parting line on the part: where the upper half of the mould hands over to the lower.

On a rounded face the seam runs where the smooth normal is level (n·d = 0); along vertical walls, where it may lie at
any height, a minimum cut on the face graph puts it on sharp edges, on hidden faces and level (decisions 0002, 0030).
What the cut leaves on the edges of the mesh is then drawn smooth across its faces, so the seam is a clean polyline.
Everything here is in the frame of the draw: d is +z.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.parting.allot import (
    Allotted,
    Wish,
    allot_faces,
    allotted_at,
    dearer_near,
    fold_spots_mm,
    folded_edges,
    prices_of,
    seam_edges,
    seam_loops,
    without_islands,
)
from firstpour.parting.levels import with_levels
from firstpour.parting.smooth import redrawn
from firstpour.parting.split import Cut, corner_of, split_faces, split_long
from firstpour.parting.ties import Ties, find_ties
from firstpour.parting.undercut import VERTICAL_COSINE
from firstpour.surface.edges import CREASE_COSINE, Edges, edge_cosines, edges_of
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, face_normals, face_vectors_mm2

MOST_EASINGS, MOST_EASED_MM, MOST_SLID_MM = 30, 0.05, 1.0
"""Vertices of the seam are eased by so much at the most where it folds over itself: far below what a printer shows,
and further only within a flat face."""
FLAT_PLAY = 1e-7
MOST_TIED_TRIES = 12
"""So many seams between tied faces are drawn at the most, each dearer where the one before crossed itself."""
TIED_EDGE_RATIO = 0.012
"""Faces that are tied get edges no longer than this share of the part's size."""
HELD_PULL = 1e3
"""So strongly, in mm of seam, a tied face holds off the seam that is drawn smooth."""


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


def cut_seam(mesh: Mesh, *, reach: NDArray[np.uint8], marks: NDArray[np.uint8]) -> Seamed:
    """Cut the seam into a mesh in the frame of the draw.

    `reach` and `marks` (m,): one `Reach` and one `FaceMark` a face.
    """
    cut, wish = _split(mesh, reach=reach, marks=marks)
    edges = edges_of(cut.mesh)
    return _drawn(cut, edges, wish=wish, allotted=allot_faces(cut.mesh, edges, wish))


def tied_seams(mesh: Mesh, *, reach: NDArray[np.uint8], marks: NDArray[np.uint8]) -> Iterator[Seamed]:
    """Seams that leave silicone between facing faces whole (`ties`), and do not cross themselves along the draw.

    For parts whose seam as `cut_seam` finds it does. None comes where no part of the mesh lies over another; each
    further one is tried only if the one before did not serve.
    """
    cut, wish = _split(mesh, reach=reach, marks=marks)
    ties = find_ties(cut.mesh)
    if len(ties.pairs) == 0:
        return
    longest_mm = TIED_EDGE_RATIO * float(np.ptp(mesh.vertices_mm, axis=0).max())
    finer, split = split_long(cut.mesh, ties.near, longest_mm=longest_mm)
    cut = Cut(mesh=finer, level=cut.level[split], parent=cut.parent[split])
    wish = Wish(side=wish.side[split], reach=wish.reach[split], marks=wish.marks[split])
    edges, ties = edges_of(finer), find_ties(finer)
    prices = prices_of(finer, edges, wish)
    for _ in range(MOST_TIED_TRIES):
        allotted = allotted_at(prices, finer, edges, wish, ties=ties)
        seamed = _drawn(cut, edges, wish=wish, allotted=_held(allotted, ties), each_run=True)
        if not _folds(seamed):
            yield seamed
        spots_mm = fold_spots_mm(seamed.mesh, seamed.edges)
        if len(spots_mm) == 0:
            return
        prices = dearer_near(prices, finer, edges, spots_mm)


def _held(allotted: Allotted, ties: Ties) -> Allotted:
    """Tied faces priced so that the seam drawn smooth keeps off them."""
    pull, tied = allotted.pull.copy(), np.unique(ties.pairs)
    pull[tied] = HELD_PULL * np.where(allotted.upper[tied], 1.0, -1.0)
    return replace(allotted, pull=pull)


def _split(mesh: Mesh, *, reach: NDArray[np.uint8], marks: NDArray[np.uint8]) -> tuple[Cut, Wish]:
    """The mesh split wherever a seam may want to run, and what each face then asks for."""
    edges = edges_of(mesh)
    lean = face_normals(mesh)[:, 2]
    level = _corner_lean(mesh, edges, lean)
    cut = split_faces(mesh, edges, level)
    side = _sides(cut.level, cut.parent, lean)
    levelled = with_levels(cut, side)
    side = side[levelled.parent]
    cut = replace(levelled, parent=cut.parent[levelled.parent])
    wish = Wish(side=side, reach=reach[cut.parent], marks=marks[cut.parent])
    return cut, wish


def _drawn(cut: Cut, edges: Edges, *, wish: Wish, allotted: Allotted, each_run: bool = False) -> Seamed:
    """The seam between the allotted faces drawn smooth; as it was cut where only so it does not fold over itself."""
    smooth = redrawn(
        cut.mesh,
        edges,
        allotted.upper,
        side=wish.side,
        marks=wish.marks,
        pull=allotted.pull,
        each_run=each_run,
    )
    if smooth is None:
        return _seamed(cut.mesh, cut.parent, allotted.upper, edges)
    again, upper = smooth
    new_edges = edges_of(again.mesh)
    drawn = _seamed(again.mesh, cut.parent[again.parent], without_islands(again.mesh, new_edges, upper), new_edges)
    if not _folds(drawn):
        return drawn
    plain = _seamed(cut.mesh, cut.parent, allotted.upper, edges)
    return drawn if _folds(plain) else plain


def _seamed(mesh: Mesh, parent: IntArray, upper: BoolArray, edges: Edges) -> Seamed:
    """The seam between the halves, eased where it folds by a hair."""
    seam = seam_edges(mesh, edges, upper)
    return Seamed(mesh=_unfolded(mesh, seam), parent=parent, upper=upper, edges=seam, loops=seam_loops(seam))


def _folds(seamed: Seamed) -> bool:
    return not seamed.loops or len(folded_edges(seamed.mesh, seamed.edges)) > 0


def _unfolded(mesh: Mesh, seam: IntArray) -> Mesh:
    """The mesh with the seam's vertices eased towards each other where it folds by a hair, seen along the draw."""
    if len(folded_edges(mesh, seam)) == 0:
        return mesh
    before, after = np.empty(len(mesh.vertices_mm), np.int64), np.empty(len(mesh.vertices_mm), np.int64)
    after[seam[:, 0]], before[seam[:, 1]] = seam[:, 1], seam[:, 0]
    eased, most_mm = mesh, np.where(_flat_around(mesh), MOST_SLID_MM, MOST_EASED_MM)
    for _ in range(MOST_EASINGS):
        folded = folded_edges(eased, seam)
        if len(folded) == 0 or len(np.unique(seam[:, 0])) < len(seam):
            return eased
        vertices = np.unique(seam[folded])
        old = eased.vertices_mm
        moved = 0.5 * old[vertices] + 0.25 * (old[before[vertices]] + old[after[vertices]])
        off_mm = np.linalg.norm(moved - mesh.vertices_mm[vertices], axis=1)
        near = off_mm <= most_mm[vertices]
        if not near.any():
            return mesh
        vertices_mm = old.copy()
        vertices_mm[vertices[near]] = moved[near]
        eased = Mesh(vertices_mm=vertices_mm, faces=mesh.faces)
    return mesh


def _flat_around(mesh: Mesh) -> BoolArray:
    """Vertices (n,) whose faces all lie in one plane, so that moving them in it changes nothing."""
    n, vectors = len(mesh.vertices_mm), face_vectors_mm2(mesh)
    corners, areas_mm2 = mesh.faces.ravel(), np.linalg.norm(vectors, axis=1)
    sums = [np.bincount(corners, weights=np.repeat(vectors[:, k], 3), minlength=n) for k in range(3)]
    total_mm2 = np.bincount(corners, weights=np.repeat(areas_mm2, 3), minlength=n)
    flat: BoolArray = np.linalg.norm(sums, axis=0) > (1.0 - FLAT_PLAY) * total_mm2
    return flat


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
        pair = [3 * edges.faces[smooth, k] + corner_of(mesh, edges.faces[smooth, k], vertex) for k in (0, 1)]
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


def _angles(mesh: Mesh, corners: IntArray) -> FloatArray:
    """Angle of the face at each corner (k,) in radians."""
    faces, corner = corners // 3, corners % 3
    here, after, before = (mesh.vertices_mm[mesh.faces[faces, (corner + k) % 3]] for k in range(3))
    a, b = after - here, before - here
    angles: FloatArray = np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), np.einsum("ij,ij->i", a, b))
    return angles


def _sides(level: FloatArray, parent: IntArray, lean: FloatArray) -> NDArray[np.int8]:
    """+1 for faces that look up, −1 down, 0 vertical; on the band of the seam by the smooth normal."""
    side = np.sign(np.where(np.abs(lean) > VERTICAL_COSINE, lean, 0.0))[parent]
    mean = np.nansum(level, axis=1)
    halved = np.bincount(parent, minlength=len(lean))[parent] > 1
    smooth = ~np.isnan(level).any(axis=1) & (mean != 0.0) & ((side != 0.0) | halved)
    side[smooth] = np.sign(mean[smooth])
    return side.astype(np.int8)
