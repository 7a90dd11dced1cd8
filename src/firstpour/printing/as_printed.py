"""How round a feature comes out of a printer, in a print direction."""

import numpy as np

from firstpour.formulas.roundness import minimum_zone_roundness
from firstpour.kernels import round as kernel
from firstpour.kernels.threads import in_shares
from firstpour.printing.printers import Printer
from firstpour.rounds.round_features import RoundFeature
from firstpour.rounds.sections import UNDULATIONS
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
    profile, turn = _corners(feature, direction, printer=printer, layer_mm=layer_mm, phase=phase)
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    points: FloatArray = profile[:, :2] @ rotation
    return points


def _corners(
    feature: RoundFeature, direction: FloatArray, *, printer: Printer, layer_mm: float, phase: float
) -> tuple[FloatArray, float]:
    """Corners as printed (k, 3): along the rising direction, across it, weight; and where that direction lies."""
    section = feature.section
    along = section.frame @ np.asarray(direction, dtype=np.float64)
    sine = 1.0 if section.whole_sphere else float(np.hypot(along[0], along[1]))
    cosine = 0.0 if section.whole_sphere else float(along[2])
    turn = float(np.arctan2(along[1], along[0])) if sine > 1e-6 else 0.0
    profile: FloatArray = kernel.printed_profile(
        section.radii_mm, turn, (sine, abs(cosine)), float(layer_mm), float(printer.pixel_mm), phase, 0.0
    )
    kernel.shape_by_printer(
        profile,
        section.radius_mm,
        float(feature.material),
        (sine, cosine),
        section.slope_ratio,
        _overhang_cos(printer),
        _allowances(printer),
    )
    return profile, turn


def roundness_printed_mm(
    features: tuple[RoundFeature, ...], directions: FloatArray, *, printer: Printer, layer_mm: float
) -> FloatArray:
    """Out-of-round about the least-squares circle of each feature along each direction (k, 3): (features, k).

    Waves finer than `UNDULATIONS` a turn, the steps themselves, are filtered out: `step_mm` counts those.
    The worst over `PHASES` of the layers; 0 where a feature is too small to show a step.
    """
    directions = np.atleast_2d(np.asarray(directions, dtype=np.float64))
    if not features:
        return np.zeros((0, len(directions)))
    sections = [one.section for one in features]
    tables = np.stack([one.radii_mm for one in sections])
    figures = (
        np.array([one.radius_mm for one in sections]),
        np.array([float(one.material) for one in features]),
        np.array([one.slope_ratio for one in sections]),
        np.stack([one.frame for one in sections]),
        np.array([one.whole_sphere for one in sections]),
    )
    spreads = np.zeros((len(directions), len(features)))

    def share(first: int, last: int) -> None:
        kernel.spreads_printed(
            tables,
            *figures,
            directions[first:last],
            float(layer_mm),
            float(printer.pixel_mm),
            PHASES,
            _overhang_cos(printer),
            _allowances(printer),
            UNDULATIONS,
            spreads[first:last],
        )

    in_shares(share, len(directions))
    return spreads.T


def zone_printed_mm(feature: RoundFeature, direction: FloatArray, *, printer: Printer, layer_mm: float) -> float:
    """The same by the minimum zone, exact and slower: never above the least-squares figure."""
    zones = []
    for phase in PHASES:
        profile, _ = _corners(feature, direction, printer=printer, layer_mm=layer_mm, phase=phase)
        zones.append(minimum_zone_roundness(kernel.smoothed_turn(profile, UNDULATIONS)[:, :2]).zone_mm)
    return max(zones)


def _overhang_cos(printer: Printer) -> float:
    return float(np.cos(np.radians(printer.support_within_deg)))


def _allowances(printer: Printer) -> tuple[float, float, float, float, float]:
    """What the kernel takes, as floats: whole numbers would have it compiled anew."""
    return (
        float(printer.sag_ratio),
        float(printer.growth_mm),
        float(printer.growth_down_mm),
        float(printer.height_error_ratio),
        float(printer.plane_error_ratio),
    )
