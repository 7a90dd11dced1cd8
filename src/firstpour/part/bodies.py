"""Bodies: what the shells of a file are made into, one solid of bodies and their voids, and what is told of it."""

from dataclasses import dataclass

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.nest import boxes_meet, nest_of, refuse_hollow_across
from firstpour.part.scraps import drop_scraps
from firstpour.part.shell_solids import SAME_RATIO, built_up, shell_solid, union_shells
from firstpour.part.shells import AtEdges, Shells, shells_of
from firstpour.values import BoolArray, Finding, FloatArray, IntArray, Mesh, Severity

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
    shells, findings = drop_scraps(shells)
    _refuse_too_many(shells)
    if len(shells.volumes_mm3) > 1 and (boxes_meet(shells) or (shells.volumes_mm3 < 0).any()):
        solids = [shell_solid(shells, shell) for shell in range(len(shells.volumes_mm3))]
        nest = nest_of(shells, solids)
        turn = nest.turned
        shells, told = _turned(shells, turn)
        refuse_hollow_across(shells, solids, nest)
        shells, united = _united(shells, union_shells(built_up(solids, void=nest.void, within=nest.within)))
        told += united
    else:
        turn = shells.volumes_mm3 < 0
        shells, told = _turned(shells, turn)
    partly = bool(turn.any()) and not turn.all()
    return Made(shells=shells, findings=(*findings, *told), partly_turned=partly)


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


def _united(shells: Shells, united: Shells) -> tuple[Shells, list[Finding]]:
    """The shells once united, and what became of them; the same as before where it has the same volumes."""
    if len(united.volumes_mm3) == len(shells.volumes_mm3):
        before_mm3, after_mm3 = np.sort(shells.volumes_mm3), np.sort(united.volumes_mm3)
        if np.allclose(before_mm3, after_mm3, rtol=SAME_RATIO, atol=0):
            return shells, []
    return united, [_united_finding(shells, united)]


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
