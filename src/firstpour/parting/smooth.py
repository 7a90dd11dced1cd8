"""The seam drawn smooth across faces, where the minimum cut left it on the edges of the mesh.

The cut's two labels are relaxed to a function φ between −1 and +1 in a band beside the seam, and on the vertical
walls that it crosses: φ minimises ∫|∇φ|² + Σ w (φ − s)², s being the half that a face would rather go to and w the
price of its going to the other. The seam runs where φ = 0 (decision 0030). On sharp edges, on brows and on the
borders of marks it stays as it is.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import spsolve

from firstpour.parting.split import Cut, split_faces
from firstpour.parting.wall_lines import straight_on_walls
from firstpour.surface.edges import CREASE_COSINE, Edges, edge_cosines, edge_lengths_mm
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh

BAND_RINGS = 4
"""Rings of faces to each side of the seam that are drawn again."""
MOST_COTANGENT = 1e4
"""Thinner triangles count as of this shape."""
LEVEL_SLOPE = 1e-6
SHORT_RUN_RATIO = 0.1
"""Sharp edges that hang together by less than this share of the part's size count as round."""


def redrawn(
    mesh: Mesh,
    edges: Edges,
    upper: BoolArray,
    *,
    side: NDArray[np.int8],
    marks: NDArray[np.uint8],
    pull: FloatArray,
    each_run: bool = False,
) -> tuple[Cut, BoolArray] | None:
    """The mesh split along the smooth seam, and the half of each of its faces; None where there is nothing to draw.

    `upper` (m,): the half of each face by the minimum cut; `pull` (m,): what each costs in the lower half (where
    positive) or in the upper. `each_run`: as `straight_on_walls`.
    """
    other_mark = marks[edges.faces[:, 0]] != marks[edges.faces[:, 1]]
    held = _long_creases(mesh, edges) | other_mark
    pinned = held | _level_on_walls(mesh, edges, side == 0)
    on_seam = upper[edges.faces[:, 0]] != upper[edges.faces[:, 1]]
    loose = on_seam & ~pinned
    band = _band(edges, loose=loose, closed=pinned, walls=side == 0, marks=marks)
    if not band.any():
        return None
    straight = straight_on_walls(
        mesh,
        edges,
        upper,
        wall=band & (side == 0),
        loose=loose,
        path=on_seam & ~held,
        closed=other_mark | (on_seam & held),
        each_run=each_run,
    )
    phi = _relaxed(mesh, band=band, upper=upper, pull=pull, given=straight)
    cut = split_faces(mesh, edges, phi)
    chosen = upper[cut.parent]
    mean = np.nansum(cut.level, axis=1)
    inside = band[cut.parent] & (mean != 0.0)
    chosen[inside] = mean[inside] > 0.0
    return cut, chosen


def _band(
    edges: Edges, *, loose: BoolArray, closed: BoolArray, walls: BoolArray, marks: NDArray[np.uint8]
) -> BoolArray:
    """Faces (m,) in which the seam is drawn again: rings about its loose edges, and all of the walls it crosses."""
    band = np.zeros(len(marks), bool)
    band[edges.faces[loose]] = True
    if not band.any():
        return band
    a, b = edges.faces[walls[edges.faces].all(axis=1) & (marks[edges.faces[:, 0]] == marks[edges.faces[:, 1]])].T
    graph = coo_array((np.ones(len(a)), (a, b)), shape=(len(marks), len(marks)))
    patch = connected_components(graph, directed=False)[1]
    crossed = np.zeros(len(marks), bool)
    crossed[patch[band & walls]] = True
    open_faces = edges.faces[~closed]
    for _ in range(BAND_RINGS):
        touched = open_faces[band[open_faces].any(axis=1)]
        band[touched] = True
    band |= crossed[patch] & walls
    return band


def _long_creases(mesh: Mesh, edges: Edges) -> BoolArray:
    """Sharp edges (e,), less those in short runs: on a coarse rounded mesh a few are sharp by chance."""
    sharp = edge_cosines(mesh, edges) < CREASE_COSINE
    a, b = edges.ends[sharp].T
    n = len(mesh.vertices_mm)
    run = connected_components(coo_array((np.ones(len(a)), (a, b)), shape=(n, n)), directed=False)[1][a]
    total_mm = np.bincount(run, weights=edge_lengths_mm(mesh, edges)[sharp], minlength=n)
    sharp[sharp] = total_mm[run] > SHORT_RUN_RATIO * float(np.ptp(mesh.vertices_mm, axis=0).max())
    return sharp


def _level_on_walls(mesh: Mesh, edges: Edges, wall: BoolArray) -> BoolArray:
    """Edges (e,) that run level along a vertical wall."""
    ends = mesh.vertices_mm[edges.ends]
    along = ends[:, 1] - ends[:, 0]
    level: BoolArray = np.abs(along[:, 2]) <= LEVEL_SLOPE * np.linalg.norm(along, axis=1)
    return level & wall[edges.faces].all(axis=1)


def _relaxed(mesh: Mesh, *, band: BoolArray, upper: BoolArray, pull: FloatArray, given: FloatArray) -> FloatArray:
    """φ at the corners of the faces (m, 3); nan outside the band."""
    n = len(mesh.vertices_mm)
    inner = mesh.faces[band]
    label = np.where(upper[band], 1.0, -1.0)
    sums = np.bincount(inner.ravel(), weights=np.repeat(label, 3), minlength=n)
    counts = np.bincount(inner.ravel(), minlength=n)
    border = (np.bincount(mesh.faces[~band].ravel(), minlength=n) > 0) & (counts > 0)
    known = np.full(n, np.nan)
    known[border] = np.where(np.abs(sums[border]) == counts[border], np.sign(sums[border]), 0.0)
    known = np.where(np.isnan(given), known, given)
    price, wanted = _shared(inner, np.abs(pull[band]), n), _shared(inner, pull[band], n)
    phi = _solved(mesh.vertices_mm, inner, known=known, price=price, wanted=wanted)
    level = np.full((len(mesh.faces), 3), np.nan)
    level[band] = phi[inner]
    return level


def _shared(faces: IntArray, values: FloatArray, n: int) -> FloatArray:
    """Values of faces (k,), a third to each of their corners, summed at the vertices (n,)."""
    return np.bincount(faces.ravel(), weights=np.repeat(values / 3.0, 3), minlength=n).astype(np.float64)


def _solved(
    vertices_mm: FloatArray, faces: IntArray, *, known: FloatArray, price: FloatArray, wanted: FloatArray
) -> FloatArray:
    """φ (n,) that minimises ∫|∇φ|² + Σ price φ² − 2 wanted φ over the faces (k, 3), `known` where not nan."""
    n = len(vertices_mm)
    rows, columns, weights = [], [], []
    for k in range(3):
        at, one, two = faces[:, (k + 2) % 3], faces[:, k], faces[:, (k + 1) % 3]
        u, v = vertices_mm[one] - vertices_mm[at], vertices_mm[two] - vertices_mm[at]
        area2 = np.linalg.norm(np.cross(u, v), axis=1)
        cotangent = np.einsum("ij,ij->i", u, v) / np.maximum(area2, 1e-9)
        rows.append(one)
        columns.append(two)
        weights.append(np.clip(0.5 * cotangent, -MOST_COTANGENT, MOST_COTANGENT))
    one, two, weight = np.concatenate(rows), np.concatenate(columns), np.concatenate(weights)
    link = coo_array((np.r_[weight, weight], (np.r_[one, two], np.r_[two, one])), shape=(n, n)).tocsr()
    diagonal = link.sum(axis=1) + price
    system = csr_array((diagonal, (np.arange(n), np.arange(n))), shape=(n, n)) - link
    used = np.zeros(n, bool)
    used[faces] = True
    free, rest = np.flatnonzero(np.isnan(known) & used), np.flatnonzero(~np.isnan(known))
    phi = np.where(np.isnan(known), 0.0, known)
    if len(free):
        right = wanted[free] - system[free][:, rest] @ known[rest]
        phi[free] = spsolve(system[free][:, free].tocsc(), right)
    return phi
