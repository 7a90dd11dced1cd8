"""How round a feature comes out of a printer, in a print direction."""

import numpy as np

from firstpour.kernels import round as kernel
from firstpour.kernels.threads import in_shares
from firstpour.printing.printers import Printer
from firstpour.rounds.round_features import RoundFeature
from firstpour.rounds.sections import UNDULATIONS
from firstpour.values import FloatArray

PHASES = (0.0, 0.5)
"""Where the first layer may fall against the feature, as shares of a layer: the worst is reported."""


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
