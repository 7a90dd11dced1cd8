"""Bodies: which shells of a closed surface are solid, which are voids, and one solid of those that overlap."""

from dataclasses import dataclass
from itertools import groupby

import manifold3d
import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.surface.sides import shells_of, sides_of
from firstpour.values import Finding, FloatArray, IntArray, Mesh, Severity

SCRAP_RATIO = 1e-9
"""A shell with less than this share of the largest one's volume is a flat scrap."""
FLAT_RATIO = 1e-9
"""A part with less than this share of its diagonal cubed has no volume."""
SAME_RATIO = 1e-9
"""Uniting changed nothing if the volume is the same to this share."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """One solid: `bodies` separate pieces; `source_face` (m,) as it came in."""

    mesh: Mesh
    source_face: IntArray
    bodies: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shells:
    """Closed faces with the shell that each belongs to, and each shell's signed volume in mm³."""

    vertices_mm: FloatArray
    faces: IntArray
    source_face: IntArray
    shell: IntArray
    volumes_mm3: FloatArray


def settle_bodies(vertices_mm: FloatArray, faces: IntArray, source_face: IntArray) -> Settled:
    """Turn shells outward, keep voids, unite overlaps, drop scraps.

    A shell wound inward that lies inside a body is a void; anywhere else it was exported inside out.

    Raises
    ------
    UnreadablePart
        If the surface encloses no volume or no solid can be made of it.
    """
    shells, findings = _drop_scraps(_shells(vertices_mm, faces, source_face))
    shells, turned = _turn_outward(shells)
    findings += turned
    if len(shells.volumes_mm3) > 1 and (_boxes_meet(shells) or (shells.volumes_mm3 < 0).any()):
        shells, united = _unite(shells)
        findings += united
    bodies = int((shells.volumes_mm3 > 0).sum())
    voids_mm3 = -shells.volumes_mm3[shells.volumes_mm3 < 0]
    findings += _body_findings(bodies, voids_mm3)
    mesh = _compact(shells.vertices_mm, shells.faces)
    return Settled(mesh=mesh, source_face=shells.source_face, bodies=bodies, findings=tuple(findings))


def _shells(vertices_mm: FloatArray, faces: IntArray, source_face: IntArray) -> Shells:
    count, shell = shells_of(vertices_mm, faces, sides_of(faces))
    a, b, c = (vertices_mm[faces[:, k]] - vertices_mm[faces[0, 0]] for k in range(3))
    sixfold = np.einsum("ij,ij->i", a, np.cross(b, c))
    volumes_mm3 = np.bincount(shell, weights=sixfold, minlength=count) / 6.0
    return Shells(vertices_mm=vertices_mm, faces=faces, source_face=source_face, shell=shell, volumes_mm3=volumes_mm3)


def _drop_scraps(shells: Shells) -> tuple[Shells, list[Finding]]:
    sizes = np.abs(shells.volumes_mm3)
    diagonal_mm = float(np.linalg.norm(np.ptp(shells.vertices_mm[np.unique(shells.faces)], axis=0)))
    if sizes.max() <= FLAT_RATIO * diagonal_mm**3:
        raise UnreadablePart(
            f"the part encloses no volume ({sizes.max():.3g} mm³)",
            remedy="give the part a thickness and export it again as a solid",
        )
    scrap = sizes <= SCRAP_RATIO * sizes.max()
    if not scrap.any():
        return shells, []
    keep = ~scrap[shells.shell]
    what = f"{int(scrap.sum())} flat scraps ({int((~keep).sum())} faces) without volume were dropped"
    rest = _shells(shells.vertices_mm, shells.faces[keep], shells.source_face[keep])
    return rest, [Finding(severity=Severity.INFO, code="scraps", what=what, remedy="nothing to do")]


def _turn_outward(shells: Shells) -> tuple[Shells, list[Finding]]:
    """Turn the whole surface if it is inside out as a whole; voids stay voids by that."""
    if shells.volumes_mm3.sum() > 0:
        return shells, []
    turned = _shells(shells.vertices_mm, shells.faces[:, ::-1], shells.source_face)
    return turned, [
        Finding(
            severity=Severity.WARNING,
            code="inside-out",
            what="the surface was inside out and was turned over",
            remedy="nothing to do; look at the part if it was meant as a hollow",
        )
    ]


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


def _unite(shells: Shells) -> tuple[Shells, list[Finding]]:
    """One solid of all shells: bodies united, voids cut out, misturned bodies turned."""
    whole, misturned = _built_up(shells)
    findings = []
    if misturned:
        what = f"{misturned} bodies were inside out and were turned over"
        findings.append(Finding(severity=Severity.WARNING, code="inside-out", what=what, remedy="nothing to do"))
    united = _from_union(whole)
    if len(united.volumes_mm3) == len(shells.volumes_mm3):
        before_mm3, after_mm3 = np.sort(np.abs(shells.volumes_mm3)), np.sort(np.abs(united.volumes_mm3))
        if np.allclose(before_mm3, after_mm3, rtol=SAME_RATIO, atol=0):
            return (united if misturned else shells), findings
    findings.append(_united_finding(shells, united))
    return united, findings


def _built_up(shells: Shells) -> tuple[manifold3d.Manifold, int]:
    """The solid from the largest shell to the smallest, so that what lies inside another comes after it.

    Also how many shells were wound inward without lying inside a body: those are bodies turned inside out.
    """
    order = np.argsort(-np.abs(shells.volumes_mm3), kind="stable")
    whole, misturned = manifold3d.Manifold(), 0
    for inward, run in groupby(order.tolist(), key=lambda shell: shells.volumes_mm3[shell] < 0):
        solids = [_solid(shells, shell) for shell in run]
        voids = [solid for solid in solids if inward and (whole ^ solid).volume() > 0.5 * solid.volume()]
        bodies = [solid for solid in solids if not any(solid is void for void in voids)]
        misturned += len(bodies) if inward else 0
        whole = _combined([whole, *bodies], manifold3d.OpType.Add)
        whole = _combined([whole, *voids], manifold3d.OpType.Subtract)
    return whole, misturned


def _combined(solids: list[manifold3d.Manifold], how: manifold3d.OpType) -> manifold3d.Manifold:
    return manifold3d.Manifold.batch_boolean(solids, how) if len(solids) > 1 else solids[0]


def _solid(shells: Shells, shell: int) -> manifold3d.Manifold:
    """One shell as an outward solid; its faces carry their numbers through the booleans."""
    chosen = np.flatnonzero(shells.shell == shell)
    faces = shells.faces[chosen] if shells.volumes_mm3[shell] > 0 else shells.faces[chosen][:, ::-1]
    used, local = np.unique(faces, return_inverse=True)
    numbers = (shells.source_face[chosen] + 1).astype(np.uint64)
    corners = local.reshape(-1, 3).astype(np.uint64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(shells.vertices_mm[used], corners, face_id=numbers))
    if solid.status() != manifold3d.Error.NoError:
        raise UnreadablePart(
            f"a body of {len(chosen)} faces in the file is not a closed solid ({solid.status().name})",
            remedy="repair it in the program that made it, or give each body its own file",
        )
    return solid


def _from_union(whole: manifold3d.Manifold) -> Shells:
    raw = whole.to_mesh64()
    vertices_mm = np.asarray(raw.vert_properties)[:, :3].copy()
    merged = np.arange(len(vertices_mm))
    merged[np.asarray(raw.merge_from_vert, np.int64)] = np.asarray(raw.merge_to_vert, np.int64)
    faces = merged[np.asarray(raw.tri_verts).astype(np.int64)]
    return _shells(vertices_mm, faces, np.asarray(raw.face_id).astype(np.int64) - 1)


def _united_finding(before: Shells, after: Shells) -> Finding:
    bodies = [int((shells.volumes_mm3 > 0).sum()) for shells in (before, after)]
    volumes_mm3 = [float(shells.volumes_mm3.sum()) for shells in (before, after)]
    return Finding(
        severity=Severity.WARNING,
        code="bodies-united",
        what=f"bodies overlapped: {bodies[0]} were united into {bodies[1]}; "
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
