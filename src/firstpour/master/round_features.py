"""Round features of a part: found in its mesh and fitted, so that their roundness as printed can be worked out."""

from dataclasses import dataclass

import numpy as np

from firstpour.master.fit_round import RoundFit, RoundKind, allowed_residual_mm, fit_round
from firstpour.master.guess_round import Cloud, agreeing, as_guess, best_guess
from firstpour.master.regions import Neighbours, joined, neighbours_of, smooth_regions
from firstpour.master.sections import RoundSection, round_section
from firstpour.values import FloatArray, IntArray, Mesh, face_centres_mm, face_normals, face_vectors_mm2, frozen_array

CREASE_DEG = 32.0
SAMPLE_FACES = 1500
LEAST_TURN_RATIO = 0.5
"""A feature that covers less of a turn than this is not called round."""
LEAST_AREA_RATIO = 0.005
"""Within a larger smooth surface, a feature below this share of the part's area is not looked for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoundFeature:
    """A round feature: its fitted shape, the faces that carry it, and one section square to its axis.

    `material` is 1 for a shaft or boss, −1 for a hole.
    """

    fit: RoundFit
    faces: IntArray
    area_mm2: float
    material: int
    section: RoundSection

    @property
    def radius_mm(self) -> float:
        """Radius of the section, as drawn."""
        return self.section.radius_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    fit: RoundFit
    faces: IntArray


def find_round_features(mesh: Mesh, *, keep: int = 12) -> tuple[RoundFeature, ...]:
    """Find the cylinders, cones, tori and spheres of a closed mesh that go half round or more, largest first.

    Smooth regions between creases are fitted whole; what does not fit whole is searched for shapes within it.
    """
    neighbours = neighbours_of(mesh)
    labels = smooth_regions(mesh, neighbours, crease_deg=CREASE_DEG)
    cloud = _cloud(mesh)
    size_mm = float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0)))
    chance = np.random.default_rng(12)
    found: list[_Found] = []
    for region in _large_regions(labels, cloud.weights, keep=10 * keep):
        whole = _fit_faces(mesh, cloud, region, size_mm)
        found += [whole] if whole is not None else _within(mesh, cloud, region, neighbours, size_mm, chance)
    features = (_feature(mesh, cloud, one) for one in _merged(found, mesh, cloud, size_mm))
    whole_enough = [one for one in features if one is not None and one.section.turn_ratio >= LEAST_TURN_RATIO]
    return tuple(sorted(whole_enough, key=lambda one: -one.area_mm2)[:keep])


def _cloud(mesh: Mesh) -> Cloud:
    areas = np.linalg.norm(face_vectors_mm2(mesh), axis=1)
    return Cloud(points_mm=face_centres_mm(mesh), normals=face_normals(mesh), weights=areas)


def _part_of(cloud: Cloud, faces: IntArray) -> Cloud:
    return Cloud(points_mm=cloud.points_mm[faces], normals=cloud.normals[faces], weights=cloud.weights[faces])


def _large_regions(labels: IntArray, areas: FloatArray, *, keep: int) -> list[IntArray]:
    """Faces of the regions of 8 faces or more, largest area first."""
    order = np.argsort(labels, kind="stable")
    regions = np.split(order, np.flatnonzero(np.diff(labels[order])) + 1)
    regions = [region for region in regions if len(region) >= 8]
    return sorted(regions, key=lambda region: -float(areas[region].sum()))[:keep]


def _sampled(cloud: Cloud, faces: IntArray, count: int) -> IntArray:
    """At most `count` of the faces, spread evenly over their area."""
    if len(faces) <= count:
        return faces
    total = np.cumsum(cloud.weights[faces])
    places = (np.arange(count) + 0.5) / count * total[-1]
    chosen: IntArray = faces[np.unique(np.searchsorted(total, places))]
    return chosen


def _within_faces(mesh: Mesh, faces: IntArray) -> FloatArray:
    """Three points a face (3·k, 3), each near a corner, so that long faces show their whole length."""
    corners = mesh.vertices_mm[mesh.faces[faces]]
    near: FloatArray = (0.8 * corners + 0.2 * corners.mean(axis=1, keepdims=True)).reshape(-1, 3)
    return near


def _fit_faces(mesh: Mesh, cloud: Cloud, faces: IntArray, size_mm: float) -> _Found | None:
    chosen = _sampled(cloud, faces, SAMPLE_FACES // 3)
    chosen = chosen[cloud.weights[chosen] > 0.0]
    weights, normals = cloud.weights[chosen], cloud.normals[chosen]
    if len(chosen) < 8 or np.linalg.norm(np.average(normals, axis=0, weights=weights)) > 0.995:
        return None
    points = _within_faces(mesh, chosen)
    fit = fit_round(points, np.repeat(normals, 3, axis=0), np.repeat(weights, 3), size_mm=size_mm)
    return None if fit is None else _Found(fit=fit, faces=faces)


def _within(
    mesh: Mesh, cloud: Cloud, region: IntArray, neighbours: Neighbours, size_mm: float, chance: np.random.Generator
) -> list[_Found]:
    """Shapes within one smooth region, each taken out before the next is looked for."""
    found: list[_Found] = []
    total = float(cloud.weights.sum())
    left = region
    misses = 0
    while misses < 3 and len(left) >= 200 and cloud.weights[left].sum() > 4 * LEAST_AREA_RATIO * total:
        one = _next_within(mesh, cloud, left, neighbours, size_mm, chance)
        if one is None or cloud.weights[one.faces].sum() < LEAST_AREA_RATIO * total:
            misses += 1
            continue
        found.append(one)
        left = np.setdiff1d(left, one.faces, assume_unique=True)
    return found


def _next_within(
    mesh: Mesh, cloud: Cloud, faces: IntArray, neighbours: Neighbours, size_mm: float, chance: np.random.Generator
) -> _Found | None:
    guess = best_guess(_part_of(cloud, _sampled(cloud, faces, SAMPLE_FACES)), size_mm=size_mm, chance=chance)
    if guess is None:
        return None
    for _ in range(2):
        agreed = _largest_patch(faces[agreeing(_part_of(cloud, faces), guess)], cloud, neighbours)
        if len(agreed) < 24:
            return None
        one = _fit_faces(mesh, cloud, agreed, size_mm)
        if one is None:
            return None
        guess = as_guess(one.fit)
    return one


def _largest_patch(faces: IntArray, cloud: Cloud, neighbours: Neighbours) -> IntArray:
    if len(faces) == 0:
        return faces
    count = len(cloud.weights)
    chosen = np.zeros(count, np.bool_)
    chosen[faces] = True
    labels = joined(count, neighbours.pairs[chosen[neighbours.pairs].all(axis=1)])[faces]
    patch: IntArray = faces[labels == np.argmax(np.bincount(labels, cloud.weights[faces]))]
    return patch


def _merged(found: list[_Found], mesh: Mesh, cloud: Cloud, size_mm: float) -> list[_Found]:
    """Join patches of the same surface that something between them keeps apart."""
    merged: list[_Found] = []
    for one in found:
        for k, other in enumerate(merged):
            if _same_surface(one.fit, other.fit):
                faces = np.concatenate([one.faces, other.faces])
                joint = _fit_faces(mesh, cloud, faces, size_mm)
                if joint is not None and joint.fit.kind is other.fit.kind:
                    merged[k] = joint
                    break
        else:
            merged.append(one)
    return merged


def _same_surface(one: RoundFit, other: RoundFit) -> bool:
    near = 4.0 * allowed_residual_mm(max(one.radius_mm, other.radius_mm))
    away = one.centre_mm - other.centre_mm
    if one.kind is not other.kind or abs(one.minor_radius_mm - other.minor_radius_mm) > near:
        return False
    if one.kind in (RoundKind.SPHERE, RoundKind.TORUS):
        return float(np.linalg.norm(away)) < near and abs(one.radius_mm - other.radius_mm) < near
    along = float(away @ other.axis)
    aside = float(np.linalg.norm(away - along * other.axis))
    slope = other.slope_ratio * along
    sign = 1.0 if one.axis @ other.axis > 0.0 else -1.0
    return (
        aside < near
        and abs(float(one.axis @ other.axis)) > np.cos(np.radians(2.0))
        and abs(one.radius_mm - other.radius_mm - slope) < near
        and abs(one.slope_ratio * sign - other.slope_ratio) < 0.02
    )


def _feature(mesh: Mesh, cloud: Cloud, found: _Found) -> RoundFeature | None:
    patch = _part_of(cloud, found.faces)
    section = round_section(mesh, found.faces, patch.points_mm, patch.normals, patch.weights, found.fit)
    if section is None:
        return None
    outward = (patch.points_mm - section.centre_mm) - ((patch.points_mm - section.centre_mm) @ section.axis)[
        :, None
    ] * section.axis
    facing = float(np.average(np.einsum("ij,ij->i", outward, patch.normals), weights=patch.weights))
    return RoundFeature(
        fit=found.fit,
        faces=frozen_array(found.faces, np.int64),
        area_mm2=float(patch.weights.sum()),
        material=1 if facing > 0.0 else -1,
        section=section,
    )
