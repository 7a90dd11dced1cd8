"""Walls that are round about one axis whatever their profile: what a lathe could have turned."""

from dataclasses import dataclass

import numpy as np

from firstpour.kernels import round as kernel
from firstpour.rounds.fit_round import Scale, axis_met_by_normals, profile_about
from firstpour.rounds.guess_round import Cloud, near_sets, normal_axes, part_of, sampled
from firstpour.surface.edges import Edges
from firstpour.surface.regions import joined
from firstpour.values import BoolArray, FloatArray, IntArray

AGREE_DEG = 5.0
REFINE_DEG = (5.0, 4.0, 3.0, 2.0, 2.0)
"""A normal that leaves the plane through the axis by more than this is not turned about it."""
WALL_RATIO = 0.7
"""A face is a wall if its normal is at least this far square to the axis."""
LEAST_SHARE = 0.3
"""Share of a smooth region's walls that must agree before it is called turned."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """Faces turned about an axis: `walls` in groups, each of one wall; `faces` all that agree with the axis."""

    point_mm: FloatArray
    axis: FloatArray
    walls: tuple[IntArray, ...]
    faces: IntArray


def find_turned(
    cloud: Cloud, region: IntArray, edges: Edges, *, scale: Scale, chance: np.random.Generator
) -> Turned | None:
    """The axis about which most of a smooth region is turned, if LEAST_SHARE of its walls agree; else None."""
    sample = part_of(cloud, sampled(cloud, region, 1500))
    axes = normal_axes(sample, near_sets(sample.points_mm, chance))
    if len(axes) == 0:
        return None
    least_mm, sine = 0.01 * scale.size_mm, float(np.sin(np.radians(AGREE_DEG)))
    scores = kernel.score_axes(sample.points_mm, sample.normals, sample.weights, axes, sine, least_mm)
    best = axes[int(np.argmax(scores))]
    point, axis = best[:3], best[3:]
    for within_deg in REFINE_DEG:
        agrees = _walls_about(sample, point, axis, within_deg=within_deg, least_mm=least_mm)
        if agrees.sum() < 12:
            return None
        chosen = part_of(sample, np.flatnonzero(agrees))
        point, axis = axis_met_by_normals(chosen.points_mm, chosen.normals, chosen.weights)
    agrees = _walls_about(sample, point, axis, within_deg=AGREE_DEG, least_mm=least_mm)
    walls = _is_wall(sample, axis)
    if sample.weights[agrees].sum() < LEAST_SHARE * max(float(sample.weights[walls].sum()), 1e-12):
        return None
    return _turned(cloud, region, edges, point, axis, least_mm)


def _is_wall(cloud: Cloud, axis: FloatArray) -> BoolArray:
    wall: BoolArray = np.abs(cloud.normals @ axis) <= np.sqrt(1.0 - WALL_RATIO**2)
    return wall


def _walls_about(
    cloud: Cloud, point: FloatArray, axis: FloatArray, *, within_deg: float, least_mm: float
) -> BoolArray:
    agrees = agreeing_with_axis(cloud, point, axis, within_deg=within_deg, least_mm=least_mm)
    walls: BoolArray = agrees & _is_wall(cloud, axis)
    return walls


def agreeing_with_axis(
    cloud: Cloud, point: FloatArray, axis: FloatArray, *, within_deg: float, least_mm: float
) -> BoolArray:
    """Which normals (n,) lie within `within_deg` of the plane through the axis and their point."""
    away = cloud.points_mm - point
    across = np.cross(axis, away)
    rho = np.linalg.norm(across, axis=1)
    leaving = np.abs(np.einsum("ij,ij->i", cloud.normals, across)) / np.maximum(rho, 1e-12)
    agrees: BoolArray = (leaving <= np.sin(np.radians(within_deg))) & (rho >= least_mm)
    return agrees


def _turned(
    cloud: Cloud, region: IntArray, edges: Edges, point: FloatArray, axis: FloatArray, least_mm: float
) -> Turned:
    whole = part_of(cloud, region)
    for _ in range(2):
        chosen = part_of(whole, np.flatnonzero(_walls_about(whole, point, axis, within_deg=2.0, least_mm=least_mm)))
        point, axis = axis_met_by_normals(chosen.points_mm, chosen.normals, chosen.weights)
    agrees = agreeing_with_axis(whole, point, axis, within_deg=AGREE_DEG, least_mm=least_mm)
    faces = region[agrees & _is_wall(whole, axis)]
    patches = _patches(len(cloud.weights), faces, edges, cloud.weights)
    return Turned(point_mm=point, axis=axis, walls=_grouped(cloud, patches, point, axis), faces=region[agrees])


def _patches(count: int, faces: IntArray, edges: Edges, areas: FloatArray) -> list[IntArray]:
    """The faces in connected patches of 12 or more, largest first."""
    chosen = np.zeros(count, np.bool_)
    chosen[faces] = True
    labels = joined(count, edges.faces[chosen[edges.faces].all(axis=1)])[faces]
    order = np.argsort(labels, kind="stable")
    patches = np.split(faces[order], np.flatnonzero(np.diff(labels[order])) + 1)
    return sorted((one for one in patches if len(one) >= 12), key=lambda one: -float(areas[one].sum()))


def _grouped(cloud: Cloud, patches: list[IntArray], point: FloatArray, axis: FloatArray) -> tuple[IntArray, ...]:
    """Patches joined that lie at the same place along the axis, equally far from it, and look the same way."""
    groups: list[tuple[IntArray, tuple[float, float, float, float]]] = []
    for patch in patches:
        here = _extent(cloud, patch, point, axis)
        for k, (faces, there) in enumerate(groups):
            if (
                here[3] == there[3]
                and here[0] < there[1]
                and there[0] < here[1]
                and abs(here[2] - there[2]) < 0.04 * there[2]
            ):
                groups[k] = (np.concatenate([faces, patch]), there)
                break
        else:
            groups.append((patch, here))
    return tuple(faces for faces, _ in groups)


def _extent(cloud: Cloud, faces: IntArray, point: FloatArray, axis: FloatArray) -> tuple[float, float, float, float]:
    """Lowest and highest place along the axis, mean distance from it, and 1 if the faces look outwards, else −1."""
    rho, zeta = profile_about(cloud.points_mm[faces], point, axis)
    away = cloud.points_mm[faces] - point - zeta[:, None] * axis
    outward = float(np.einsum("ij,ij->i", cloud.normals[faces], away) @ cloud.weights[faces])
    mean = float(np.average(rho, weights=cloud.weights[faces] + 1e-12))
    return float(zeta.min()), float(zeta.max()), mean, 1.0 if outward > 0.0 else -1.0
