"""Shells as solids: each one by itself, and the one solid of all bodies less their voids."""

import manifold3d
import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.scraps import SCRAP_RATIO, diagonal_mm
from firstpour.part.shells import Shells, shells_of
from firstpour.values import BoolArray, IntArray

SAME_RATIO = 1e-9
"""Volumes that agree to this share are the same."""


def shell_solid(shells: Shells, shell: int) -> manifold3d.Manifold:
    """One shell as an outward solid of its own volume; its faces carry their numbers through the booleans.

    Raises
    ------
    UnreadablePart
        If it is no closed solid, or one of another volume.
    """
    chosen = np.flatnonzero(shells.shell == shell)
    faces = shells.faces[chosen] if shells.volumes_mm3[shell] > 0 else shells.faces[chosen][:, ::-1]
    used, local = np.unique(faces, return_inverse=True)
    numbers = (shells.source_face[chosen] + 1).astype(np.uint64)
    corners = local.reshape(-1, 3).astype(np.uint64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(shells.vertices_mm[used], corners, face_id=numbers))
    own_mm3 = abs(float(shells.volumes_mm3[shell]))
    sound = solid.status() == manifold3d.Error.NoError
    if not sound or abs(solid.volume() - own_mm3) > SAME_RATIO * max(own_mm3, diagonal_mm(shells) ** 3 * 1e-3):
        why = f"it encloses {own_mm3:.1f} mm³, made solid {solid.volume():.1f}" if sound else solid.status().name
        raise UnreadablePart(
            f"a body of {len(chosen)} faces in the file is not a closed solid ({why})",
            remedy="repair it in the program that made it, or give each body its own file",
        )
    return solid


def built_up(solids: list[manifold3d.Manifold], *, void: BoolArray, within: IntArray) -> manifold3d.Manifold:
    """Every body less its voids, united; `void` (n,) says what is one, `within` (n,) the body around it.

    Raises
    ------
    UnreadablePart
        If the bodies cannot be united.
    """
    bodies = []
    for body in np.flatnonzero(~void).tolist():
        voids = [solids[shell] for shell in np.flatnonzero(void & (within == body)).tolist()]
        bodies.append(combined([solids[body], *voids], manifold3d.OpType.Subtract))
    whole = combined(bodies, manifold3d.OpType.Add)
    volumes_mm3 = [body.volume() for body in bodies]
    slack_mm3 = SAME_RATIO * sum(volumes_mm3)
    if not max(volumes_mm3) - slack_mm3 <= whole.volume() <= sum(volumes_mm3) + slack_mm3:
        raise UnreadablePart(
            f"bodies of {sum(volumes_mm3):.1f} mm³ together could not be united into one solid",
            remedy="unite the bodies in the program that made the part, then export it again",
        )
    return whole


def combined(solids: list[manifold3d.Manifold], how: manifold3d.OpType) -> manifold3d.Manifold:
    """All solids in one; less the later ones where they are taken away."""
    return manifold3d.Manifold.batch_boolean(solids, how) if len(solids) > 1 else solids[0]


def union_shells(whole: manifold3d.Manifold) -> Shells:
    """The shells of a solid, crumbs of the booleans left out.

    Raises
    ------
    UnreadablePart
        If nothing is left of it.
    """
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
