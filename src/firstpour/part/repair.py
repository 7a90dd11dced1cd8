"""Repair: a heap of triangles becomes one closed, outward-wound solid, or is refused with the place that is open.

The steps, each one a finding when it changes something: weld, drop faces without area, drop repeated faces, make
windings agree, weld open rims that nearly meet, fill small holes, part shells that only touch, drop flat scraps, turn
what is inside out, unite what overlaps, draw apart what touches along an edge.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from firstpour.errors import OpenMesh, UnreadablePart
from firstpour.part.bodies import settle_bodies
from firstpour.part.overlap import check_self_overlap
from firstpour.part.shells import crowd_balance
from firstpour.part.touching import part_touching
from firstpour.surface.sides import (
    Sides,
    flips_to_agree,
    open_rims,
    paired_faces,
    same_vertices,
    side_ends,
    sides_of,
)
from firstpour.values import BoolArray, Finding, FloatArray, IntArray, Mesh, Severity, place_words

RIM_GAP_RATIO = 1e-4
"""Open rims closer than this share of the part's diagonal are welded (our own limit)."""
HOLE_RIM_RATIO = 0.05
"""A hole is small when its rim is shorter than this share of the part's diagonal (our own limit),"""
HOLE_RIM_MOST_MM = 15.0
"""and shorter than this (our own limit)."""
FURTHEST_MM = 1e7
"""Coordinates beyond this are damage, not a part."""
PLACES = 3
"""How many open places an error names."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Repaired:
    """A closed mesh; `source_face` (m,) is each face's number in the file, −1 for one that a repair added."""

    mesh: Mesh
    source_face: IntArray
    bodies: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draft:
    """A mesh under repair."""

    vertices_mm: FloatArray
    faces: IntArray
    source_face: IntArray
    findings: tuple[Finding, ...] = ()

    def kept(self, keep: BoolArray) -> "Draft":
        """The draft with the chosen faces only."""
        return replace(self, faces=self.faces[keep], source_face=self.source_face[keep])

    def noting(self, code: str, what: str, remedy: str, *, severity: Severity = Severity.INFO) -> "Draft":
        """The draft with one more finding."""
        note = Finding(severity=severity, code=code, what=what, remedy=remedy)
        return replace(self, findings=(*self.findings, note))


def repair_mesh(vertices_mm: FloatArray, faces: IntArray) -> Repaired:
    """Close and tidy `faces` (m, 3) over `vertices_mm` (n, 3).

    Raises
    ------
    OpenMesh
        If edges stay open that are not small holes.
    UnreadablePart
        If there is no face, a coordinate is not a number, the surface is one-sided, encloses no volume, holds
        too many bodies, or passes through itself.

    >>> from firstpour.surface.solids import from_solid
    >>> import manifold3d
    >>> cube = from_solid(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    >>> inside_out = repair_mesh(cube.vertices_mm, cube.faces[:, ::-1])
    >>> [finding.code for finding in inside_out.findings]
    ['inside-out']
    """
    draft = _checked(vertices_mm, faces)
    draft = _drop_repeated(_drop_flat(_weld(draft)))
    draft = _agree(draft)
    draft = _close(draft)
    settled = settle_bodies(draft.vertices_mm, draft.faces, draft.source_face)
    parted = part_touching(settled.mesh)
    findings = draft.findings + settled.findings + parted.findings + check_self_overlap(parted.mesh)
    return Repaired(mesh=parted.mesh, source_face=settled.source_face, bodies=settled.bodies, findings=findings)


def _checked(vertices_mm: FloatArray, faces: IntArray) -> Draft:
    vertices_mm = np.asarray(vertices_mm, np.float64).reshape(-1, 3)
    faces = np.asarray(faces, np.int64).reshape(-1, 3)
    again = "export the part again; if it happens again, repair it in the program that made it"
    if len(faces) == 0:
        raise UnreadablePart("the file holds no faces", remedy="export the part as a mesh of triangles")
    if faces.min() < 0 or faces.max() >= len(vertices_mm):
        raise UnreadablePart(f"faces name points that are not among the file's {len(vertices_mm)}", remedy=again)
    bad = int((~np.isfinite(vertices_mm[faces]).all(axis=(1, 2))).sum())
    if bad:
        raise UnreadablePart(f"{bad} of {len(faces)} faces have coordinates that are not numbers", remedy=again)
    if np.abs(vertices_mm[faces]).max() > FURTHEST_MM:
        raise UnreadablePart(f"the part reaches beyond {FURTHEST_MM / 1e6:g} km", remedy=again)
    return Draft(vertices_mm=vertices_mm, faces=faces, source_face=np.arange(len(faces)))


def _weld(draft: Draft) -> Draft:
    """Give equal points one number. Files without shared points (three to a face) need it always: no finding."""
    first = same_vertices(draft.vertices_mm)
    welded = replace(draft, faces=first[draft.faces])
    joined = int((first != np.arange(len(first))).sum())
    if joined == 0 or len(draft.vertices_mm) == 3 * len(draft.faces):
        return welded
    return welded.noting("welded", f"{joined} repeated points were welded", "nothing to do")


def _drop_flat(draft: Draft) -> Draft:
    """Drop faces that name a point twice: they have no area and join nothing."""
    a, b, c = draft.faces.T
    flat = (a == b) | (b == c) | (c == a)
    if not flat.any():
        return draft
    if flat.all():
        raise UnreadablePart("none of the file's faces has an area", remedy="export the part again as a solid")
    what = f"{int(flat.sum())} faces without area were dropped"
    return draft.kept(~flat).noting("faces-without-area", what, "nothing to do")


def _drop_repeated(draft: Draft) -> Draft:
    """Drop what lies on other faces: whole surfaces that repeat others, then single faces, where that closes better.

    Two bodies that touch in a face have it twice, and it stays so: uniting them takes it away.
    """
    keep = _without_second_surfaces(draft.faces)
    if _open_edges(draft.faces[keep]):
        rest = np.flatnonzero(keep)
        keep = np.zeros(len(keep), np.bool_)
        keep[rest[_single_faces(draft.faces[rest])]] = True
    if keep.all():
        return draft
    what = f"{int((~keep).sum())} repeated faces were dropped"
    return draft.kept(keep).noting("repeated-faces", what, "nothing to do")


def _without_second_surfaces(faces: IntArray) -> BoolArray:
    """Which faces (m,) stay once each closed surface of repeated faces has lost its second, third, … copy.

    A closed surface less does not change how many faces meet at an edge, odd or even. Of the copies of a face the
    last one goes that is wound as most of them.
    """
    keep = np.ones(len(faces), np.bool_)
    while (sides_of(faces[keep]).counts > 2).any():
        here = np.flatnonzero(keep)
        group = _same_corners(faces[here])
        often = np.flatnonzero(np.bincount(group) >= 2)
        if len(often) == 0:
            break
        _, first = np.unique(group, return_index=True)
        one_each = faces[here[first[often]]]
        balance = np.bincount(group, weights=_turn_sign(faces[here]))[often]
        closed = often[_on_closed_surface(one_each)]
        if len(closed) == 0:
            break
        wound = np.zeros(int(group.max()) + 1)
        wound[often] = np.where(balance >= 0, 1.0, -1.0)
        goes = np.isin(group, closed) & (_turn_sign(faces[here]) == wound[group])
        last = np.zeros(int(group.max()) + 1, np.int64)
        np.maximum.at(last, group[goes], np.flatnonzero(goes))
        keep[here[last[closed]]] = False
    return keep


def _on_closed_surface(faces: IntArray) -> BoolArray:
    """Which faces (m,) hang together with faces that leave no edge open."""
    sides = sides_of(faces)
    face, edge = sides.side // 3, np.repeat(np.arange(len(sides.counts)), sides.counts)
    nodes = len(faces) + len(sides.counts)
    graph = coo_array((np.ones(len(face)), (face, len(faces) + edge)), shape=(nodes, nodes))
    count, label = connected_components(graph, directed=False)
    open_at = label[len(faces) + np.flatnonzero(sides.counts % 2 == 1)]
    closed: BoolArray = np.bincount(open_at, minlength=count)[label[: len(faces)]] == 0
    return closed


def _single_faces(faces: IntArray) -> BoolArray:
    """Which faces (m,) stay: of those on one another one, or none where they are back to back; or all, if best."""
    group = _same_corners(faces)
    _, first = np.unique(group, return_index=True)
    once = np.zeros(len(faces), np.bool_)
    once[first] = True
    single = once & (np.bincount(group, weights=_turn_sign(faces)) != 0)[group]
    ways = (np.ones(len(faces), np.bool_), single, once)
    return min(ways, key=lambda keep: (not keep.any(), _open_edges(faces[keep])))


def _same_corners(faces: IntArray) -> IntArray:
    """A number (m,) that faces with the same three points share."""
    corners = np.sort(faces, axis=1)
    order = np.lexsort(corners.T)
    fresh = np.append(True, (np.diff(corners[order], axis=0) != 0).any(axis=1))
    group = np.empty(len(order), np.int64)
    group[order] = np.cumsum(fresh) - 1
    return group


def _turn_sign(faces: IntArray) -> FloatArray:
    """+1 or −1 for each face: whether its points, from the lowest, go up or down in number."""
    _, b, c = np.take_along_axis(faces, (faces.argmin(axis=1)[:, None] + np.arange(3)) % 3, axis=1).T
    return np.where(b < c, 1.0, -1.0)


def _open_edges(faces: IntArray) -> int:
    return int((sides_of(faces).counts % 2).sum())


def _agree(draft: Draft) -> Draft:
    """Turn over faces that are wound against their neighbours."""
    sides = sides_of(draft.faces)
    p, q, agree = paired_faces(sides)
    flip, two_sided = flips_to_agree(p, q, agree, len(draft.faces))
    if two_sided and (sides.counts > 2).any():
        turned = np.where(flip[:, None], draft.faces[:, ::-1], draft.faces)
        more, other, same = crowd_balance(turned, sides_of(turned))
        agree = np.concatenate([agree, same ^ flip[more] ^ flip[other]])
        flip, two_sided = flips_to_agree(np.append(p, more), np.append(q, other), agree, len(draft.faces))
    if not two_sided:
        raise UnreadablePart(
            "the surface is one-sided: it has no inside that could be filled",
            remedy="model the part as a solid with an inside and an outside, then export it again",
        )
    if not flip.any():
        return draft
    turned = np.where(flip[:, None], draft.faces[:, ::-1], draft.faces)
    what = f"{int(flip.sum())} faces were wound against their neighbours and were turned over"
    return replace(draft, faces=turned).noting("winding", what, "nothing to do")


def _close(draft: Draft) -> Draft:
    """Weld rims that nearly meet, fill small holes, and refuse what then stays open."""
    sides = sides_of(draft.faces)
    if (sides.counts % 2 == 0).all():
        return draft
    size_mm = float(np.linalg.norm(np.ptp(draft.vertices_mm[np.unique(draft.faces)], axis=0)))
    draft = _weld_rims(draft, sides, gap_mm=RIM_GAP_RATIO * size_mm)
    sides = sides_of(draft.faces)
    longest_mm = min(HOLE_RIM_RATIO * size_mm, HOLE_RIM_MOST_MM)
    draft = _fill_holes(draft, sides, longest_mm=longest_mm)
    sides = sides_of(draft.faces)
    odd = sides.counts % 2 == 1
    if odd.any():
        _refuse_open(draft, sides, longest_mm)
    return draft


def _weld_rims(draft: Draft, sides: Sides, *, gap_mm: float) -> Draft:
    rim = np.unique(side_ends(draft.faces, sides.side[sides.start[:-1][sides.counts % 2 == 1]]))
    pairs = cKDTree(draft.vertices_mm[rim]).query_pairs(gap_mm, output_type="ndarray")
    if len(pairs) == 0:
        return draft
    graph = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(rim), len(rim)))
    _, label = connected_components(graph, directed=False)
    _, lowest = np.unique(label, return_index=True)
    target = np.arange(len(draft.vertices_mm))
    target[rim] = rim[lowest[label]]
    moved = int((target != np.arange(len(target))).sum())
    welded = replace(draft, faces=target[draft.faces]).noting(
        "rims-welded",
        f"{moved} points on open rims, less than {gap_mm:.3g} mm apart, were welded",
        "nothing to do",
    )
    return _agree(_drop_repeated(_drop_flat(welded)))


def _fill_holes(draft: Draft, sides: Sides, *, longest_mm: float) -> Draft:
    """Fill each small rim: three points with one face, more with a fan about their middle."""
    points, patches, filled = [draft.vertices_mm], [draft.faces], 0
    middle = len(draft.vertices_mm)
    for rim in open_rims(draft.faces, sides):
        loop_mm = draft.vertices_mm[rim]
        if np.linalg.norm(loop_mm - np.roll(loop_mm, 1, axis=0), axis=1).sum() > longest_mm:
            continue
        filled += 1
        if len(rim) == 3:
            patches.append(rim[None, :])
            continue
        points.append(loop_mm.mean(axis=0, keepdims=True))
        patches.append(np.stack([np.full(len(rim), middle), rim, np.roll(rim, -1)], axis=1))
        middle += 1
    if not filled:
        return draft
    faces = np.concatenate(patches)
    added = np.full(len(faces) - len(draft.faces), -1)
    source_face = np.concatenate([draft.source_face, added])
    closed = replace(draft, vertices_mm=np.concatenate(points), faces=faces, source_face=source_face)
    return closed.noting(
        "holes-filled",
        f"{filled} small holes (rim up to {longest_mm:.1f} mm) were filled with {len(added)} faces",
        "look at the part there: a hole that is meant needs walls",
        severity=Severity.WARNING,
    )


def _refuse_open(draft: Draft, sides: Sides, longest_mm: float) -> None:
    odd = sides.start[:-1][sides.counts % 2 == 1]
    places = _places(draft, side_ends(draft.faces, sides.side[odd]))
    raise OpenMesh(
        f"the surface is not closed: {len(odd)} open edges {places}",
        remedy="close it in the program that made it and export it again "
        f"(holes with a rim up to {longest_mm:.1f} mm are closed here)",
    )


def _places(draft: Draft, ends: IntArray) -> str:
    """Where the edges `ends` (n, 2) lie: the middle and extent of each connected run, largest first."""
    used, flat = np.unique(ends, return_inverse=True)
    p, q = flat.reshape(-1, 2).T
    count, label = connected_components(coo_array((np.ones(len(p)), (p, q)), shape=(len(used),) * 2), directed=False)
    runs = sorted(
        (draft.vertices_mm[used[label == run]] for run in np.argsort(-np.bincount(label))[:PLACES]),
        key=lambda run_mm: -float(np.ptp(run_mm, axis=0).max()),
    )
    named = [
        f"{place_words((low + high) / 2)}, {(high - low).max():.1f} mm across"
        for low, high in ((run_mm.min(axis=0), run_mm.max(axis=0)) for run_mm in runs)
    ]
    more = f"; and {count - len(named)} more places" if count > len(named) else ""
    return "around " + "; ".join(named) + more
