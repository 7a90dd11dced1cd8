"""Straight seams along vertical walls: the wall is unrolled, and the seam is a line from where it enters to its exit.

A vertical wall stands over a line in plan, so it unrolls into a plane of (way along the wall, height).
"""

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from firstpour.surface.edges import Edges
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, face_normals

PLAY_RATIO = 1e-6
"""A wall that does not close when unrolled, by more than this share of the part's size, goes round the part."""

ON_LINE_RATIO = 1e-5
"""Vertices this near to the line, as a share of its length, lie on it: it may run along the wall's own border."""


def straight_on_walls(
    mesh: Mesh,
    edges: Edges,
    upper: BoolArray,
    *,
    wall: BoolArray,
    loose: BoolArray,
    path: BoolArray,
    closed: BoolArray,
    each_run: bool = False,
) -> FloatArray:
    """A function at the vertices (n,) whose zero is the straight seam, above 0 in the upper half; nan elsewhere.

    `wall` (m,) are the faces in question, `path` (e,) the edges of the seam across walls, `loose` those of them that
    should move, `closed` (e,) edges over which walls do not hang together. A wall that the seam crosses more than
    once, or that a straight line would not part as the faces are parted, is left out; with `each_run` each run of the
    seam over such a wall is then tried by itself, between the heights of its ends.
    """
    phi = np.full(len(mesh.vertices_mm), np.nan)
    joined = wall[edges.faces].all(axis=1) & ~closed
    a, b = edges.faces[joined].T
    patch = connected_components(_graph(a, b, len(wall)), directed=False)[1]
    within = loose & joined
    for number in np.unique(patch[edges.faces[within, 0]]):
        faces = np.flatnonzero(wall & (patch == number))
        crossing = path & joined & (patch[edges.faces[:, 0]] == number)
        line = _line_over(mesh, edges, faces, upper, run=crossing)
        if line is None and each_run:
            border = _on_border(mesh, faces)
            for run in _runs(edges, crossing):
                beside = _beside(mesh, edges, faces, run, joined & (run | ~crossing))
                piece = _line_over(mesh, edges, beside, upper, run=run, border=border)
                if piece is not None:
                    vertices, off = piece
                    nearer = ~(np.abs(phi[vertices]) <= np.abs(off))
                    phi[vertices[nearer]] = off[nearer]
        elif line is not None:
            phi[line[0]] = line[1]
    return phi


def _line_over(
    mesh: Mesh, edges: Edges, faces: IntArray, upper: BoolArray, *, run: BoolArray, border: BoolArray | None = None
) -> tuple[IntArray, FloatArray] | None:
    """The straight line over a wall between the ends of a run of seam edges (e,), as `_line`; None if none serves."""
    ends = _ends_of(edges.ends[run])
    along_mm = _unrolled_mm(mesh, faces) if len(ends) == 2 and len(faces) else None
    return None if along_mm is None else _line(mesh, faces, upper, along_mm=along_mm, ends=ends, border=border)


def _runs(edges: Edges, crossing: BoolArray) -> list[BoolArray]:
    """The chains of seam edges (e,) that hang together."""
    a, b = edges.ends[crossing].T
    run = connected_components(_graph(a, b, int(edges.ends.max()) + 1), directed=False)[1][edges.ends[:, 0]]
    return [crossing & (run == number) for number in np.unique(run[crossing])]


def _beside(mesh: Mesh, edges: Edges, faces: IntArray, run: BoolArray, joined: BoolArray) -> IntArray:
    """Those of the wall's faces that reach between the heights of a run of seam, and are `joined` to it."""
    z = mesh.vertices_mm[:, 2]
    ends = _ends_of(edges.ends[run])
    if len(ends) != 2:
        return faces[:0]
    inside = np.zeros(len(mesh.faces), bool)
    corners = z[mesh.faces[faces]]
    inside[faces] = (corners.max(axis=1) > z[ends].min()) & (corners.min(axis=1) < z[ends].max())
    a, b = edges.faces[joined & inside[edges.faces].all(axis=1)].T
    piece = connected_components(_graph(a, b, len(mesh.faces)), directed=False)[1]
    touched = edges.faces[run]
    own = np.unique(piece[touched[inside[touched]]])
    found: IntArray = np.flatnonzero(inside & np.isin(piece, own))
    return found


def _graph(a: IntArray, b: IntArray, n: int) -> csr_array:
    return coo_array((np.ones(len(a)), (a, b)), shape=(n, n)).tocsr()


def _ends_of(path: IntArray) -> IntArray:
    """The loose ends of a chain of edges (k, 2): two for one open line."""
    vertices, count = np.unique(path, return_counts=True)
    ends: IntArray = vertices[count == 1]
    return ends if (count <= 2).all() and len(vertices) == len(path) + 1 else vertices[:0]


def _unrolled_mm(mesh: Mesh, faces: IntArray) -> FloatArray | None:
    """The way along the wall at each vertex (n,), nan where it is not; None where the wall goes round."""
    across = face_normals(mesh)[faces]
    tangent = np.stack([-across[:, 1], across[:, 0], np.zeros(len(faces))], axis=1)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    corner = mesh.faces[faces]
    a, b = corner.ravel(), np.roll(corner, -1, axis=1).ravel()
    step_mm = np.einsum("ij,ij->i", np.repeat(tangent, 3, axis=0), mesh.vertices_mm[b] - mesh.vertices_mm[a])
    n = len(mesh.vertices_mm)
    way = dict(zip(zip(a.tolist(), b.tolist(), strict=True), step_mm.tolist(), strict=True))
    order, before = breadth_first_order(_graph(a, b, n), int(a[0]), directed=False)
    along_mm = np.full(n, np.nan)
    along_mm[order[0]] = 0.0
    for vertex in order[1:].tolist():
        came = int(before[vertex])
        step = way.get((came, vertex))
        along_mm[vertex] = along_mm[came] + (step if step is not None else -way[(vertex, came)])
    size_mm = float(np.ptp(mesh.vertices_mm, axis=0).max())
    closes = np.abs(along_mm[b] - along_mm[a] - step_mm).max() <= PLAY_RATIO * size_mm
    return along_mm if closes else None


def _line(
    mesh: Mesh,
    faces: IntArray,
    upper: BoolArray,
    *,
    along_mm: FloatArray,
    ends: IntArray,
    border: BoolArray | None = None,
) -> tuple[IntArray, FloatArray] | None:
    """The wall's vertices and the distance of each from the line between the ends, above 0 in the upper half.

    None where vertices on the wall's border lie on the wrong side of it. With `border` (n,) the faces are some of a
    wall that has this border, and only vertices between the heights of the ends are told.
    """
    vertices = np.unique(mesh.faces[faces])
    if border is None:
        border = _on_border(mesh, faces)
    else:
        z, low_mm, high_mm = mesh.vertices_mm[:, 2], *np.sort(mesh.vertices_mm[ends, 2])
        vertices = vertices[(z[vertices] >= low_mm) & (z[vertices] <= high_mm)]
    place = np.column_stack([along_mm[vertices], mesh.vertices_mm[vertices, 2]])
    start, stop = (np.array([along_mm[end], mesh.vertices_mm[end, 2]]) for end in ends)
    across = np.array([start[1] - stop[1], stop[0] - start[0]])
    size_mm = float(np.linalg.norm(across))
    if size_mm == 0.0:
        return None
    off_mm = (place - start) @ across / size_mm
    up = _halves_at(mesh, faces, upper)[vertices]
    held = border[vertices] & ~np.isin(vertices, ends)
    if float((off_mm * up)[held].sum()) < 0.0:
        off_mm = -off_mm
    on_line = np.isin(vertices, ends) | (np.abs(off_mm) <= ON_LINE_RATIO * size_mm)
    off_mm[on_line] = 0.0
    return (vertices, off_mm / size_mm) if ((off_mm * up)[held & ~on_line] > 0.0).all() else None


def _halves_at(mesh: Mesh, faces: IntArray, upper: BoolArray) -> FloatArray:
    """+1 at vertices (n,) whose wall faces are all in the upper half, −1 in the lower, 0 where they differ."""
    n = len(mesh.vertices_mm)
    corners = mesh.faces[faces].ravel()
    total = np.bincount(corners, weights=np.repeat(np.where(upper[faces], 1.0, -1.0), 3), minlength=n)
    halves: FloatArray = np.where(np.abs(total) == np.bincount(corners, minlength=n), np.sign(total), 0.0)
    return halves


def _on_border(mesh: Mesh, faces: IntArray) -> BoolArray:
    """Vertices (n,) that also belong to faces outside the wall."""
    outside = np.ones(len(mesh.faces), bool)
    outside[faces] = False
    touched = np.zeros(len(mesh.vertices_mm), bool)
    touched[mesh.faces[outside]] = True
    return touched
