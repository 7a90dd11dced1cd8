"""What the wet silicone does to a master that hangs on a rod: how hard it lifts it, how far it lets it lean."""

import math
from dataclasses import dataclass

import numpy as np

from firstpour.fill.values import Channel
from firstpour.units import GRAVITY_M_S2, MM3_PER_ML
from firstpour.values import Finding, FloatArray, Mesh, Severity

LIGHT_PRINT_G_ML = 0.5
"""A print with few walls and little inside (our own estimate: decision 0041)."""
LEAST_LIFT_N = 0.05
"""A lift below this, the weight of 5 g, is held by the fit of the post."""
PRINT_MODULUS_MPA = 1500.0
"""Stiffness of a printed rod across its layers: typical, an estimate of our own (decision 0048)."""
MOST_LEAN_MM = 0.3
"""A master that leans further leaves one wall of the silicone, and so the seam, visibly off (decision 0048)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A master on its rod in the wet silicone, printed light: an estimate of our own (decision 0048)."""

    lift_n: float
    """(ρ silicone − ρ print) · V · g; below zero it sinks."""
    arm_mm: float
    """How far beside the rod the lift acts, at the farthest place of the rod."""
    lean_mm: float
    """How far the master's farthest place moves."""
    rod_mm: float
    """Thickness of the rod where it is thinnest."""


def carried_on_rod(part: Mesh, rod: Channel, *, up: FloatArray, silicone_g_ml: float) -> Carried:
    r"""The lift on the part and how far it leans on the one rod that is held in the base.

    Bent as a beam by the moment M = lift · arm: it turns by :math:`\theta = M L' / (E \pi r^4 / 4)`, L′ being the
    length of a rod as thin as its start that bends alike, and the farthest place moves by θ times its way to the
    middle of the rod. Other rods only stand on the base and hold nothing back. `up` (3,) in the pour of the silicone.

    References
    ----------
    Euler-Bernoulli beam under an end moment (any handbook of strength of materials).
    """
    middle, volume_mm3 = _middle(part)
    lift_n = (silicone_g_ml - LIGHT_PRINT_G_ML) * volume_mm3 / MM3_PER_ML * GRAVITY_M_S2 / 1000.0
    away = middle - rod.path_mm
    arm_mm = float(np.linalg.norm(away - np.outer(away @ up, up), axis=1).max())
    stiff_n_mm2 = PRINT_MODULUS_MPA * math.pi * rod.radius_start_mm**4 / 4.0
    turn = abs(lift_n) * arm_mm * rod.straight_length_mm / stiff_n_mm2
    hinge = 0.5 * (rod.path_mm[0] + rod.path_mm[-1])
    reach_mm = float(np.linalg.norm(part.vertices_mm - hinge, axis=1).max())
    return Carried(lift_n=lift_n, arm_mm=arm_mm, lean_mm=turn * reach_mm, rod_mm=2.0 * rod.radius_start_mm)


def carried_findings(carried: Carried) -> tuple[Finding, ...]:
    """Say that the wet silicone lifts a master printed light, or makes it lean on its rod."""
    findings = []
    if carried.lift_n >= LEAST_LIFT_N:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="master-floats",
                what=f"a master printed light ({LIGHT_PRINT_G_ML:g} g/ml) is lifted by the wet silicone with "
                f"{carried.lift_n:.1f} N, as much as {1000.0 * carried.lift_n / GRAVITY_M_S2:.0f} g weigh",
                remedy="screw its post to the base from below, or glue it in; and hold the base down",
            )
        )
    if carried.lean_mm > MOST_LEAN_MM:
        findings.append(
            Finding(
                severity=Severity.WARNING,
                code="master-leans",
                what=f"lifted {carried.arm_mm:.0f} mm beside its rod of {carried.rod_mm:.1f} mm, a master printed "
                f"light leans by about {carried.lean_mm:.1f} mm in the wet silicone",
                remedy="print the master full, so that it hardly floats; glue the vents' rods to the base, too; or "
                "set a wider gate nearer to its middle",
            )
        )
    return tuple(findings)


def _middle(mesh: Mesh) -> tuple[FloatArray, float]:
    """Middle (3,) of the volume and the volume in mm³: the sum over the tetrahedra from one point to all faces."""
    origin = mesh.vertices_mm.mean(axis=0)
    a, b, c = ((mesh.vertices_mm - origin)[mesh.faces[:, k]] for k in range(3))
    six = np.einsum("ij,ij->i", a, np.cross(b, c))
    middle: FloatArray = origin + (six[:, None] * (a + b + c)).sum(axis=0) / (4.0 * six.sum())
    return middle, float(six.sum()) / 6.0
