"""Where a solid is thin between two opposed faces, found on lines along three axes."""

from dataclasses import dataclass

import numpy as np

from firstpour.surface.dexels import cut_dexels
from firstpour.values import FloatArray, Mesh, face_normals

OPPOSED_COSINE = float(np.cos(np.radians(30.0)))
"""Faces count as opposed when they are parallel to within this; a sharper edge than 30° counts as thin."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThinPlaces:
    """Thin places: both ends (k, 2, 3) on the surface, the thickness (k,) between, the area (k,) each stands for."""

    ends_mm: FloatArray
    thickness_mm: FloatArray
    area_mm2: FloatArray


def thin_places(mesh: Mesh, *, below_mm: float, pitch_mm: float) -> ThinPlaces:
    """Where the closed mesh is thinner than `below_mm`, on lines about `pitch_mm` apart.

    A face is looked at along that axis of the three which it faces most, so each place is counted once.

    Raises
    ------
    BadRequest, UnreadablePart
        As `surface.dexels.cut_dexels`.
    """
    normals = face_normals(mesh)
    size_mm = np.ptp(mesh.vertices_mm, axis=0)
    found = [_along(mesh, normals, axis, size_mm=size_mm, below_mm=below_mm, pitch_mm=pitch_mm) for axis in range(3)]
    return ThinPlaces(
        ends_mm=np.concatenate([places.ends_mm for places in found]),
        thickness_mm=np.concatenate([places.thickness_mm for places in found]),
        area_mm2=np.concatenate([places.area_mm2 for places in found]),
    )


def _along(
    mesh: Mesh, normals: FloatArray, axis: int, *, size_mm: FloatArray, below_mm: float, pitch_mm: float
) -> ThinPlaces:
    """Thin places of faces that face along one axis most."""
    across_mm = float(np.delete(size_mm, axis).max())
    resolution = max(16, round(across_mm / pitch_mm))
    dexels = cut_dexels(mesh, np.eye(3)[axis], resolution=resolution, margin=1)
    enter, leave = normals[dexels.face[0::2]], normals[dexels.face[1::2]]
    lean = np.abs(enter[:, axis])
    thickness_mm = (dexels.z_mm[1::2] - dexels.z_mm[0::2]) * lean
    opposed = np.einsum("ij,ij->i", enter, leave) < -OPPOSED_COSINE
    thin = np.flatnonzero(opposed & (thickness_mm < below_mm) & (np.argmax(np.abs(enter), axis=1) == axis))
    line = np.repeat(np.arange(len(dexels.offsets) - 1), np.diff(dexels.offsets))[0::2][thin]
    place = dexels.origin_mm + dexels.pitch_mm * np.column_stack([line % dexels.nx, line // dexels.nx])
    ends = [np.column_stack([place, dexels.z_mm[k::2][thin]]) @ dexels.frame for k in (0, 1)]
    return ThinPlaces(
        ends_mm=np.stack(ends, axis=1),
        thickness_mm=thickness_mm[thin],
        area_mm2=dexels.pitch_mm**2 / np.maximum(lean[thin], 0.5),
    )
