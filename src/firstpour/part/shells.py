"""Shells: the separate closed surfaces of a heap of faces, also where more than two faces meet at an edge.

At such an edge it has to be said which face goes on in which. Faces of one body are joined elsewhere too, so those
that hang together by ordinary edges (a patch) pair first. What is left pairs like brackets: turning about the edge, a
face that the solid begins behind opens, one that it ends at closes, and the innermost pair closes first, so that no
two shells cross there. Every pair agrees in winding, so each shell comes out closed and wound one way.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.errors import UnreadablePart
from firstpour.surface.sides import Sides, paired_faces, side_ends, sides_of
from firstpour.values import BoolArray, FloatArray, IntArray, place_words

ANGLE_STEPS = 1_000_000
"""Faces at an edge whose angles agree to this share of a turn lie on one another."""
MOST_CROWDED = 300_000
"""Most edges at which more than two faces may meet: beyond it the file is a tangle, not a part (our own limit)."""


class AtEdges(StrEnum):
    """How shells go on where more than two faces meet."""

    WITHIN = "one within the other, none crosses"
    ACROSS = "across each other, the first begun ends first"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shells:
    """Closed faces with the shell that each belongs to, and each shell's signed volume in mm³.

    `vertices_mm` (n, 3), `faces` (m, 3), `source_face` (m,), `shell` (m,), `volumes_mm3` (shells,).
    """

    vertices_mm: FloatArray
    faces: IntArray
    source_face: IntArray
    shell: IntArray
    volumes_mm3: FloatArray
    folds: int = 0
    """Edges at which a face was found to go on in one that lies on it."""
    crowded: int = 0
    """Edges at which more than two faces met."""

    def kept(self, keep: BoolArray) -> "Shells":
        """The shells chosen by `keep` (shells,)."""
        chosen = keep[self.shell]
        number = np.cumsum(keep) - 1
        return Shells(
            vertices_mm=self.vertices_mm,
            faces=self.faces[chosen],
            source_face=self.source_face[chosen],
            shell=number[self.shell[chosen]],
            volumes_mm3=self.volumes_mm3[keep],
            folds=self.folds,
            crowded=self.crowded,
        )


def shells_of(
    vertices_mm: FloatArray, faces: IntArray, source_face: IntArray, *, at_edges: AtEdges = AtEdges.WITHIN
) -> Shells:
    """The shells of closed `faces`; where more than two meet, each shell gets points of its own.

    Raises
    ------
    UnreadablePart
        If the windings of the faces that meet at an edge contradict each other, or far too many meet.
    """
    sides = sides_of(faces)
    mate, folds = _mates(vertices_mm, faces, sides, at_edges)
    if (sides.counts > 2).any():
        vertices_mm, faces, source_face, mate = _own_points(vertices_mm, faces, source_face, mate)
    count, shell = _linked(np.arange(len(mate)) // 3, mate // 3, len(faces))
    return Shells(
        vertices_mm=vertices_mm,
        faces=faces,
        source_face=source_face,
        shell=shell,
        volumes_mm3=volumes_of(vertices_mm, faces, shell, count),
        folds=folds,
        crowded=int((sides.counts > 2).sum()),
    )


def volumes_of(vertices_mm: FloatArray, faces: IntArray, shell: IntArray, count: int) -> FloatArray:
    """Signed volume (count,) of each shell in mm³, reckoned from a point near it."""
    first = np.full(count, len(faces), np.int64)
    np.minimum.at(first, shell, np.arange(len(faces)))
    origin = vertices_mm[faces[first, 0]][shell]
    a, b, c = (vertices_mm[faces[:, k]] - origin for k in range(3))
    sixfold = np.einsum("ij,ij->i", a, np.cross(b, c))
    return np.bincount(shell, weights=sixfold, minlength=count) / 6.0


def crowd_balance(faces: IntArray, sides: Sides) -> tuple[IntArray, IntArray, BoolArray]:
    """Pairs of patches (by a face of each) that meet at a crowded edge, and whether their windings agree there.

    Only edges where exactly two patches run one way more often than the other say something.
    """
    patch, crowded = _patches(faces, sides), sides.counts > 2
    edge = np.repeat(np.arange(len(sides.counts)), sides.counts)
    at = crowded[edge]
    side = sides.side[at]
    edge, owner = edge[at], patch[side // 3]
    way = np.where(sides.forward[side], 1, -1)
    keys, group = np.unique(np.stack([edge, owner], axis=1), axis=0, return_inverse=True)
    net = np.bincount(group.ravel(), weights=way, minlength=len(keys)).astype(np.int64)
    keys, net = keys[net != 0], net[net != 0]
    _, start, number = np.unique(keys[:, 0], return_index=True, return_counts=True)
    two = start[(number == 2)]
    two = two[np.abs(net[two]) == np.abs(net[two + 1])]
    _, a_face = np.unique(patch, return_index=True)
    return a_face[keys[two, 1]], a_face[keys[two + 1, 1]], net[two] != net[two + 1]


def _patches(faces: IntArray, sides: Sides) -> IntArray:
    """The patch (m,) of each face: what hangs together by edges with two faces."""
    p, q, _ = paired_faces(sides)
    return _linked(p, q, len(faces))[1]


def _linked(p: IntArray, q: IntArray, nodes: int) -> tuple[int, IntArray]:
    graph = coo_array((np.ones(len(p), np.int8), (p, q)), shape=(nodes, nodes))
    count, label = connected_components(graph, directed=False)
    return int(count), label.astype(np.int64)


def _mates(vertices_mm: FloatArray, faces: IntArray, sides: Sides, at_edges: AtEdges) -> tuple[IntArray, int]:
    """For each side (3·m,) the side of the face that goes on there; and how many pairs fold back on themselves."""
    mate = np.full(3 * len(faces), -1, np.int64)
    two = sides.start[:-1][sides.counts == 2]
    mate[sides.side[two]], mate[sides.side[two + 1]] = sides.side[two + 1], sides.side[two]
    crowded = np.flatnonzero(sides.counts > 2)
    if len(crowded) == 0:
        return mate, 0
    if len(crowded) > MOST_CROWDED:
        raise UnreadablePart(
            f"more than two faces meet at {len(crowded)} edges: the file holds a tangle of surfaces",
            remedy="unite the bodies in the program that made the part, then export it again",
        )
    patch = _patches(faces, sides)
    angle, folds = np.full(3 * len(faces), -1.0), 0
    for around in _turned_about(vertices_mm, faces, sides, crowded, patch, angle):
        for p, q in _pairs(around, sides.forward, patch, at_edges):
            mate[p], mate[q] = q, p
            folds += int(angle[p] == angle[q])
        if (mate[around] < 0).any():
            ends = side_ends(faces, np.array(around[:1]))[0]
            raise UnreadablePart(
                "the windings of the faces that meet at an edge contradict each other near "
                + place_words(vertices_mm[ends].mean(axis=0)),
                remedy="unite the bodies in the program that made the part, then export it again",
            )
    return mate, folds


def _turned_about(
    vertices_mm: FloatArray, faces: IntArray, sides: Sides, crowded: IntArray, patch: IntArray, angles: FloatArray
) -> list[list[int]]:
    """The sides at each crowded edge, by the angle of their face about it, which is put down in `angles` (3·m,).

    Of faces at one angle those that close come first, the last patch of the file first, then those that open, the
    first patch first: so copies of one body lie within each other like bowls, everywhere in the same order.
    """
    edge = np.repeat(np.arange(len(crowded)), sides.counts[crowded])
    side = np.concatenate([sides.side[sides.start[e] : sides.start[e + 1]] for e in crowded.tolist()])
    face, k = np.divmod(side, 3)
    ends = np.sort(side_ends(faces, side), axis=1)
    along = vertices_mm[ends[:, 1]] - vertices_mm[ends[:, 0]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    axis = np.abs(along).argmin(axis=1)
    u = np.cross(along, np.eye(3)[axis])
    v = np.cross(along, u)
    apex = vertices_mm[faces[face, (k + 2) % 3]] - vertices_mm[ends[:, 0]]
    turn = np.arctan2(np.einsum("ij,ij->i", apex, v), np.einsum("ij,ij->i", apex, u)) / (2 * np.pi)
    angle = np.round(turn * ANGLE_STEPS) % ANGLE_STEPS
    angles[side] = angle
    closes = sides.forward[side]
    rank = np.where(closes, -patch[face], patch[face])
    order = np.lexsort((np.where(closes, -face, face), rank, ~closes, angle, edge))
    breaks = np.flatnonzero(np.diff(edge[order])) + 1
    return [part.tolist() for part in np.split(side[order], breaks)]


def _pairs(around: list[int], forward: BoolArray, patch: IntArray, at_edges: AtEdges) -> list[tuple[int, int]]:
    """Sides at one edge that go on in each other: within a patch first, then what is left."""
    by_patch: dict[int, list[int]] = {}
    for side in around:
        by_patch.setdefault(int(patch[side // 3]), []).append(side)
    pairs: list[tuple[int, int]] = []
    if len(by_patch) < len(around):
        for own in by_patch.values():
            if 2 * sum(bool(forward[side]) for side in own) == len(own):
                pairs += _bracketed(own, forward, last=-1)
    done = {side for pair in pairs for side in pair}
    left = [side for side in around if side not in done]
    return pairs + _bracketed(left, forward, last=-1 if at_edges is AtEdges.WITHIN else 0)


def _bracketed(around: list[int], forward: BoolArray, *, last: int) -> list[tuple[int, int]]:
    """Pairs of an opening and a closing side; none where they are not as many.

    `last` −1 closes the one opened last, 0 the one opened first.
    """
    depth, least, start = 0, 0, 0
    for n, side in enumerate(around):
        depth += -1 if forward[side] else 1
        if depth < least:
            least, start = depth, n + 1
    if depth != 0:
        return []
    opened: list[int] = []
    pairs = []
    for side in around[start:] + around[:start]:
        if forward[side]:
            pairs.append((opened.pop(last), side))
        else:
            opened.append(side)
    return pairs


def _own_points(
    vertices_mm: FloatArray, faces: IntArray, source_face: IntArray, mate: IntArray
) -> tuple[FloatArray, IntArray, IntArray, IntArray]:
    """Points for each run of faces about a point that hang together; edges that still coincide get a middle point."""
    corner = _corners(mate)
    _, first, point = np.unique(corner, return_index=True, return_inverse=True)
    vertices_mm, faces = vertices_mm[faces.ravel()[first]], point.reshape(-1, 3)
    sides = sides_of(faces)
    if (sides.counts <= 2).all():
        return vertices_mm, faces, source_face, mate
    at = np.repeat(sides.counts > 2, sides.counts)
    return _halved(vertices_mm, faces, source_face, mate, sides.side[at])


def _corners(mate: IntArray) -> IntArray:
    """The run (3·m,) of faces about its point that each corner belongs to."""
    side = np.arange(len(mate))
    following = side - side % 3 + (side + 1) % 3
    ahead = mate - mate % 3 + (mate + 1) % 3
    return _linked(np.concatenate([side, following]), np.concatenate([ahead, mate]), len(mate))[1]


def _halved(
    vertices_mm: FloatArray, faces: IntArray, source_face: IntArray, mate: IntArray, side: IntArray
) -> tuple[FloatArray, IntArray, IntArray, IntArray]:
    """The sides given, and with them their mates, cut in the middle: the point of each pair is its own."""
    middle = np.full(len(mate), -1, np.int64)
    pair, at = np.unique(np.minimum(side, mate[side]), return_inverse=True)
    middle[side] = len(vertices_mm) + at
    between = vertices_mm[side_ends(faces, pair)].mean(axis=1)
    cut = (middle.reshape(-1, 3) >= 0).any(axis=1)
    pieces = [
        piece for face in np.flatnonzero(cut) for piece in _cut_face(faces[face], middle[3 * face : 3 * face + 3])
    ]
    number = np.repeat(np.flatnonzero(cut), (middle.reshape(-1, 3) >= 0).sum(axis=1)[cut] + 1)
    fresh = np.concatenate([faces[~cut], np.array(pieces, np.int64).reshape(-1, 3)])
    source = np.concatenate([source_face[~cut], source_face[number]])
    vertices_mm = np.concatenate([vertices_mm, between])
    sides = sides_of(fresh)
    joined = np.full(3 * len(fresh), -1, np.int64)
    two = sides.start[:-1][sides.counts == 2]
    joined[sides.side[two]], joined[sides.side[two + 1]] = sides.side[two + 1], sides.side[two]
    return vertices_mm, fresh, source, joined


def _cut_face(face: IntArray, middle: IntArray) -> list[tuple[int, int, int]]:
    """A face with points in the middle of one to three sides (−1: none), as triangles."""
    ring = [int(point) for k in range(3) for point in (face[k], middle[k]) if point >= 0]
    if len(ring) == 6:
        a, p, b, q, c, r = ring
        return [(a, p, r), (p, b, q), (q, c, r), (p, q, r)]
    start = next(n for n, point in enumerate(ring) if point in middle)
    ring = ring[start:] + ring[:start]
    return [(ring[0], ring[n], ring[n + 1]) for n in range(1, len(ring) - 1)]
