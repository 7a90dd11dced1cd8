"""Parts of very many faces are worked on with fewer, and how far the surface moved is said."""

from dataclasses import replace

import numpy as np
from scipy.spatial import KDTree

from firstpour.part.part import Part
from firstpour.surface.solids import from_solid, to_solid
from firstpour.values import Finding, IntArray, Mesh, Severity, mesh_volume_mm3

MOST_FACES = 300_000
"""The stages take some 20 s of one core at so many (measured); more show nothing that a casting would."""
MOVES_MM = (0.001, 0.002, 0.005, 0.01, 0.02)
"""How far the surface may move, the least that is enough: below a tenth of what a layer or a pixel shows."""


def lighter(part: Part) -> Part:
    """The part with at most `MOST_FACES` faces, or as few as the largest of `MOVES_MM` leaves; with a finding.

    Points go, none are new; no place of the surface moves further than said (manifold3d's `simplify`). A face stands
    for the nearest of the faces before, by its middle: it takes its marks and its number in the file.
    """
    before = part.mesh
    if len(before.faces) <= MOST_FACES:
        return part
    solid = to_solid(before)
    for moved_mm in MOVES_MM:
        simpler = solid.simplify(moved_mm)
        if simpler.num_tri() <= MOST_FACES:
            break
    mesh = from_solid(simpler)
    nearest = _nearest(before, mesh)
    volumes_ml = (mesh_volume_mm3(before) / 1000.0, mesh_volume_mm3(mesh) / 1000.0)
    note = Finding(
        severity=Severity.INFO,
        code="fewer-faces",
        what=(
            f"{len(before.faces)} faces are worked on as {len(mesh.faces)}: no place of the surface moved further "
            f"than {moved_mm:g} mm, volume {volumes_ml[0]:.4g} ml before and {volumes_ml[1]:.4g} ml after"
        ),
        remedy="nothing to do; a part with fewer faces is planned sooner",
    )
    source = nearest if part.source_face is None else part.source_face[nearest]
    return replace(
        part, mesh=mesh, marks=part.marks[nearest], source_face=source, findings=(*part.findings, note),
        faces_read=len(before.faces) if part.faces_read is None else part.faces_read,
    )  # fmt: skip


def _nearest(before: Mesh, after: Mesh) -> IntArray:
    """For each face after, the face before whose middle is nearest to its middle: (m,)."""
    middles = (one.vertices_mm[one.faces].mean(axis=1) for one in (before, after))
    _, nearest = KDTree(next(middles), balanced_tree=False, compact_nodes=False).query(next(middles))
    found: IntArray = np.asarray(nearest, np.int64)
    return found
