"""Faces that must go to one half together, because a parting surface cannot pass between them.

Seen along the draw, silicone between two faces that look at each other lies inside the part's outline, and a surface
that is a height over the plane across the draw cannot part it from both ends. So both faces go to the same half, and
so do those just beside that outline, so that the surface finds room between the seams on both (decision 0078). On one
line along the draw what belongs to the upper half lies over what belongs to the lower.
"""

from dataclasses import dataclass

import numpy as np

from firstpour.kernels.facing import facing_faces
from firstpour.parting.undercut import VERTICAL_COSINE
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, face_areas_mm2, face_centres_mm, face_normals

LINES = 320
"""Lines a side on which facing faces are looked for."""
GAP_RATIO = 0.006
"""Room between two seams seen along the draw, as a share of the part's size (our own choice)."""
OFF_PIXELS = 1.5
"""So far off a vertical face the void beside it is looked for."""
ALONG = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ties:
    """`pairs` (k, 2): faces that go to one half, and over what plan area; `stacked` (s, 2): faces of which the first
    goes to the upper half only with the second, and an area; `near` (m,): faces that lie or stand beside a void."""

    pairs: IntArray
    pairs_mm2: FloatArray
    stacked: IntArray
    stacked_mm2: FloatArray
    near: BoolArray


def find_ties(mesh: Mesh) -> Ties:
    """The ties of a mesh in the frame of the draw; none where no part of it lies over another."""
    dexels = cut_dexels(mesh, ALONG, resolution=LINES, margin=1)
    gap_mm = GAP_RATIO * float(np.ptp(mesh.vertices_mm, axis=0).max())
    reach = max(1, int(np.ceil(gap_mm / dexels.pitch_mm)))
    facing = facing_faces(dexels.offsets, dexels.z_mm, dexels.face.astype(np.int64), dexels.nx, dexels.ny, reach)
    counts = np.diff(dexels.offsets)
    over = np.repeat(counts >= 4, counts)
    through = np.column_stack([dexels.face[over][0::2], dexels.face[over][1::2]]).astype(np.int64)
    pairs, pairs_mm2 = _counted(np.sort(facing, axis=1), dexels.pitch_mm**2)
    solid, solid_mm2 = _counted(through, dexels.pitch_mm**2)
    beside, beside_mm2, near = _walls(mesh, dexels, reach=reach)
    near[pairs] = True
    return Ties(
        pairs=pairs,
        pairs_mm2=pairs_mm2,
        stacked=np.concatenate([solid, beside]),
        stacked_mm2=np.concatenate([solid_mm2, beside_mm2]),
        near=near,
    )


def _walls(mesh: Mesh, dexels: Dexels, *, reach: int) -> tuple[IntArray, FloatArray, BoolArray]:
    """What vertical faces stand over and under: pairs (s, 2) of a face and the one over it, the area of the wall.

    Looked for on lines just off the wall and within `reach` along it. (m,) tells which walls stand beside a void.
    """
    normals, areas_mm2 = face_normals(mesh), face_areas_mm2(mesh)
    upright = np.flatnonzero(np.abs(normals[:, 2]) < VERTICAL_COSINE)
    centres, out = face_centres_mm(mesh)[upright], normals[upright, :2]
    beside = np.column_stack([-out[:, 1], out[:, 0]])
    found, near = [np.empty((0, 2), np.int64)], np.zeros(len(mesh.faces), bool)
    for along in range(-reach, reach + 1):
        places = centres[:, :2] + dexels.pitch_mm * (OFF_PIXELS * out + along * beside)
        pixel = np.clip(np.round((places - dexels.origin_mm) / dexels.pitch_mm), 0, [dexels.nx - 1, dexels.ny - 1])
        line = pixel[:, 1].astype(np.int64) * dexels.nx + pixel[:, 0].astype(np.int64)
        start, stop = dexels.offsets[line], dexels.offsets[line + 1]
        below = _below(dexels, start, stop, centres[:, 2])
        free = (below - start) % 2 == 0  # an even number of crossings below: not inside the part
        under, over = free & (below > start), free & (below < stop)
        found.append(np.column_stack([dexels.face[below[under] - 1], upright[under]]))
        found.append(np.column_stack([upright[over], dexels.face[below[over]]]))
        near[upright[under & over]] = True
    rows: IntArray = np.unique(np.concatenate(found).astype(np.int64), axis=0)
    wall = np.where(np.isin(rows[:, 0], upright), rows[:, 0], rows[:, 1])
    beside_mm2: FloatArray = areas_mm2[wall]
    return rows, beside_mm2, near


def _below(dexels: Dexels, start: IntArray, stop: IntArray, z_mm: FloatArray) -> IntArray:
    """The first crossing (k,) of each line, from `start` to `stop`, that lies above a height."""
    first = start.copy()
    for _ in range(int((stop - start).max(initial=0))):
        more = (first < stop) & (np.append(dexels.z_mm, np.inf)[first] < z_mm)
        first[more] += 1
    return first


def _counted(pairs: IntArray, each_mm2: float) -> tuple[IntArray, FloatArray]:
    """Each pair of different faces once, and the area for which it stands."""
    once, count = np.unique(pairs[pairs[:, 0] != pairs[:, 1]], axis=0, return_counts=True)
    return once, (count * each_mm2).astype(np.float64)
