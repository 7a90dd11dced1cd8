"""Whether pieces come apart: what overhangs is taken from a bed, and what is moved out is counted on its way."""

from dataclasses import dataclass

import manifold3d
import numpy as np

from firstpour.surface.solids import from_solid
from firstpour.values import Finding, FloatArray, Severity, face_normals

STEPS_MM = (1.0, 4.0, 12.0)
"""How far a piece has been moved when its overlap is looked at."""
RIGID_MM3 = 1.0
"""Rigid pieces may share no more on their way: rounding along walls that slide on each other."""
SOFT_RATIO = 2e-4
"""Soft silicone slips past ridges of this height in mm, over all its surface (our own estimate)."""
OVERHANG_COSINE = 1e-4
HAIR_MM = 0.02
"""Prisms over neighbouring faces overlap by this, so that no skin is left between them."""
MOST_PRISMS = 3000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opened:
    """A solid without its overhangs, and what was taken from it."""

    solid: manifold3d.Manifold
    taken: manifold3d.Manifold


def opened_upwards(solid: manifold3d.Manifold, *, floor_mm: float) -> Opened:
    """The solid less all of it that lies over its own faces that look down, but for its floor.

    What is laid into it from above can then be lifted straight out.
    """
    mesh = from_solid(solid)
    corners = mesh.vertices_mm[mesh.faces]
    down = (face_normals(mesh)[:, 2] < -OVERHANG_COSINE) & (corners[:, :, 2].max(axis=1) > floor_mm + HAIR_MM)
    if not down.any():
        return Opened(solid=solid, taken=manifold3d.Manifold())
    top_mm = float(mesh.vertices_mm[:, 2].max()) + 1.0
    over = corners[down]
    if len(over) > MOST_PRISMS:
        low, high = over[:, :, 2].min(axis=1), np.ptp(over[:, :, :2].reshape(-1, 2), axis=0).max()
        over = over[np.argsort(low)][:: int(np.ceil(len(over) / MOST_PRISMS))]
        hair_mm = float(high) / np.sqrt(MOST_PRISMS)
    else:
        hair_mm = HAIR_MM
    prisms = manifold3d.Manifold.batch_boolean(
        [_prism(corner, top_mm=top_mm, hair_mm=hair_mm) for corner in over], manifold3d.OpType.Add
    )
    taken = solid ^ prisms
    return Opened(solid=solid - prisms, taken=taken)


def _prism(corners: FloatArray, *, top_mm: float, hair_mm: float) -> manifold3d.Manifold:
    """What lies over a triangle (3, 3) seen from above, up to `top_mm`, a hair wider than it."""
    middle = corners.mean(axis=0)
    away = corners[:, :2] - middle[:2]
    size = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
    foot = corners.copy()
    foot[:, :2] += hair_mm * away / size
    roof = foot.copy()
    roof[:, 2] = top_mm
    return manifold3d.Manifold.hull_points(np.concatenate([foot, roof]))


def held_mm3(moving: manifold3d.Manifold, fixed: manifold3d.Manifold, *, way: FloatArray) -> float:
    """The most volume that `moving` shares with `fixed` while it is moved along `way` (3,), unit."""
    low, high = np.array(moving.bounding_box()).reshape(2, 3)
    reach_mm = float(np.abs((high - low) @ way))
    steps = [step for step in STEPS_MM if step < reach_mm] or [0.5 * reach_mm]
    return max(
        float((moving.translate(tuple(float(value) for value in step * way)) ^ fixed).volume()) for step in steps
    )


def stuck_finding(moving: str, fixed: str, held: float) -> Finding:
    """Say that one rigid piece cannot leave another."""
    return Finding(
        severity=Severity.ERROR,
        code="pieces-stuck",
        what=f"the {moving} cannot leave the {fixed}: {held:.0f} mm³ are in its way",
        remedy='take kind = "trays", or another draw direction',
    )


def locked_finding(silicone: str, tray: str, held: float) -> Finding:
    """Say that cured silicone is held in its tray by more than the part's own undercut."""
    return Finding(
        severity=Severity.WARNING,
        code="locked-in-tray",
        what=f"{silicone} is held in the {tray} by {held:.0f} mm³ besides the part's own undercut",
        remedy="ease it out over one side, with release in the tray; or fix gate and vents on the parting line",
    )
