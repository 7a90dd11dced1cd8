"""Measure a part: volume, area, size, thinnest wall."""

from dataclasses import dataclass

import numpy as np

from firstpour.part.part import Part
from firstpour.surface.dexels import cut_dexels
from firstpour.surface.sides import sides_of
from firstpour.values import (
    Finding,
    FloatArray,
    Mesh,
    Severity,
    face_areas_mm2,
    face_normals,
    mesh_bounds_mm,
    mesh_volume_mm3,
    place_words,
)

RESOLUTION = 192
"""Lines on the longer side, in each direction."""
SUPPORT = 6
"""Lines in one direction that must find a wall as thin before it counts: a single grazing line does not."""
ALONG_COS = 0.72
"""A line measures a wall within about 44° of its normals; of thirteen directions one is always within 28°."""
OPPOSED_COS = float(np.cos(np.radians(20.0)))
"""The two faces of a wall are within 20° of parallel: rounded rims and the edges of wedges are not walls."""
THIN_MM = 1.0
"""Below this a wall is hard to fill and to demould (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wall:
    """The thinnest wall found: an estimate, from lines `pitch_mm` apart."""

    thickness_mm: float
    pitch_mm: float
    place_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What a part measures; the thinnest wall is None where no two faces lie opposite."""

    faces: int
    watertight: bool
    bodies: int
    volume_mm3: float
    area_mm2: float
    size_mm: tuple[float, float, float]
    thinnest_wall_mm: float | None
    thinnest_wall_pitch_mm: float | None
    findings: tuple[Finding, ...]


def measure_part(part: Part) -> Measures:
    """All measures of a part, with its findings and those of the measuring."""
    mesh = part.mesh
    low, high = mesh_bounds_mm(mesh)
    wall = thinnest_wall(mesh)
    x_mm, y_mm, z_mm = (float(value) for value in high - low)
    return Measures(
        faces=len(mesh.faces),
        watertight=bool((sides_of(mesh.faces).counts == 2).all()),
        bodies=part.bodies,
        volume_mm3=mesh_volume_mm3(mesh),
        area_mm2=float(face_areas_mm2(mesh).sum()),
        size_mm=(x_mm, y_mm, z_mm),
        thinnest_wall_mm=wall.thickness_mm if wall else None,
        thinnest_wall_pitch_mm=wall.pitch_mm if wall else None,
        findings=part.findings + _wall_findings(wall),
    )


def thinnest_wall(mesh: Mesh) -> Wall | None:
    """Shortest way through the solid between two nearly parallel faces, over thirteen directions.

    A line that meets a wall at an angle runs longer through it by 1 ÷ the cosine, so its length is multiplied by
    the cosine. An estimate of our own: up to 6 % low where a wall curves, and a thin spot narrower than a few pitches
    may be missed.
    """
    normals = face_normals(mesh)
    walls = [_wall_along(mesh, normals, direction) for direction in _directions()]
    return min((wall for wall in walls if wall), key=lambda wall: wall.thickness_mm, default=None)


def _directions() -> FloatArray:
    """The axes, the diagonals of the faces and those of the space of a cube: (13, 3)."""
    steps = np.stack(np.meshgrid(*[np.arange(-1.0, 2.0)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    return steps[14:]


def _wall_along(mesh: Mesh, normals: FloatArray, direction: FloatArray) -> Wall | None:
    dexels = cut_dexels(mesh, direction, resolution=RESOLUTION)
    first, last = normals[dexels.face[0::2]], normals[dexels.face[1::2]]
    entry_cos, exit_cos = -(first @ dexels.frame[2]), last @ dexels.frame[2]
    facing = -np.einsum("ij,ij->i", first, last) >= OPPOSED_COS
    wall = np.flatnonzero(facing & (entry_cos >= ALONG_COS) & (exit_cos >= ALONG_COS))
    if len(wall) < SUPPORT:
        return None
    lengths_mm = dexels.z_mm[1::2][wall] - dexels.z_mm[0::2][wall]
    thickness_mm = lengths_mm * 0.5 * (entry_cos[wall] + exit_cos[wall])
    pick = int(np.argpartition(thickness_mm, SUPPORT - 1)[SUPPORT - 1])
    line = int(np.searchsorted(dexels.offsets, 2 * wall[pick], side="right")) - 1
    middle_mm = dexels.point_mm(line, float(dexels.z_mm[2 * wall[pick]] + 0.5 * lengths_mm[pick]))
    return Wall(thickness_mm=float(thickness_mm[pick]), pitch_mm=dexels.pitch_mm, place_mm=middle_mm)


def _wall_findings(wall: Wall | None) -> tuple[Finding, ...]:
    if wall is None or wall.thickness_mm >= THIN_MM:
        return ()
    return (
        Finding(
            severity=Severity.WARNING,
            code="thin-wall",
            what=f"the thinnest wall is about {wall.thickness_mm:.2f} mm",
            remedy=f"thicken it to {THIN_MM:g} mm or more: thin walls fill badly and tear when demoulded",
            where=place_words(wall.place_mm),
        ),
    )
