"""How round a feature comes out of a printer, in a print direction."""

import numpy as np

from firstpour.formulas.roundness import minimum_zone_roundness
from firstpour.kernels import round as kernel
from firstpour.master.printers import Printer
from firstpour.master.round_features import RoundFeature
from firstpour.values import FloatArray

PHASES = (0.0, 0.5)
"""Where the first layer may fall against the feature, as shares of a layer: the worst is reported."""


def printed_points_mm(
    feature: RoundFeature, direction: FloatArray, *, printer: Printer, layer_mm: float, phase: float = 0.0
) -> FloatArray:
    """Corner points (k, 2) of the feature's section as printed, in its own plane (rows u, v of the section's frame).

    The section, cut from the mesh, is laid into layers along `direction` (unit) and into the printer's smallest steps
    across; then sag, growth and errors of size, the workshop's own figures, are added. Every point of a step's corner
    is given. See docs/master.md.
    """
    angles, radii, _, turn = _profile(feature, direction, printer=printer, layer_mm=layer_mm, phase=phase)
    points: FloatArray = np.stack([radii * np.cos(angles + turn), radii * np.sin(angles + turn)], axis=1)
    return points


def roundness_printed_mm(
    features: tuple[RoundFeature, ...], directions: FloatArray, *, printer: Printer, layer_mm: float
) -> FloatArray:
    """Out-of-round of each feature printed along each direction (k, 3), about its least-squares circle: (features, k).

    The worst over `PHASES` of the layers; 0 where a feature is too small to show a step.
    """
    directions = np.atleast_2d(np.asarray(directions, dtype=np.float64))
    if not features:
        return np.zeros((0, len(directions)))
    sections = [one.section for one in features]
    spreads: FloatArray = kernel.spreads_printed(
        np.stack([one.radii_mm for one in sections]),
        np.array([one.radius_mm for one in sections]),
        np.array([float(one.material) for one in features]),
        np.array([one.slope_ratio for one in sections]),
        np.stack([one.frame for one in sections]),
        np.array([one.whole_sphere for one in sections]),
        directions,
        layer_mm,
        printer.pixel_mm,
        np.array(PHASES),
        _overhang_cos(printer),
        _allowances(printer),
    )
    return spreads


def zone_printed_mm(feature: RoundFeature, direction: FloatArray, *, printer: Printer, layer_mm: float) -> float:
    """The same by the minimum zone, exact and slower: never above the least-squares figure of the same phase."""
    zones = [
        minimum_zone_roundness(printed_points_mm(feature, direction, printer=printer, layer_mm=layer_mm, phase=phase))
        for phase in PHASES
    ]
    return max(zone.zone_mm for zone in zones)


def _overhang_cos(printer: Printer) -> float:
    return float(np.cos(np.radians(printer.support_within_deg)))


def _allowances(printer: Printer) -> tuple[float, float, float, float, float]:
    return (
        printer.sag_ratio,
        printer.growth_mm,
        printer.growth_down_mm,
        printer.height_error_ratio,
        printer.plane_error_ratio,
    )


def _profile(
    feature: RoundFeature, direction: FloatArray, *, printer: Printer, layer_mm: float, phase: float
) -> tuple[FloatArray, FloatArray, FloatArray, float]:
    section = feature.section
    along = section.frame @ direction
    sine = 1.0 if section.whole_sphere else float(np.hypot(along[0], along[1]))
    cosine = 0.0 if section.whole_sphere else float(along[2])
    turn = float(np.arctan2(along[1], along[0])) if sine > 1e-6 else 0.0
    tilt = (sine, abs(cosine))
    profile = kernel.printed_profile(section.radii_mm, turn, tilt, layer_mm, printer.pixel_mm, phase)
    radii = kernel.shaped_by_printer(
        profile,
        section.radius_mm,
        float(feature.material),
        (sine, cosine),
        section.slope_ratio,
        _overhang_cos(printer),
        _allowances(printer),
    )
    return profile[:, 0], radii, profile[:, 2], turn
