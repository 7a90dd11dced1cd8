"""The section of a round feature square to its axis, cut from the mesh itself."""

from dataclasses import dataclass

import numpy as np

from firstpour.kernels import round as kernel
from firstpour.rounds.fit_round import RoundFit, RoundKind, profile_about
from firstpour.values import FloatArray, IntArray, Mesh, frame_along, frozen_array

TURN_PARTS = 720
UNDULATIONS = 50.0
"""Waves a turn above which a profile is texture, not form (ISO 12181-2 offers 15, 50, 150, 500; from memory)."""

STATIONS = (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95)
"""Places along the feature (shares of its length by area) at which a section is tried."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundSection:
    """Radius over one turn, `radii_mm` (720,), NaN where the feature has a gap; angles from `frame[0]` to `frame[1]`.

    `frame` (3, 3): rows u, v, axis. `slope_ratio` is how the radius grows along the axis at the section. `turn_ratio`
    is the share of the turn that has surface; `drawn_mm` the out-of-round that the mesh itself has. `whole_sphere`
    has no axis of its own.
    """

    centre_mm: FloatArray
    frame: FloatArray
    radii_mm: FloatArray
    radius_mm: float
    slope_ratio: float
    turn_ratio: float
    drawn_mm: float
    whole_sphere: bool

    @property
    def axis(self) -> FloatArray:
        """Unit axis (3,)."""
        axis: FloatArray = self.frame[2]
        return axis


def round_section(
    mesh: Mesh, faces: IntArray, points_mm: FloatArray, normals: FloatArray, weights: FloatArray, fit: RoundFit
) -> RoundSection | None:
    """The fullest of several sections of the faces square to the feature's axis; None if all miss."""
    axis, whole_sphere = _axis_of(fit, normals, weights)
    rho, zeta = profile_about(points_mm, fit.centre_mm, axis)
    order = np.argsort(zeta)
    total = np.cumsum(weights[order])
    frame = frame_along(axis)
    turned = (mesh.vertices_mm - fit.centre_mm) @ frame.T
    best: RoundSection | None = None
    for share in STATIONS:
        level = float(zeta[order[np.searchsorted(total, share * total[-1])]])
        slope = _slope_at(points_mm, normals, weights, fit, axis, rho, zeta, level)
        radii = _trimmed(section_radii_mm(turned, mesh.faces[faces], level))
        turn_ratio = float(np.isfinite(radii).mean())
        if (
            slope is None
            or np.isfinite(radii).sum() < 3
            or (best is not None and not _fuller(turn_ratio, slope, best))
        ):
            continue
        drawn_mm, radius_mm = _circle_of(radii)
        best = RoundSection(
            centre_mm=frozen_array(fit.centre_mm + level * axis, np.float64),
            frame=frozen_array(frame, np.float64),
            radii_mm=frozen_array(radii, np.float64),
            radius_mm=radius_mm,
            slope_ratio=slope,
            turn_ratio=turn_ratio,
            drawn_mm=drawn_mm,
            whole_sphere=whole_sphere,
        )
    return best


def _trimmed(radii: FloatArray) -> FloatArray:
    """The turn without what leaves its round: lugs, keyways, blends. Far off is 4.5 times the median distance."""
    if not np.isfinite(radii).any():
        return radii
    middle = float(np.nanmedian(radii))
    off = np.abs(radii - middle)
    allowed_mm = max(4.5 * float(np.nanmedian(off)), 0.002 * middle)
    trimmed: FloatArray = np.where(off <= allowed_mm, radii, np.nan)
    return trimmed


def _fuller(turn_ratio: float, slope: float, best: RoundSection) -> bool:
    """Whether a section says more than the best so far: more of the turn, or as much on a steeper wall."""
    return turn_ratio - 0.1 * abs(slope) > best.turn_ratio - 0.1 * abs(best.slope_ratio) + 0.02


def section_radii_mm(turned_mm: FloatArray, faces: IntArray, level_mm: float) -> FloatArray:
    """Radius over one turn (720,) of the outline in which the faces (m, 3) meet the plane z = `level_mm`.

    `turned_mm` (n, 3): vertices with the axis on z through the origin. Gaps of up to 1° are bridged.
    """
    corners = turned_mm[faces]
    above = corners[:, :, 2] > level_mm
    cut = corners[above.any(axis=1) & ~above.all(axis=1)]
    if len(cut) == 0:
        return np.full(TURN_PARTS, np.nan)
    above = cut[:, :, 2] > level_mm
    ends = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        rise = cut[:, b, 2] - cut[:, a, 2]
        share = (level_mm - cut[:, a, 2]) / np.where(rise == 0.0, 1.0, rise)
        place = cut[:, a, :2] + share[:, None] * (cut[:, b, :2] - cut[:, a, :2])
        ends.append(np.where((above[:, a] != above[:, b])[:, None], place, np.nan))
    crossings = np.stack(ends, axis=1)
    order = np.argsort(np.isnan(crossings[:, :, 0]), axis=1, kind="stable")[:, :2]
    pieces = np.take_along_axis(crossings, order[:, :, None], axis=1)
    return _radii_of(pieces[:, 0], pieces[:, 1])


def _radii_of(start: FloatArray, end: FloatArray) -> FloatArray:
    """Mean radius in each part of the turn along straight pieces start–end (k, 2)."""
    angle = np.arctan2(start[:, 1], start[:, 0])
    sweep = np.arctan2(
        start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0], start[:, 0] * end[:, 0] + start[:, 1] * end[:, 1]
    )
    first = np.ceil(np.minimum(angle, angle + sweep) / (2 * np.pi) * TURN_PARTS).astype(np.int64)
    last = np.floor(np.maximum(angle, angle + sweep) / (2 * np.pi) * TURN_PARTS).astype(np.int64)
    counts = np.maximum(last - first + 1, 0)
    piece = np.repeat(np.arange(len(start)), counts)
    part = first[piece] + np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
    ray = np.stack([np.cos(part * 2 * np.pi / TURN_PARTS), np.sin(part * 2 * np.pi / TURN_PARTS)], axis=1)
    along = end[piece] - start[piece]
    across = ray[:, 0] * along[:, 1] - ray[:, 1] * along[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = (start[piece, 0] * along[:, 1] - start[piece, 1] * along[:, 0]) / across
    fine = np.isfinite(radius) & (radius > 0.0)
    index = part[fine] % TURN_PARTS
    hits = np.bincount(index, minlength=TURN_PARTS)
    sums = np.bincount(index, radius[fine], minlength=TURN_PARTS)
    radii = np.where(hits > 0, sums / np.maximum(hits, 1), np.nan)
    return _bridged(radii)


def _bridged(radii: FloatArray) -> FloatArray:
    """Gaps of one or two parts filled from their two sides."""
    filled = radii.copy()
    for width in (1, 2):
        for k in range(1, width + 1):
            before, after = np.roll(radii, k), np.roll(radii, -(width + 1 - k))
            share = k / (width + 1)
            filled = np.where(np.isnan(filled), before * (1 - share) + after * share, filled)
    return filled


def _circle_of(radii: FloatArray) -> tuple[float, float]:
    """Out-of-round and mean radius (mm) of a turn with at least 3 parts."""
    there = np.isfinite(radii)
    angles = np.arange(TURN_PARTS)[there] * 2 * np.pi / TURN_PARTS
    r = radii[there]
    points = np.stack([r * np.cos(angles), r * np.sin(angles), np.ones_like(r)], axis=1)
    spread_mm, _ = kernel.circle_spread(kernel.smoothed_turn(points, UNDULATIONS))
    return float(spread_mm), float(kernel.circle_spread(points)[1])


def _axis_of(fit: RoundFit, normals: FloatArray, weights: FloatArray) -> tuple[FloatArray, bool]:
    """The fit's axis; for part of a sphere the way its middle looks; a whole sphere has none."""
    if fit.kind is not RoundKind.SPHERE:
        return fit.axis, False
    mean = np.average(normals, axis=0, weights=weights)
    length = float(np.linalg.norm(mean))
    if length < 0.1:
        return fit.axis, True
    return mean / length, False


def _slope_at(
    points_mm: FloatArray,
    normals: FloatArray,
    weights: FloatArray,
    fit: RoundFit,
    axis: FloatArray,
    rho: FloatArray,
    zeta: FloatArray,
    level_mm: float,
) -> float | None:
    """dr/da at a level from the normals of the nearest faces; None where the surface lies nearly level there."""
    near = np.argsort(np.abs(zeta - level_mm))[:40]
    outward = (points_mm[near] - fit.centre_mm) - zeta[near, None] * axis
    outward /= np.maximum(rho[near], 1e-12)[:, None]
    across = float(np.average(np.einsum("ij,ij->i", normals[near], outward), weights=weights[near] + 1e-12))
    along = float(np.average(normals[near] @ axis, weights=weights[near] + 1e-12))
    if abs(across) < 0.6:
        return None
    return -along / across
