"""What a channel along the parting surface holds in the halves where that surface leans across it."""

import numpy as np

from firstpour.fill.surface_ways import Plan
from firstpour.values import FloatArray

MOST_HELD_MM3 = 0.5
"""More silicone than this held by one channel's sprue tears a half or the sprue: our own choice."""
STEP_MM = 0.5
STEEPEST_DEG = 85.0


def held_per_mm(slope_deg: FloatArray, radius_mm: FloatArray) -> FloatArray:
    r"""Silicone (mm³ a mm of way) of one half that lies behind a round channel on a surface that leans across it.

    The area between a circle and a line through its middle, beside the circle and under its far side:

    .. math:: A = r^2 (\\tan\theta - \theta) / 2

    >>> held_per_mm(np.array([45.0]), np.array([2.0])).round(3).tolist()
    [0.429]
    """
    angle = np.radians(np.minimum(slope_deg, STEEPEST_DEG))
    area: FloatArray = 0.5 * radius_mm**2 * (np.tan(angle) - angle)
    return area


def held_by_sprue_mm3(plan: Plan, path_mm: FloatArray, *, radius_mm: float, mouth_mm: float) -> float:
    """Silicone of one half that the sprue of a way (k, 3, in the frame of the draw) holds once it has left the part.

    It has left it after a radius; each mm counts by the slope of the surface from side to side of the channel.
    """
    lengths = np.linalg.norm(np.diff(path_mm, axis=0), axis=1)
    ahead = np.concatenate([[0.0], np.cumsum(lengths)])
    at = np.arange(radius_mm, ahead[-1], STEP_MM)
    if len(at) == 0:
        return 0.0
    middle = np.column_stack([np.interp(at, ahead, path_mm[:, k]) for k in range(3)])
    step = np.diff(path_mm, axis=0)[np.clip(np.searchsorted(ahead, at, side="right") - 1, 0, len(lengths) - 1), :2]
    size = np.linalg.norm(step, axis=1, keepdims=True)
    level = size[:, 0] > 1e-9
    across = np.column_stack([-step[:, 1], step[:, 0]]) / np.maximum(size, 1e-9)
    wide_mm = radius_mm + at / ahead[-1] * (mouth_mm - radius_mm)
    sides = [plan.surface.height_mm(middle[:, :2] + way * wide_mm[:, None] * across) for way in (-1.0, 1.0)]
    slope_deg = np.degrees(np.arctan2(np.abs(sides[1] - sides[0]), 2.0 * wide_mm))
    return float((STEP_MM * held_per_mm(slope_deg, wide_mm))[level].sum())
