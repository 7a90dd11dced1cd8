"""How the faces of a mesh meet: equal vertices, shared edges, windings, open rims."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.kernels.weld import first_equal
from firstpour.values import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sides:
    """The 3·m sides of m faces, sorted so that the sides along one edge stand together.

    Side 3·f + k runs from corner k of face f to the next. `side` (3·m,) lists sides edge by edge; edge e has
    `side[start[e]:start[e + 1]]`. `forward` (3·m,) says, by side number, whether it runs to the higher vertex.
    """

    side: IntArray
    start: IntArray
    forward: BoolArray

    @property
    def counts(self) -> IntArray:
        """Faces at each edge."""
        return np.diff(self.start)


def sides_of(faces: IntArray) -> Sides:
    """Sort the sides of `faces` (m, 3) by the edge they run along."""
    a, b = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    forward = a < b
    low, high = np.where(forward, a, b), np.where(forward, b, a)
    key = low * (int(faces.max(initial=0)) + 1) + high
    side = np.argsort(key, kind="stable")
    ordered = key[side]
    breaks = np.flatnonzero(ordered[1:] != ordered[:-1]) + 1
    start = np.concatenate([[0], breaks, [len(key)]]) if len(key) else np.zeros(1, np.int64)
    return Sides(side=side, start=start.astype(np.int64), forward=forward)


def side_ends(faces: IntArray, side: IntArray) -> IntArray:
    """From and to vertex (n, 2) of each side."""
    face, k = np.divmod(side, 3)
    return np.stack([faces[face, k], faces[face, (k + 1) % 3]], axis=1)


def paired_faces(sides: Sides) -> tuple[IntArray, IntArray, BoolArray]:
    """The two faces at each edge that has exactly two, and whether they run along it in opposite directions."""
    two = sides.start[:-1][sides.counts == 2]
    p, q = sides.side[two], sides.side[two + 1]
    return p // 3, q // 3, sides.forward[p] != sides.forward[q]


def same_vertices(points: FloatArray) -> IntArray:
    """For each point (n, 3) the lowest number of an equal one: (n,)."""
    points = np.ascontiguousarray(points, dtype=np.float64) + 0.0
    slots = np.full(1 << (2 * max(len(points), 1)).bit_length(), -1, np.int64)
    first: IntArray = first_equal(points, slots)
    return first


def flips_to_agree(p: IntArray, q: IntArray, agree: BoolArray, faces: int) -> tuple[BoolArray, bool]:
    """Faces to turn over (m,) so that neighbours `p` and `q` agree, fewest in each shell; and whether that can be.

    `agree` says of each pair whether the two agree as they are. Each face stands for two nodes, as it is and turned;
    a shell in which they meet is one-sided.
    """
    if agree.all():
        return np.zeros(faces, np.bool_), True
    u = np.concatenate([p, p + faces])
    v = np.concatenate([np.where(agree, q, q + faces), np.where(agree, q + faces, q)])
    _, node = _components(u, v, 2 * faces)
    kept, turned = node[:faces], node[faces:]
    low = np.minimum(kept, turned)
    votes = np.bincount(low, weights=np.where(kept == low, 1.0, -1.0), minlength=2 * faces)
    return (kept == low) != (votes[low] >= 0), bool((kept != turned).all())


def _components(p: IntArray, q: IntArray, nodes: int) -> tuple[int, IntArray]:
    graph = coo_array((np.ones(len(p), np.int8), (p, q)), shape=(nodes, nodes))
    count, label = connected_components(graph, directed=False)
    return int(count), label.astype(np.int64)


def open_rims(faces: IntArray, sides: Sides) -> list[IntArray]:
    """Closed loops of vertices along edges with one face, in the order in which a patch would run.

    A loop that touches itself or another at a vertex is left out: there it is not clear what belongs together.
    """
    single = sides.side[sides.start[:-1][sides.counts == 1]]
    ends = side_ends(faces, single)[:, ::-1]
    following: dict[int, int] = {}
    tangled: set[int] = set()
    for a, b in ends.tolist():
        if a in following:
            tangled.add(a)
        following[a] = b
    rims: list[IntArray] = []
    seen: set[int] = set()
    for start in following:
        loop: list[int] = []
        at = start
        while at not in seen and at in following:
            seen.add(at)
            loop.append(at)
            at = following[at]
        if len(loop) >= 3 and at == start and not tangled.intersection(loop):
            rims.append(np.array(loop, np.int64))
    return rims
