"""Round shapes within a larger smooth surface: many guesses from few oriented points, the best kept and refined.

References
----------
Schnabel, Wahl & Klein, "Efficient RANSAC for point-cloud shape detection", Computer Graphics Forum 26(2) (2007)
214-226, doi:10.1111/j.1467-8659.2007.01016.x: the guesses from two, three and four oriented points.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from firstpour.kernels import round as kernel
from firstpour.rounds.fit_round import RoundFit, RoundKind, Scale, allowed_residual_mm
from firstpour.values import BoolArray, FloatArray, IntArray

GUESSES = 250
"""Guesses a kind of shape and round."""
AGREE_DEG = 15.0
STRAIGHT = -1.0
LARGEST_RATIO = 0.6
"""Radii above this share of the part's diagonal are not guessed."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cloud:
    """Points (n, 3), unit normals (n, 3) and weights (n,) of faces."""

    points_mm: FloatArray
    normals: FloatArray
    weights: FloatArray


def part_of(cloud: Cloud, faces: IntArray) -> Cloud:
    """The cloud of some of the faces."""
    return Cloud(points_mm=cloud.points_mm[faces], normals=cloud.normals[faces], weights=cloud.weights[faces])


def sampled(cloud: Cloud, faces: IntArray, count: int) -> IntArray:
    """At most `count` of the faces, spread evenly over their area."""
    if len(faces) <= count:
        return faces
    total = np.cumsum(cloud.weights[faces])
    places = (np.arange(count) + 0.5) / count * total[-1]
    chosen: IntArray = faces[np.unique(np.searchsorted(total, places))]
    return chosen


def best_guess(cloud: Cloud, *, scale: Scale, chance: np.random.Generator) -> FloatArray | None:
    """The guess (9,) that most of the weight agrees with; see `kernels.round.score_revolved` for its figures."""
    near = near_sets(cloud.points_mm, chance)
    guesses = np.concatenate(
        [_cylinders(cloud, near[:, :2]), _spheres(cloud, near[:, :2]), _cones(cloud, near[:, :3]), _tori(cloud, near)]
    )
    small = np.where(guesses[:, 8] < 0.0, guesses[:, 6], guesses[:, 8])
    usable = (
        np.isfinite(guesses).all(axis=1) & (small > 0.05) & (np.abs(guesses[:, 6]) < LARGEST_RATIO * scale.size_mm)
    )
    guesses = guesses[usable & (guesses[:, 8] < LARGEST_RATIO * scale.size_mm)]
    if len(guesses) == 0:
        return None
    scores = kernel.score_revolved(
        cloud.points_mm,
        cloud.normals,
        cloud.weights,
        guesses,
        _near_mm(guesses, scale),
        np.cos(np.radians(AGREE_DEG)),
    )
    best: FloatArray = guesses[int(np.argmax(scores))]
    return best


def agreeing(cloud: Cloud, guess: FloatArray, *, scale: Scale) -> BoolArray:
    """Which points (n,) agree with the guess (9,)."""
    near, aligned = float(_near_mm(guess[None], scale)[0]), np.cos(np.radians(AGREE_DEG))
    agrees = kernel.agreeing_points(cloud.points_mm, cloud.normals, guess, near, aligned)
    return np.asarray(agrees, dtype=np.bool_)


def as_guess(fit: RoundFit) -> FloatArray:
    """A fitted shape as a guess (9,)."""
    if fit.kind is RoundKind.SPHERE:
        profile = [0.0, 0.0, fit.radius_mm]
    elif fit.kind is RoundKind.TORUS:
        profile = [fit.radius_mm, 0.0, fit.minor_radius_mm]
    else:
        profile = [fit.radius_mm, fit.slope_ratio, STRAIGHT]
    return np.array([*fit.centre_mm, *fit.axis, *profile])


def _near_mm(guesses: FloatArray, scale: Scale) -> FloatArray:
    small = np.where(guesses[:, 8] < 0.0, guesses[:, 6], guesses[:, 8])
    near: FloatArray = np.array([2.5 * allowed_residual_mm(float(r), edge_mm=scale.edge_mm) for r in small])
    return near


def near_sets(points_mm: FloatArray, chance: np.random.Generator) -> IntArray:
    """Sets of four points (k, 4): half of them close together, half from anywhere."""
    count = len(points_mm)
    first = chance.integers(0, count, GUESSES)
    close = cKDTree(points_mm).query(points_mm[first], k=min(60, count))[1]
    sets = np.empty((GUESSES, 4), np.int64)
    sets[:, 0] = first
    for k in range(1, 4):
        sets[:, k] = close[np.arange(GUESSES), chance.integers(1, close.shape[1], GUESSES)]
    half = GUESSES // 2
    sets[:half, 1:] = chance.integers(0, count, (half, 3))
    return sets


def _cylinders(cloud: Cloud, sets: IntArray) -> FloatArray:
    """Two normals give the axis' direction; where they meet, seen along it, lies the axis."""
    p, n = cloud.points_mm[sets], cloud.normals[sets]
    axis = np.cross(n[:, 0], n[:, 1])
    length = np.linalg.norm(axis, axis=1)
    keep = length > 0.05
    p, n, axis = p[keep], n[keep], axis[keep] / length[keep, None]
    between = p[:, 1] - p[:, 0]
    along = np.einsum("ij,ij->i", np.cross(between, n[:, 1]), axis) / length[keep]
    point = p[:, 0] + along[:, None] * n[:, 0]
    return _guesses(point, axis, np.abs(along), np.zeros(len(along)), np.full(len(along), STRAIGHT))


def _spheres(cloud: Cloud, sets: IntArray) -> FloatArray:
    """The normals' lines nearly meet in the centre."""
    p, n = cloud.points_mm[sets], cloud.normals[sets]
    cosine = np.einsum("ij,ij->i", n[:, 0], n[:, 1])
    keep = 1.0 - cosine**2 > 0.0025
    p, n, cosine = p[keep], n[keep], cosine[keep]
    between = p[:, 1] - p[:, 0]
    d0, d1 = np.einsum("ij,ij->i", between, n[:, 0]), np.einsum("ij,ij->i", between, n[:, 1])
    s = (d0 - cosine * d1) / (1.0 - cosine**2)
    t = (cosine * d0 - d1) / (1.0 - cosine**2)
    centre = 0.5 * (p[:, 0] + s[:, None] * n[:, 0] + p[:, 1] + t[:, None] * n[:, 1])
    radius = 0.5 * (np.linalg.norm(p[:, 0] - centre, axis=1) + np.linalg.norm(p[:, 1] - centre, axis=1))
    none = np.zeros(len(radius))
    return _guesses(centre, np.tile([0.0, 0.0, 1.0], (len(radius), 1)), none, none, radius)


def _cones(cloud: Cloud, sets: IntArray) -> FloatArray:
    """The three tangent planes meet in the apex; the axis is square to the three unit slants' plane."""
    p, n = cloud.points_mm[sets], cloud.normals[sets]
    keep = np.abs(np.linalg.det(n)) > 0.02
    p, n = p[keep], n[keep]
    apex = np.linalg.solve(n, np.einsum("ijk,ijk->ij", p, n)[..., None])[..., 0]
    slant = p - apex[:, None]
    slant /= np.maximum(np.linalg.norm(slant, axis=2, keepdims=True), 1e-9)
    axis = np.cross(slant[:, 1] - slant[:, 0], slant[:, 2] - slant[:, 0])
    length = np.linalg.norm(axis, axis=1)
    axis = axis / np.maximum(length, 1e-12)[:, None]
    axis *= np.where(np.einsum("ij,ij->i", axis, slant[:, 0]) < 0.0, -1.0, 1.0)[:, None]
    cosine = np.clip(np.einsum("ij,ij->i", axis, slant[:, 0]), 1e-6, 1.0)
    slope = np.sqrt(1.0 - cosine**2) / cosine
    height = np.einsum("ij,ij->i", p[:, 0] - apex, axis)
    found: FloatArray = _guesses(
        apex + height[:, None] * axis, axis, slope * height, slope, np.full(len(slope), STRAIGHT)
    )
    usable: FloatArray = found[(slope < 3.0) & (length > 1e-3)]
    return usable


def _tori(cloud: Cloud, sets: IntArray) -> FloatArray:
    """An axis that four normals meet, and the arc through three of the points about it."""
    axes, chosen = _axes_and_sets(cloud, sets)
    return _arcs(cloud.points_mm[sets[chosen]], axes[:, :3], axes[:, 3:])


def normal_axes(cloud: Cloud, sets: IntArray) -> FloatArray:
    """Lines that the normals of four points meet, for each set of four: (k, 6), point and unit direction."""
    return _axes_and_sets(cloud, sets)[0]


def _axes_and_sets(cloud: Cloud, sets: IntArray) -> tuple[FloatArray, IntArray]:
    """Four lines are met by at most two lines: each is an axis (k, 6), with the number of its set (k,)."""
    middle = cloud.points_mm.mean(axis=0)
    reach = float(np.abs(cloud.points_mm - middle).max())
    p, n = (cloud.points_mm[sets] - middle) / reach, cloud.normals[sets]
    null = np.linalg.svd(np.concatenate([np.cross(p, n), n], axis=2))[2][:, 4:]
    x, y = null[:, 0], null[:, 1]
    a = np.einsum("ij,ij->i", x[:, :3], x[:, 3:])
    b = np.einsum("ij,ij->i", x[:, :3], y[:, 3:]) + np.einsum("ij,ij->i", y[:, :3], x[:, 3:])
    c = np.einsum("ij,ij->i", y[:, :3], y[:, 3:])
    inside = b * b - 4.0 * a * c
    real = np.flatnonzero((inside >= 0.0) & (np.abs(a) > 1e-9))
    axes, chosen = [], []
    for sign in (-1.0, 1.0):
        share = (-b[real] + sign * np.sqrt(inside[real])) / (2.0 * a[real])
        line = share[:, None] * x[real] + y[real]
        length = np.linalg.norm(line[:, :3], axis=1)
        solid = length > 1e-6
        axis = line[solid, :3] / length[solid, None]
        point = np.cross(axis, line[solid, 3:] / length[solid, None]) * reach + middle
        axes.append(np.concatenate([point, axis], axis=1))
        chosen.append(real[solid])
    return np.concatenate(axes), np.concatenate(chosen)


def _arcs(points_mm: FloatArray, point: FloatArray, axis: FloatArray) -> FloatArray:
    away = points_mm - point[:, None]
    zeta = np.einsum("ijk,ik->ij", away, axis)
    rho = np.linalg.norm(away - zeta[..., None] * axis[:, None], axis=2)
    rows = np.stack([2.0 * rho[:, :3], 2.0 * zeta[:, :3], np.ones_like(rho[:, :3])], axis=2)
    keep = np.abs(np.linalg.det(rows)) > 1e-6
    rows, rho, zeta = rows[keep], rho[keep], zeta[keep]
    solved = np.linalg.solve(rows, (rho[:, :3] ** 2 + zeta[:, :3] ** 2)[..., None])[..., 0]
    radius = np.sqrt(np.maximum(solved[:, 2] + solved[:, 0] ** 2 + solved[:, 1] ** 2, 0.0))
    found = _guesses(
        point[keep] + solved[:, 1:2] * axis[keep], axis[keep], solved[:, 0], np.zeros(len(radius)), radius
    )
    return found[solved[:, 0] > 0.0]


def _guesses(point: FloatArray, axis: FloatArray, p: FloatArray, q: FloatArray, s: FloatArray) -> FloatArray:
    return np.column_stack([point, axis, p, q, s])
