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
    whole = _united(bodies)
    volumes_mm3 = [body.volume() for body in bodies]
    slack_mm3 = SAME_RATIO * sum(volumes_mm3)
    if whole is None or not max(volumes_mm3) - slack_mm3 <= whole.volume() <= sum(volumes_mm3) + slack_mm3:
        raise UnreadablePart(
            f"bodies of {sum(volumes_mm3):.1f} mm³ together could not be united into one solid",
            remedy="unite the bodies in the program that made the part, then export it again",
        )
    return whole


def _united(bodies: list[manifold3d.Manifold]) -> manifold3d.Manifold | None:
    """All bodies in one solid, two and two; None where one of the unions does not hold all of both.

    A union of bodies that share planes may fold over itself, and the fold counts against its volume: one of 61,916.7
    mm³ for 62,000 in ten of 90,910 arrangements of boxes. Union and intersection must hold as much as the two bodies;
    where they do not, another order is tried.
    """
    by_size = sorted(bodies, key=lambda body: body.volume())
    for order in (bodies, by_size[::-1], by_size, bodies[::-1]):
        left: list[manifold3d.Manifold] = list(order)
        while len(left) > 1:
            pairs = [_both(*left[n : n + 2]) for n in range(0, len(left) - 1, 2)]
            if any(pair is None for pair in pairs):
                break
            left = [pair for pair in pairs if pair is not None] + left[2 * len(pairs) :]
        else:
            return left[0]
    return None


def _both(one: manifold3d.Manifold, other: manifold3d.Manifold) -> manifold3d.Manifold | None:
    """The two united, if that with what they share holds as much as both."""
    whole, volumes_mm3 = one + other, one.volume() + other.volume()
    lost_mm3 = volumes_mm3 - whole.volume() - (one ^ other).volume()
    return whole if abs(lost_mm3) <= SAME_RATIO * volumes_mm3 else None


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
