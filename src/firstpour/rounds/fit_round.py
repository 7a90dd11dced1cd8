"""Fitting one surface of revolution (cylinder, cone, torus, sphere) to faces with normals."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.optimize import least_squares

from firstpour.values import FloatArray, frame_along, frozen_array

CONE_FROM_DEG = 1.0
"""A side nearer to the axis than this is called a cylinder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How large the part is (`size_mm`, its diagonal) and how fine its mesh (`edge_mm`, a typical edge)."""

    size_mm: float
    edge_mm: float


class RoundKind(StrEnum):
    """The shapes a round feature can have; `turned` is round about an axis with a profile of its own."""

    CYLINDER = "cylinder"
    CONE = "cone"
    TORUS = "torus"
    SPHERE = "sphere"
    TURNED = "turned"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundFit:
    """A surface of revolution: ρ is the distance from the axis, ζ runs along it from `centre_mm`.

    Cylinder and cone: ρ = radius_mm + slope_ratio·ζ. Torus: an arc of `minor_radius_mm` about ρ = radius_mm, ζ = 0.
    Sphere: `radius_mm` about `centre_mm`, the axis of no meaning. Turned: `radius_mm` is the mean ρ.
    """

    kind: RoundKind
    centre_mm: FloatArray
    axis: FloatArray
    radius_mm: float
    slope_ratio: float
    minor_radius_mm: float
    residual_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre_mm", frozen_array(self.centre_mm, np.float64))
        object.__setattr__(self, "axis", frozen_array(self.axis, np.float64))


MOST_STEPS = 25
"""Steps of a fit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Off:
    """How far points lie off a profile (n,), and its slopes: over ρ and ζ (n,) and the profile's figures (n, k)."""

    off_mm: FloatArray
    by_rho: FloatArray
    by_zeta: FloatArray
    by_own: FloatArray


def fit_round(points_mm: FloatArray, normals: FloatArray, weights: FloatArray, *, scale: Scale) -> RoundFit | None:
    """The simplest surface of revolution that the points (n, 3) and unit normals (n, 3) agree with, or None.

    A fit is taken when its root-mean-square residual is within `allowed_residual_mm` of its radius.
    A radius above the part's diagonal is not called round.

    References
    ----------
    The axis starts from the line that all normals meet: Pottmann & Randrup, "Rotational and helical surface
    approximation for reverse engineering", Computing 60 (1998) 307-322.
    """
    if len(points_mm) < 8:
        return None
    fits = (fit_sphere(points_mm, weights), *_fits_about_axis(points_mm, normals, weights, scale))
    believable = [fit for fit in fits if fit is not None and _believable(fit, scale)]
    rated = [(_disagreement(fit, points_mm, normals, weights, scale), fit) for fit in believable]
    best = min(rated, key=lambda one: one[0], default=None)
    return None if best is None or best[0] > MOST_DISAGREEMENT else best[1]


MOST_DISAGREEMENT = 1.6
ODD_NORMAL_DEG = 12.0
"""Normals this far off, root mean square, weigh as much as the largest residual allowed."""
COMPLEXITY = {RoundKind.CYLINDER: 0.0, RoundKind.SPHERE: 0.02, RoundKind.CONE: 0.05, RoundKind.TORUS: 0.1}
"""A simpler shape is preferred where two agree about equally."""


def _disagreement(
    fit: RoundFit, points_mm: FloatArray, normals: FloatArray, weights: FloatArray, scale: Scale
) -> float:
    """Residual against what is allowed, plus how far normals are off, plus a little for a shape less simple."""
    cosine = np.clip(np.abs(_normal_cosines(fit, points_mm, normals)), 0.0, 1.0)
    odd_deg = float(np.degrees(np.sqrt(np.average(np.arccos(cosine) ** 2, weights=weights))))
    least = fit.minor_radius_mm if fit.kind is RoundKind.TORUS else fit.radius_mm
    allowed_mm = allowed_residual_mm(least, edge_mm=scale.edge_mm)
    return fit.residual_mm / allowed_mm + odd_deg / ODD_NORMAL_DEG + COMPLEXITY[fit.kind]


def _normal_cosines(fit: RoundFit, points_mm: FloatArray, normals: FloatArray) -> FloatArray:
    """Cosine between each normal and the fitted surface's own at the foot of its point: (n,)."""
    away = points_mm - fit.centre_mm
    if fit.kind is RoundKind.SPHERE:
        own = away
    else:
        zeta = away @ fit.axis
        across = away - zeta[:, None] * fit.axis
        rho = np.maximum(np.linalg.norm(across, axis=1), 1e-12)[:, None]
        if fit.kind is RoundKind.TORUS:
            own = away - fit.radius_mm * across / rho
        else:
            own = across / rho - fit.slope_ratio * fit.axis
    cosines: FloatArray = np.einsum("ij,ij->i", own, normals) / np.maximum(np.linalg.norm(own, axis=1), 1e-12)
    return cosines


def allowed_residual_mm(radius_mm: float, *, edge_mm: float) -> float:
    """How far, root mean square, faces may lie off the shape they are called.

    0.3 % of the radius, 0.01 mm at least, and half of what straight edges cut off a round: e²/(8r).
    """
    chord = edge_mm**2 / (8.0 * max(radius_mm, 1e-9))
    return max(0.01, 0.003 * radius_mm, min(0.5 * chord, 0.05 * radius_mm))


def _believable(fit: RoundFit, scale: Scale) -> bool:
    least = fit.minor_radius_mm if fit.kind is RoundKind.TORUS else fit.radius_mm
    return (
        fit.radius_mm <= scale.size_mm
        and least > 1e-3
        and fit.residual_mm <= allowed_residual_mm(least, edge_mm=scale.edge_mm)
    )


def fit_sphere(points_mm: FloatArray, weights: FloatArray) -> RoundFit | None:
    """A sphere by linear least squares; None if the points are nearly flat."""
    middle = np.average(points_mm, axis=0, weights=weights)
    q = points_mm - middle
    root = np.sqrt(weights)
    rows = np.column_stack([2.0 * q, np.ones(len(q))]) * root[:, None]
    solved, _, rank, _ = np.linalg.lstsq(rows, (q**2).sum(axis=1) * root, rcond=1e-7)
    square = float(solved[3] + solved[:3] @ solved[:3])
    if rank < 4 or square <= 0.0:
        return None
    distance = np.linalg.norm(q - solved[:3], axis=1)
    return RoundFit(
        kind=RoundKind.SPHERE,
        centre_mm=middle + solved[:3],
        axis=np.array([0.0, 0.0, 1.0]),
        radius_mm=float(np.sqrt(square)),
        slope_ratio=0.0,
        minor_radius_mm=0.0,
        residual_mm=_rms(distance - np.sqrt(square), weights),
    )


def axis_met_by_normals(
    points_mm: FloatArray, normals: FloatArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Point (3,) and unit direction (3,) of the line that the normals meet best, in the least-squares sense."""
    middle = np.average(points_mm, axis=0, weights=weights)
    reach = max(float(np.abs(points_mm - middle).max()), 1e-12)
    rows = np.concatenate([np.cross((points_mm - middle) / reach, normals), normals], axis=1)
    moments = (rows * weights[:, None]).T @ rows / weights.sum()
    solve = np.linalg.pinv(moments[3:, 3:], rcond=1e-3, hermitian=True) @ moments[3:, :3]
    _, vectors = np.linalg.eigh(moments[:3, :3] - moments[:3, 3:] @ solve)
    direction = vectors[:, 0]
    moment = -solve @ direction
    return middle + np.cross(direction, moment) * reach, direction


def _fits_about_axis(
    points_mm: FloatArray, normals: FloatArray, weights: FloatArray, scale: Scale
) -> tuple[RoundFit | None, RoundFit | None]:
    point, axis = axis_met_by_normals(points_mm, normals, weights)
    rho, _ = profile_about(points_mm, point, axis)
    if not np.isfinite(rho).all() or float(rho.max()) > 2.0 * scale.size_mm:
        return None, None
    side = refine_side(points_mm, weights, point, axis, scale=scale)
    if side is not None and side.residual_mm <= allowed_residual_mm(side.radius_mm, edge_mm=scale.edge_mm):
        return side, None
    return side, refine_torus(points_mm, weights, point, axis, scale=scale)


def profile_about(points_mm: FloatArray, point: FloatArray, axis: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distance ρ from the axis and place ζ along it of each point: two (n,)."""
    away = points_mm - point
    zeta = away @ axis
    across = away - zeta[:, None] * axis
    rho: FloatArray = np.sqrt(np.einsum("ij,ij->i", across, across))
    return rho, zeta


def refine_side(
    points_mm: FloatArray, weights: FloatArray, point: FloatArray, axis: FloatArray, *, scale: Scale
) -> RoundFit | None:
    """Least-squares cylinder or cone from an axis that is nearly right."""
    rho, zeta = profile_about(points_mm, point, axis)
    middle = float(np.average(zeta, weights=weights))
    point = point + middle * axis
    slope, radius = (
        np.polyfit(zeta - middle, rho, 1, w=np.sqrt(weights)) if np.ptp(zeta) > 1e-9 else (0.0, rho.mean())
    )
    if not abs(slope) < 3.0:
        return None

    fit = _refined(points_mm, weights, point, axis, [radius, slope], _off_side, scale)
    if fit is None:
        return None
    centre, direction, (radius, slope), residual = fit
    cylinder = abs(slope) < np.tan(np.radians(CONE_FROM_DEG))
    return RoundFit(
        kind=RoundKind.CYLINDER if cylinder else RoundKind.CONE,
        centre_mm=centre,
        axis=direction,
        radius_mm=radius,
        slope_ratio=0.0 if cylinder else slope,
        minor_radius_mm=0.0,
        residual_mm=residual,
    )


def _off_side(own: FloatArray, rho: FloatArray, zeta: FloatArray) -> Off:
    """A straight side by its radius at ζ = 0 and its slope."""
    radius, slope = own
    long = np.sqrt(1.0 + slope**2)
    off = (rho - radius - slope * zeta) / long
    whole = np.ones(len(rho))
    by_own = np.column_stack([-whole / long, -zeta / long - off * slope / long**2])
    return Off(off_mm=off, by_rho=whole / long, by_zeta=-whole * slope / long, by_own=by_own)


def refine_torus(
    points_mm: FloatArray, weights: FloatArray, point: FloatArray, axis: FloatArray, *, scale: Scale
) -> RoundFit | None:
    """Least-squares torus from an axis that is nearly right."""
    rho, zeta = profile_about(points_mm, point, axis)
    rows = np.column_stack([2.0 * rho, 2.0 * zeta, np.ones(len(rho))]) * np.sqrt(weights)[:, None]
    solved, _, rank, _ = np.linalg.lstsq(rows, (rho**2 + zeta**2) * np.sqrt(weights), rcond=1e-9)
    square = float(solved[2] + solved[0] ** 2 + solved[1] ** 2)
    if rank < 3 or square <= 0.0 or solved[0] <= 0.0 or max(float(solved[0]), np.sqrt(square)) > scale.size_mm:
        return None

    start = [float(solved[0]), float(np.sqrt(square)), 0.0]
    fit = _refined(points_mm, weights, point + solved[1] * axis, axis, start, _off_torus, scale)
    if fit is None or fit[2][0] <= 0.0 or fit[2][1] <= 0.0:
        return None
    return RoundFit(
        kind=RoundKind.TORUS,
        centre_mm=fit[0] + fit[2][2] * fit[1],
        axis=fit[1],
        radius_mm=fit[2][0],
        slope_ratio=0.0,
        minor_radius_mm=fit[2][1],
        residual_mm=fit[3],
    )


def _off_torus(own: FloatArray, rho: FloatArray, zeta: FloatArray) -> Off:
    """An arc by its middle's ρ, its radius and its middle's ζ."""
    out, up = rho - own[0], zeta - own[2]
    away = np.maximum(np.hypot(out, up), 1e-300)
    out, up = out / away, up / away
    return Off(off_mm=away - own[1], by_rho=out, by_zeta=up, by_own=np.column_stack([-out, -np.ones(len(rho)), -up]))


def _refined(
    points_mm: FloatArray,
    weights: FloatArray,
    point: FloatArray,
    axis: FloatArray,
    start: list[float],
    profile: Callable[[FloatArray, FloatArray, FloatArray], Off],
    scale: Scale,
) -> tuple[FloatArray, FloatArray, list[float], float] | None:
    """Shift the axis by two lengths and two angles, and the profile's own figures, for the least residual."""
    frame = frame_along(axis)
    root = np.sqrt(weights / weights.mean())

    def placed(x: FloatArray) -> tuple[FloatArray, FloatArray, float]:
        to = frame[2] + x[2] * frame[0] + x[3] * frame[1]
        length = float(np.linalg.norm(to))
        return point + x[0] * frame[0] + x[1] * frame[1], to / length, length

    def off(x: FloatArray) -> FloatArray:
        weighted: FloatArray = profile(x[4:], *profile_about(points_mm, *placed(x)[:2])).off_mm * root
        return weighted

    def slopes(x: FloatArray) -> FloatArray:
        at, to, length = placed(x)
        rho, zeta = profile_about(points_mm, at, to)
        told = profile(x[4:], rho, zeta)
        away = points_mm - at
        outward = (away - zeta[:, None] * to) / np.maximum(rho, 1e-300)[:, None]
        sides = frame[:2]
        turned = (sides - np.outer(sides @ to, to)) / length
        moved = -told.by_rho[:, None] * (outward @ sides.T) - told.by_zeta[:, None] * (sides @ to)
        tilted = told.by_zeta[:, None] * (away @ turned.T) - (told.by_rho * zeta)[:, None] * (outward @ turned.T)
        weighted: FloatArray = np.concatenate([moved, tilted, told.by_own], axis=1) * root[:, None]
        return weighted

    x0 = np.array([0.0, 0.0, 0.0, 0.0, *start])
    steps = np.array([1.0, 1.0, 1.0 / scale.size_mm, 1.0 / scale.size_mm, *([1.0] * len(start))])
    solved = least_squares(off, x0, slopes, method="lm", x_scale=steps, ftol=1e-6, xtol=1e-6, max_nfev=MOST_STEPS)
    if not np.isfinite(solved.x).all():
        return None
    centre, direction, _ = placed(solved.x)
    return centre, direction, [float(v) for v in solved.x[4:]], float(np.sqrt(2.0 * solved.cost / len(points_mm)))


def _rms(values: FloatArray, weights: FloatArray) -> float:
    return float(np.sqrt(np.average(values**2, weights=weights)))
