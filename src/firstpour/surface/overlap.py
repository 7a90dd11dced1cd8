"""How much of a closed surface's inside is counted twice or inside out: nothing for a solid that is one."""

import numpy as np

from firstpour.surface.dexels import cut_dexels
from firstpour.values import FloatArray, Mesh, face_normals


def overlap_mm3(mesh: Mesh, direction: FloatArray, *, resolution: int = 256) -> float:
    """Volume where the winding number of the closed mesh is neither 0 nor 1, by lines along `direction`.

    Raises
    ------
    BadRequest, UnreadablePart
        As `surface.dexels.cut_dexels`.
    """
    dexels = cut_dexels(mesh, direction, resolution=resolution, margin=1)
    if len(dexels.z_mm) == 0:
        return 0.0
    enters = np.where(face_normals(mesh)[dexels.face] @ dexels.frame[2] < 0.0, 1, -1)
    winding = np.cumsum(enters)
    counts = np.diff(dexels.offsets)
    line = np.repeat(np.arange(len(counts)), counts)
    before = np.concatenate([[0], winding])[dexels.offsets[:-1]]
    winding -= before[line]
    same_line = line[:-1] == line[1:]
    wrong = same_line & ((winding[:-1] < 0) | (winding[:-1] > 1))
    return float(np.diff(dexels.z_mm)[wrong].sum()) * dexels.pitch_mm**2
