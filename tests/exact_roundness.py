"""How far a profile is from a circle, exactly: what roundness as printed is held against in the tests."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import least_squares, linprog

from firstpour.errors import OutOfRange
from firstpour.values import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Roundness:
    """The reference circle of a profile, and the roundness about it: farthest less nearest distance."""

    centre_mm: tuple[float, float]
    radius_mm: float
    zone_mm: float


def least_squares_roundness(points_mm: ArrayLike) -> Roundness:
    """Roundness about the circle whose radial distances have the least sum of squares (LSCI).

    `points_mm` (n, 2), n ≥ 3.

    Raises
    ------
    OutOfRange
        If there are fewer than 3 points, not all finite, or all on one line.

    References
    ----------
    ISO 12181-1:2011 (reference circles; from memory).

    >>> points = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]
    >>> round(least_squares_roundness(points).radius_mm, 5)
    23.33353
    """
    points = _checked(points_mm)
    start = _algebraic_centre(points)
    fitted = least_squares(lambda c: _spread(points, c), start, x_scale=float(np.ptp(points)), xtol=1e-14, ftol=1e-14)
    return _about(points, fitted.x)


def minimum_zone_roundness(points_mm: ArrayLike) -> Roundness:
    """Roundness about the centre of the narrowest ring that holds the profile (MZCI); `points_mm` (n, 2), n ≥ 3.

    Linear programs in a shrinking trust region, from the least-squares centre: minimise R − r with
    r ≤ |p − c| ≤ R, the distances linearised about the centre reached.

    Raises
    ------
    OutOfRange
        As `least_squares_roundness`.

    References
    ----------
    ISO 12181-1:2011 (minimum zone; from memory).

    >>> points = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]
    >>> round(minimum_zone_roundness(points).zone_mm, 5)
    2.92459
    """
    points = _checked(points_mm)
    best = least_squares_roundness(points)
    reach_mm = best.zone_mm
    for _ in range(60):
        if reach_mm <= 1e-12 * best.radius_mm:
            break
        moved = _about(points, np.asarray(best.centre_mm) + _narrowing_step(points, best.centre_mm, reach_mm))
        if moved.zone_mm < best.zone_mm - 1e-15 * best.radius_mm:
            best = moved
        else:
            reach_mm *= 0.25
    return best


def _checked(points_mm: ArrayLike) -> FloatArray:
    points = np.asarray(points_mm, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 3 or not np.isfinite(points).all():
        raise OutOfRange(
            f"a profile of shape {points.shape}", remedy="give 3 or more points, each two finite numbers"
        )
    if np.linalg.matrix_rank(points - points.mean(axis=0), tol=1e-12 * (1.0 + float(np.abs(points).max()))) < 2:
        raise OutOfRange("a profile whose points lie on one line", remedy="give points around a circle")
    return points


def _algebraic_centre(points: FloatArray) -> FloatArray:
    middle = points.mean(axis=0)
    q = points - middle
    rows = np.column_stack([2.0 * q, np.ones(len(q))])
    centre: FloatArray = np.linalg.lstsq(rows, (q**2).sum(axis=1), rcond=None)[0][:2] + middle
    return centre


def _spread(points: FloatArray, centre: FloatArray) -> FloatArray:
    distance = np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1])
    spread: FloatArray = distance - distance.mean()
    return spread


def _about(points: FloatArray, centre: FloatArray) -> Roundness:
    distance = np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1])
    return Roundness(
        centre_mm=(float(centre[0]), float(centre[1])),
        radius_mm=float(distance.mean()),
        zone_mm=float(np.ptp(distance)),
    )


def _narrowing_step(points: FloatArray, centre: tuple[float, float], reach_mm: float) -> FloatArray:
    away = points - np.asarray(centre)
    distance = np.hypot(away[:, 0], away[:, 1])
    unit = away / np.maximum(distance, 1e-300)[:, None]
    one, none = np.ones(len(points)), np.zeros(len(points))
    rows = np.vstack([np.column_stack([-unit, -one, none]), np.column_stack([unit, none, one])])
    limits = np.concatenate([-distance, distance])
    free = (None, None)
    bounds = [(-reach_mm, reach_mm), (-reach_mm, reach_mm), free, free]
    solved = linprog([0.0, 0.0, 1.0, -1.0], A_ub=rows, b_ub=limits, bounds=bounds, method="highs")
    step: FloatArray = solved.x[:2] if solved.status == 0 else np.zeros(2)
    return step
