"""Whether a surface passes through itself: along a line it must be entered and left in turn.

A closed surface that overlaps itself is entered twice before it is left, so its volume counts that part twice. Lines
along three skew directions find what is larger than their pitch; smaller overlaps stay unseen.
"""

from dataclasses import dataclass

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.values import Finding, FloatArray, Mesh, Severity, face_vectors_mm2, mesh_volume_mm3, place_words

DIRECTIONS = ((0.36, 0.48, 0.8), (0.8, -0.36, 0.48), (-0.48, 0.8, 0.36))
RESOLUTION = 192
LEAST_RATIO = 1e-5
"""Lengths below this share of the part's diagonal are rounding at edges."""
MOST_RATIO = 1e-3
"""An overlap above this share of the volume is refused: quantities could not be trusted (our own limit)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Overlap:
    """Volume entered twice or left twice, by dexels, and the middle of the longest such run."""

    volume_mm3: float
    place_mm: FloatArray


def check_self_overlap(mesh: Mesh) -> tuple[Finding, ...]:
    """A finding where the surface passes through itself a little.

    Raises
    ------
    UnreadablePart
        If more than `MOST_RATIO` of the volume is enclosed twice.
    """
    overlaps = [measure_overlap(mesh, np.array(direction)) for direction in DIRECTIONS]
    worst = sorted(overlaps, key=lambda overlap: overlap.volume_mm3)[1]
    if worst.volume_mm3 <= 0:
        return ()
    where = place_words(worst.place_mm)
    what = f"the surface passes through itself near {where}; {worst.volume_mm3:.2g} mm³ are enclosed twice"
    remedy = "unite the bodies in the program that made the part, then export it again"
    if worst.volume_mm3 > MOST_RATIO * abs(mesh_volume_mm3(mesh)):
        raise UnreadablePart(what, remedy=remedy)
    return (Finding(severity=Severity.WARNING, code="self-overlap", what=what, remedy=remedy, where=where),)


def measure_overlap(mesh: Mesh, direction: FloatArray) -> Overlap:
    """What lines along `direction` enter twice, or leave before they enter."""
    dexels = cut_dexels(mesh, direction, resolution=RESOLUTION)
    if len(dexels.z_mm) < 2:
        return Overlap(volume_mm3=0.0, place_mm=np.zeros(3))
    lengths_mm = _wrong_lengths_mm(mesh, dexels)
    worst = int(lengths_mm.argmax())
    return Overlap(volume_mm3=float(lengths_mm.sum()) * dexels.pitch_mm**2, place_mm=_middle_mm(dexels, worst))


def _wrong_lengths_mm(mesh: Mesh, dexels: Dexels) -> FloatArray:
    """Length from each crossing to the next where the line is neither outside nor inside once; 0 elsewhere."""
    entering = np.where(face_vectors_mm2(mesh) @ dexels.frame[2] < 0, 1, -1)[dexels.face]
    counts = np.diff(dexels.offsets)
    running = np.concatenate([[0], np.cumsum(entering)])
    before, total = running[dexels.offsets[:-1]], np.diff(running[dexels.offsets])
    depth = running[1:] - np.repeat(before, counts)
    judged = np.repeat(total == 0, counts)
    lengths_mm = np.append(np.diff(dexels.z_mm), 0.0)
    lengths_mm[dexels.offsets[1:][counts > 0] - 1] = 0.0
    least_mm = LEAST_RATIO * float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0)))
    lengths_mm[~judged | (depth == 0) | (depth == 1) | (lengths_mm < least_mm)] = 0.0
    return lengths_mm


def _middle_mm(dexels: Dexels, crossing: int) -> FloatArray:
    """The middle between a crossing and the next one on its line, in the part's coordinates."""
    line = int(np.searchsorted(dexels.offsets, crossing, side="right")) - 1
    return dexels.point_mm(line, float(dexels.z_mm[crossing : crossing + 2].mean()))
