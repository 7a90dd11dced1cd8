"""Scraps: shells of a file that enclose nothing, and those that only seem to."""

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.shells import Shells
from firstpour.values import BoolArray, Finding, FloatArray, Severity, place_words

SCRAP_RATIO = 1e-9
"""A shell with less than this share of the largest one's volume is a flat scrap."""
SMALL_RATIO = 1e-6
"""A scrap with less than this share of the area is nothing; one thinner than this share of the diagonal is flat."""
FLAT_RATIO = 1e-9
"""A part with less than this share of its diagonal cubed has no volume."""


def drop_scraps(shells: Shells) -> tuple[Shells, list[Finding]]:
    """The shells that enclose something, and a finding that tells what was dropped.

    Raises
    ------
    UnreadablePart
        If nothing encloses a volume, or what seems a scrap are bodies that cancel each other.
    """
    sizes = np.abs(shells.volumes_mm3)
    longest_mm = diagonal_mm(shells)
    if sizes.max() <= FLAT_RATIO * longest_mm**3:
        raise UnreadablePart(
            f"the part encloses no volume ({sizes.max():.3g} mm³)",
            remedy="give the part a thickness and export it again as a solid",
        )
    scrap = sizes <= SCRAP_RATIO * sizes.max()
    if not scrap.any():
        return shells, []
    _refuse_cancelled(shells, scrap, longest_mm)
    rest = shells.kept(~scrap)
    dropped = len(shells.faces) - len(rest.faces)
    what = f"{int(scrap.sum())} flat scraps ({dropped} faces, {sizes[scrap].sum():.2g} mm³) were dropped"
    return rest, [Finding(severity=Severity.INFO, code="scraps", what=what, remedy="nothing to do")]


def _refuse_cancelled(shells: Shells, scrap: BoolArray, longest_mm: float) -> None:
    """A scrap must be flat, small, or a sheet with two sides: else bodies wound unlike each other cancel in it."""
    a, b, c = (shells.vertices_mm[shells.faces[:, k]] for k in range(3))
    areas_mm2 = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    area_mm2 = np.bincount(shells.shell, weights=areas_mm2, minlength=len(scrap))
    for shell in np.flatnonzero(scrap & (area_mm2 > SMALL_RATIO * area_mm2.sum())).tolist():
        corners_mm = shells.vertices_mm[shells.faces[shells.shell == shell]]
        points_mm = corners_mm.reshape(-1, 3)
        _, spread, _ = np.linalg.svd(points_mm - points_mm.mean(axis=0), full_matrices=False)
        if spread[2] <= SMALL_RATIO * longest_mm * len(points_mm) ** 0.5 or _two_sided(corners_mm):
            continue
        raise UnreadablePart(
            f"{len(corners_mm)} faces around {place_words(points_mm.mean(axis=0))} enclose as much inside out as "
            "outward: it cannot be told which is solid",
            remedy="unite the bodies in the program that made the part, then export it again",
        )


def _two_sided(corners_mm: FloatArray) -> bool:
    """Whether every face (m, 3, 3) has another one on it."""
    _, point = np.unique(corners_mm.reshape(-1, 3), axis=0, return_inverse=True)
    _, often = np.unique(np.sort(point.reshape(-1, 3), axis=1), axis=0, return_counts=True)
    return bool((often >= 2).all())


def diagonal_mm(shells: Shells) -> float:
    """Of the box around all shells."""
    return float(np.linalg.norm(np.ptp(shells.vertices_mm[np.unique(shells.faces)], axis=0)))
