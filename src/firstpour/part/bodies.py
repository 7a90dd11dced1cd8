"""Bodies: which shells of a closed surface are solid, which are voids, and one solid of those that overlap.

A shell by itself says little: how it lies within others does. The outermost shells are bodies, whichever way they
were exported. Inside, a shell that is wound against its outermost one bounds a void; one wound like it a body,
modelled twice or standing in a void. A void belongs to the body right around it, so another body may fill it. That is
where the winding number of the whole is one or more.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.shells import AtEdges, Shells, shells_of
from firstpour.values import BoolArray, Finding, FloatArray, IntArray, Mesh, Severity, place_words

SCRAP_RATIO = 1e-9
"""A shell with less than this share of the largest one's volume is a flat scrap."""
SMALL_RATIO = 1e-6
"""A scrap with less than this share of the area is nothing; one thinner than this share of the diagonal is flat."""
FLAT_RATIO = 1e-9
"""A part with less than this share of its diagonal cubed has no volume."""
SAME_RATIO = 1e-9
"""Volumes that agree to this share are the same."""
MOST_SHELLS = 2000
"""Most bodies and voids of one part: beyond it nobody casts it (our own limit)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """One solid: `bodies` separate pieces; `source_face` (m,) as it came in."""

    mesh: Mesh
    source_face: IntArray
    bodies: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """What was made of the shells of a file; `partly_turned`: some were inside out, others not."""

    shells: Shells
    findings: tuple[Finding, ...]
    partly_turned: bool

    @property
    def hollow(self) -> bool:
        """Whether it has a void."""
        return bool((self.shells.volumes_mm3 < 0).any())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nest:
    """What each shell is: `within` (n,) the shell right around it, −1 for none; `void`, `turned` (n,) bool."""

    within: IntArray
    void: BoolArray
    turned: BoolArray


def settle_bodies(vertices_mm: FloatArray, faces: IntArray, source_face: IntArray) -> Settled:
    """Turn shells outward, keep voids, unite overlaps, drop scraps.

    Raises
    ------
    UnreadablePart
        If the surface encloses no volume, no solid can be made of it, or it cannot be told what a shell is.
    """
    found = shells_of(vertices_mm, faces, source_face)
    made = _made(found)
    if made.partly_turned and found.folds + found.crowded * made.hollow > 0:
        # Bodies wound unlike each other lie on one another: what seemed to lie within goes across.
        found = shells_of(vertices_mm, faces, source_face, at_edges=AtEdges.ACROSS)
        made = _made(found)
        if found.folds > 0 or made.hollow:
            raise UnreadablePart(
                "bodies wound unlike each other lie on one another in faces: it cannot be told which is solid",
                remedy="unite the bodies in the program that made the part, then export it again",
            )
    shells, findings = made.shells, list(made.findings)
    bodies = int((shells.volumes_mm3 > 0).sum())
    findings += _body_findings(bodies, -shells.volumes_mm3[shells.volumes_mm3 < 0])
    mesh = _compact(shells.vertices_mm, shells.faces)
    return Settled(mesh=mesh, source_face=shells.source_face, bodies=bodies, findings=tuple(findings))


def _made(shells: Shells) -> Made:
    """Scraps dropped, every shell wound as it should be, overlaps united."""
    shells, findings = _drop_scraps(shells)
    _refuse_too_many(shells)
    if len(shells.volumes_mm3) > 1 and (_boxes_meet(shells) or (shells.volumes_mm3 < 0).any()):
        solids = [_solid(shells, shell) for shell in range(len(shells.volumes_mm3))]
        nest = _nest(shells, solids)
        turn = nest.turned
        shells, told = _turned(shells, turn)
        _refuse_hollow_across(shells, solids, nest)
        shells, united = _united(shells, _built_up(solids, nest))
        told += united
    else:
        turn = shells.volumes_mm3 < 0
        shells, told = _turned(shells, turn)
    partly = bool(turn.any()) and not turn.all()
    return Made(shells=shells, findings=(*findings, *told), partly_turned=partly)


def _drop_scraps(shells: Shells) -> tuple[Shells, list[Finding]]:
    sizes = np.abs(shells.volumes_mm3)
    diagonal_mm = _diagonal_mm(shells)
    if sizes.max() <= FLAT_RATIO * diagonal_mm**3:
        raise UnreadablePart(
            f"the part encloses no volume ({sizes.max():.3g} mm³)",
            remedy="give the part a thickness and export it again as a solid",
        )
    scrap = sizes <= SCRAP_RATIO * sizes.max()
    if not scrap.any():
        return shells, []
    _refuse_cancelled(shells, scrap, diagonal_mm)
    rest = shells.kept(~scrap)
    dropped = len(shells.faces) - len(rest.faces)
    what = f"{int(scrap.sum())} flat scraps ({dropped} faces, {sizes[scrap].sum():.2g} mm³) were dropped"
    return rest, [Finding(severity=Severity.INFO, code="scraps", what=what, remedy="nothing to do")]


def _refuse_cancelled(shells: Shells, scrap: BoolArray, diagonal_mm: float) -> None:
    """A scrap must be flat, small, or a sheet with two sides: else bodies wound unlike each other cancel in it."""
    a, b, c = (shells.vertices_mm[shells.faces[:, k]] for k in range(3))
    areas_mm2 = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    area_mm2 = np.bincount(shells.shell, weights=areas_mm2, minlength=len(scrap))
    for shell in np.flatnonzero(scrap & (area_mm2 > SMALL_RATIO * area_mm2.sum())).tolist():
        corners_mm = shells.vertices_mm[shells.faces[shells.shell == shell]]
        points_mm = corners_mm.reshape(-1, 3)
        _, spread, _ = np.linalg.svd(points_mm - points_mm.mean(axis=0), full_matrices=False)
        if spread[2] <= SMALL_RATIO * diagonal_mm * len(points_mm) ** 0.5 or _two_sided(corners_mm):
            continue
        raise UnreadablePart(
            f"{len(corners_mm)} faces around {place_words(points_mm.mean(axis=0))} enclose as much inside out as "
            "outward: it cannot be told which is solid",
            remedy="unite the bodies in the program that made the part, then export it again",
        )


def _two_sided(corners_mm: FloatArray) -> bool:
    """Whether every face (m, 3, 3) has another one on it."""
    _, point = np.unique(corners_mm.reshape(-1, 3), axis=0, return_inverse=True)
    _, often = np.unique(np.sort(point.reshape(-1, 3), axis=1), axis=0, return_counts=True)
    return bool((often >= 2).all())


def _diagonal_mm(shells: Shells) -> float:
    return float(np.linalg.norm(np.ptp(shells.vertices_mm[np.unique(shells.faces)], axis=0)))


def _refuse_too_many(shells: Shells) -> None:
    count = len(shells.volumes_mm3)
    if count > MOST_SHELLS:
        raise UnreadablePart(
            f"the file holds {count} separate bodies and voids; up to {MOST_SHELLS} are read",
            remedy="keep only the bodies that are to be cast, or join them, and export again",
        )


def _turned(shells: Shells, turn: BoolArray) -> tuple[Shells, list[Finding]]:
    """The shells of `turn` (n,) turned over, and a finding that says so."""
    if not turn.any():
        return shells, []
    flip = turn[shells.shell]
    faces = np.where(flip[:, None], shells.faces[:, ::-1], shells.faces)
    over = Shells(
        vertices_mm=shells.vertices_mm,
        faces=faces,
        source_face=shells.source_face,
        shell=shells.shell,
        volumes_mm3=np.where(turn, -shells.volumes_mm3, shells.volumes_mm3),
    )
    what = (
        "the surface was inside out and was turned over"
        if turn.all()
        else f"{int(turn.sum())} of {len(turn)} shells were inside out and were turned over"
    )
    what += f"; the volume went from {shells.volumes_mm3.sum():.1f} to {over.volumes_mm3.sum():.1f} mm³"
    remedy = "nothing to do; look at the part if it was meant as a hollow"
    return over, [Finding(severity=Severity.WARNING, code="inside-out", what=what, remedy=remedy)]


def _boxes_meet(shells: Shells) -> bool:
    """Whether the boxes around any two shells touch."""
    low, high = _boxes(shells)
    order = np.argsort(low[:, 0])
    low, high = low[order], high[order]
    for k in range(len(low) - 1):
        last = int(np.searchsorted(low[:, 0], high[k, 0], side="right"))
        later = slice(k + 1, last)
        if ((low[later] <= high[k]) & (low[k] <= high[later])).all(axis=1).any():
            return True
    return False


def _boxes(shells: Shells) -> tuple[FloatArray, FloatArray]:
    count = len(shells.volumes_mm3)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for k in range(3):
        np.minimum.at(low, shells.shell, shells.vertices_mm[shells.faces[:, k]])
        np.maximum.at(high, shells.shell, shells.vertices_mm[shells.faces[:, k]])
    return low, high


def _united(shells: Shells, whole: manifold3d.Manifold) -> tuple[Shells, list[Finding]]:
    """The shells of the whole, and what became of them; the same as before where it has the same volumes."""
    united = _from_union(whole)
    if len(united.volumes_mm3) == len(shells.volumes_mm3):
        before_mm3, after_mm3 = np.sort(shells.volumes_mm3), np.sort(united.volumes_mm3)
        if np.allclose(before_mm3, after_mm3, rtol=SAME_RATIO, atol=0):
            return shells, []
    return united, [_united_finding(shells, united)]


def _nest(shells: Shells, solids: list[manifold3d.Manifold]) -> Nest:
    """What each shell is, from the largest to the smallest: what is around another comes before it."""
    count = len(solids)
    within, void, turned = np.full(count, -1), np.zeros(count, np.bool_), np.zeros(count, np.bool_)
    inward = shells.volumes_mm3 < 0
    if inward.any():
        order = np.argsort(-np.abs(shells.volumes_mm3), kind="stable")
        within = _right_around(shells, solids, order)
        for shell in order.tolist():
            around = int(within[shell])
            against = bool(inward[shell]) != (around >= 0 and bool(turned[around]))
            void[shell] = against and around >= 0
            turned[shell] = bool(inward[shell]) != bool(void[shell])
        for shell in order.tolist():
            if void[shell] and void[within[shell]]:
                within[shell] = within[within[shell]]
    return Nest(within=within, void=void, turned=turned)


def _right_around(shells: Shells, solids: list[manifold3d.Manifold], order: IntArray) -> IntArray:
    """The smallest shell that each shell (n,) lies wholly within, −1 for none."""
    low, high = _boxes(shells)
    within = np.full(len(solids), -1)
    for n, outer in enumerate(order.tolist()):
        later = order[n + 1 :]
        boxed = later[((low[outer] <= low[later]) & (high[later] <= high[outer])).all(axis=1)]
        if len(boxed) and _all_inside(solids[outer], [solids[inner] for inner in boxed]):
            within[boxed] = outer
            continue
        for inner in boxed.tolist():
            if _all_inside(solids[outer], [solids[inner]]):
                within[inner] = outer
    return within


def _all_inside(outer: manifold3d.Manifold, inner: list[manifold3d.Manifold]) -> bool:
    """Whether the outer solid holds every inner one wholly."""
    both = _combined(inner, manifold3d.OpType.Add)
    return bool((outer ^ both).volume() >= (1.0 - SAME_RATIO) * both.volume())


def _refuse_hollow_across(shells: Shells, solids: list[manifold3d.Manifold], nest: Nest) -> None:
    """A shell turned over that the other bodies hold together, but none alone: hollow or body, nobody can tell."""
    doubtful = nest.turned & (nest.within < 0)
    if not doubtful.any() or doubtful.all():
        return
    sound = [solids[shell] for shell in np.flatnonzero(~nest.void & ~doubtful).tolist()]
    for shell in np.flatnonzero(doubtful).tolist():
        if sound and _all_inside(_combined(sound, manifold3d.OpType.Add), [solids[shell]]):
            low, high = (corner[shell] for corner in _boxes(shells))
            raise UnreadablePart(
                f"a shell wound inward around {place_words((low + high) / 2)} lies across several bodies: "
                "it cannot be told whether it is a hollow",
                remedy="unite the bodies in the program that made the part, then export it again",
            )


def _built_up(solids: list[manifold3d.Manifold], nest: Nest) -> manifold3d.Manifold:
    """Every body less its voids, united."""
    bodies = []
    for body in np.flatnonzero(~nest.void).tolist():
        voids = [solids[shell] for shell in np.flatnonzero(nest.void & (nest.within == body)).tolist()]
        bodies.append(_combined([solids[body], *voids], manifold3d.OpType.Subtract))
    whole = _combined(bodies, manifold3d.OpType.Add)
    volumes_mm3 = [body.volume() for body in bodies]
    slack_mm3 = SAME_RATIO * sum(volumes_mm3)
    if not max(volumes_mm3) - slack_mm3 <= whole.volume() <= sum(volumes_mm3) + slack_mm3:
        raise UnreadablePart(
            f"bodies of {sum(volumes_mm3):.1f} mm³ together could not be united into one solid",
            remedy="unite the bodies in the program that made the part, then export it again",
        )
    return whole


def _combined(solids: list[manifold3d.Manifold], how: manifold3d.OpType) -> manifold3d.Manifold:
    return manifold3d.Manifold.batch_boolean(solids, how) if len(solids) > 1 else solids[0]


def _solid(shells: Shells, shell: int) -> manifold3d.Manifold:
    """One shell as an outward solid of its own volume; its faces carry their numbers through the booleans."""
    chosen = np.flatnonzero(shells.shell == shell)
    faces = shells.faces[chosen] if shells.volumes_mm3[shell] > 0 else shells.faces[chosen][:, ::-1]
    used, local = np.unique(faces, return_inverse=True)
    numbers = (shells.source_face[chosen] + 1).astype(np.uint64)
    corners = local.reshape(-1, 3).astype(np.uint64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(shells.vertices_mm[used], corners, face_id=numbers))
    own_mm3 = abs(float(shells.volumes_mm3[shell]))
    sound = solid.status() == manifold3d.Error.NoError
    if not sound or abs(solid.volume() - own_mm3) > SAME_RATIO * max(own_mm3, _diagonal_mm(shells) ** 3 * 1e-3):
        why = f"it encloses {own_mm3:.1f} mm³, made solid {solid.volume():.1f}" if sound else solid.status().name
        raise UnreadablePart(
            f"a body of {len(chosen)} faces in the file is not a closed solid ({why})",
            remedy="repair it in the program that made it, or give each body its own file",
        )
    return solid


def _from_union(whole: manifold3d.Manifold) -> Shells:
    raw = whole.to_mesh64()
    vertices_mm = np.asarray(raw.vert_properties)[:, :3].copy()
    merged = np.arange(len(vertices_mm))
    merged[np.asarray(raw.merge_from_vert, np.int64)] = np.asarray(raw.merge_to_vert, np.int64)
    faces = merged[np.asarray(raw.tri_verts).astype(np.int64)]
    if len(faces) == 0:
        raise UnreadablePart(
            "nothing is left of the part once its hollows are taken out",
            remedy="look at its bodies in the program that made it",
        )
    united = shells_of(vertices_mm, faces, np.asarray(raw.face_id).astype(np.int64) - 1)
    sizes = np.abs(united.volumes_mm3)
    return united.kept(sizes > SCRAP_RATIO * sizes.max())


def _united_finding(before: Shells, after: Shells) -> Finding:
    bodies = [int((shells.volumes_mm3 > 0).sum()) for shells in (before, after)]
    volumes_mm3 = [float(shells.volumes_mm3.sum()) for shells in (before, after)]
    return Finding(
        severity=Severity.WARNING,
        code="bodies-united",
        what=f"bodies overlapped or touched: {bodies[0]} were united into {bodies[1]}; "
        f"the volume went from {volumes_mm3[0]:.1f} to {volumes_mm3[1]:.1f} mm³",
        remedy="nothing to do; if one of them was meant as a hollow inside another, turn it inside out in the model",
    )


def _body_findings(bodies: int, voids_mm3: FloatArray) -> list[Finding]:
    findings = []
    if bodies > 1:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="several-bodies",
                what=f"the part is {bodies} separate bodies",
                remedy="join them, or give each its own file: a mould fills one body from one gate",
            )
        )
    if len(voids_mm3):
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="enclosed-void",
                what=f"{len(voids_mm3)} enclosed voids ({voids_mm3.sum():.1f} mm³) can never be cast",
                remedy="fill them in the model, or open them to the outside: silicone cannot get in or out",
            )
        )
    return findings


def _compact(vertices_mm: FloatArray, faces: IntArray) -> Mesh:
    used, local = np.unique(faces, return_inverse=True)
    return Mesh(vertices_mm=vertices_mm[used], faces=local.reshape(-1, 3))
