"""Round features of a part: found in its mesh and fitted, so that their roundness as printed can be worked out."""

from dataclasses import dataclass

import numpy as np

from firstpour.rounds.fit_round import RoundFit, RoundKind, Scale, allowed_residual_mm, fit_round, profile_about
from firstpour.rounds.guess_round import LARGEST_RATIO, Cloud, agreeing, as_guess, best_guess, part_of, sampled
from firstpour.rounds.sections import RoundSection, round_section
from firstpour.rounds.turned import Turned, find_turned
from firstpour.surface.edges import Edges, edge_cosines, edges_of
from firstpour.surface.regions import joined, smooth_regions
from firstpour.values import (
    BoolArray,
    FloatArray,
    IntArray,
    Mesh,
    face_centres_mm,
    face_normals,
    face_vectors_mm2,
    frozen_array,
)

CREASE_DEG = 32.0
SAMPLE_FACES = 1500
LEAST_TURN_RATIO = 0.5
"""A feature that covers less of a turn than this is not called round."""
MOST_DRAWN_RATIO = 0.04
MOST_MISSES = 6
LEAST_AREA_RATIO = 0.002
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


def find_round_features(mesh: Mesh, *, keep: int = 12, search: bool = True) -> tuple[RoundFeature, ...]:
    """Find the cylinders, cones, tori and spheres of a closed mesh that go half round or more, largest first.

    Smooth regions between creases are fitted whole; what does not fit whole is searched for shapes within it, unless
    `search` is off, which is quick.
    """
    edges = edges_of(mesh)
    cosines = edge_cosines(mesh, edges)
    labels = smooth_regions(edges, cosines, faces=len(mesh.faces), crease_deg=CREASE_DEG)
    cloud = _cloud(mesh)
    scale = Scale(
        size_mm=float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0))),
        edge_mm=float(np.sqrt(4.0 / np.sqrt(3.0) * np.median(cloud.weights))),
    )
    chance = np.random.default_rng(12)
    bent = _bent(edges, cosines, len(mesh.faces), scale)
    found: list[_Found] = []
    for region in _large_regions(labels, cloud.weights, keep=10 * keep):
        if not search and cloud.weights[region].sum() < LEAST_AREA_RATIO * cloud.weights.sum():
            break
        whole = _fit_faces(mesh, cloud, region, scale)
        if whole is None and not search:
            continue
        found += [whole] if whole is not None else _within(mesh, cloud, region, bent, edges, scale, chance)
    features = (_feature(mesh, cloud, one) for one in _merged(found, mesh, cloud, scale))
    whole_enough = [one for one in features if one is not None and _is_round(one)]
    return tuple(sorted(whole_enough, key=lambda one: -one.area_mm2)[:keep])


def _is_round(feature: RoundFeature) -> bool:
    """Half a turn or more, and drawn round: within 4 % of the radius (a polygon of 12 sides), or 0.1 mm."""
    section = feature.section
    drawn_round = section.drawn_mm <= max(0.1, MOST_DRAWN_RATIO * section.radius_mm)
    return section.turn_ratio >= LEAST_TURN_RATIO and drawn_round


def _cloud(mesh: Mesh) -> Cloud:
    areas = np.linalg.norm(face_vectors_mm2(mesh), axis=1)
    return Cloud(points_mm=face_centres_mm(mesh), normals=face_normals(mesh), weights=areas)


def _large_regions(labels: IntArray, areas: FloatArray, *, keep: int) -> list[IntArray]:
    """Faces of the regions of 8 faces or more, largest area first."""
    order = np.argsort(labels, kind="stable")
    regions = np.split(order, np.flatnonzero(np.diff(labels[order])) + 1)
    regions = [region for region in regions if len(region) >= 8]
    return sorted(regions, key=lambda region: -float(areas[region].sum()))[:keep]


def _within_faces(mesh: Mesh, faces: IntArray) -> FloatArray:
    """Three points a face (3·k, 3), each near a corner, so that long faces show their whole length."""
    corners = mesh.vertices_mm[mesh.faces[faces]]
    near: FloatArray = (0.8 * corners + 0.2 * corners.mean(axis=1, keepdims=True)).reshape(-1, 3)
    return near


def _fit_faces(mesh: Mesh, cloud: Cloud, faces: IntArray, scale: Scale) -> _Found | None:
    chosen = sampled(cloud, faces, SAMPLE_FACES // 3)
    chosen = chosen[cloud.weights[chosen] > 0.0]
    weights, normals = cloud.weights[chosen], cloud.normals[chosen]
    if len(chosen) < 8 or np.linalg.norm(np.average(normals, axis=0, weights=weights)) > 0.995:
        return None
    points = _within_faces(mesh, chosen)
    fit = fit_round(points, np.repeat(normals, 3, axis=0), np.repeat(weights, 3), scale=scale)
    return None if fit is None else _Found(fit=fit, faces=faces)


def _bent(edges: Edges, cosines: FloatArray, faces: int, scale: Scale) -> BoolArray:
    """Faces (m,) that turn against some neighbour: flat ones would agree with any large enough shape."""
    least = np.cos(0.5 * scale.edge_mm / (LARGEST_RATIO * scale.size_mm))
    bent = np.zeros(faces, np.bool_)
    bent[edges.faces[cosines < least].reshape(-1)] = True
    return bent


def _within(
    mesh: Mesh,
    cloud: Cloud,
    region: IntArray,
    bent: BoolArray,
    edges: Edges,
    scale: Scale,
    chance: np.random.Generator,
) -> list[_Found]:
    """Shapes within one smooth region, each taken out before the next is looked for."""
    found: list[_Found] = []
    total = float(cloud.weights.sum())
    left = region
    misses = 0
    if len(region) < 200 or cloud.weights[region].sum() < LEAST_AREA_RATIO * total:
        return found
    turned = find_turned(cloud, region, edges, scale=scale, chance=chance)
    if turned is not None:
        found += [_of_wall(mesh, cloud, turned, wall, scale) for wall in turned.walls]
        left = np.setdiff1d(left, turned.faces, assume_unique=True)
    left = left[bent[left]]
    while misses < MOST_MISSES and len(left) >= 200 and cloud.weights[left].sum() > LEAST_AREA_RATIO * total:
        one = _next_within(mesh, cloud, left, edges, scale, chance)
        if one is None or cloud.weights[one.faces].sum() < LEAST_AREA_RATIO * total:
            misses += 1
            continue
        found.append(one)
        left = np.setdiff1d(left, one.faces, assume_unique=True)
    return found


def _of_wall(mesh: Mesh, cloud: Cloud, turned: Turned, wall: IntArray, scale: Scale) -> _Found:
    """One turned wall: by its simple shape if it has one about the same axis, else as turned."""
    one = _fit_faces(mesh, cloud, wall, scale)
    if (
        one is not None
        and one.fit.kind in (RoundKind.CYLINDER, RoundKind.CONE)
        and abs(one.fit.axis @ turned.axis) > 0.999
    ):
        return one
    rho, zeta = profile_about(cloud.points_mm[wall], turned.point_mm, turned.axis)
    weights = cloud.weights[wall] + 1e-12
    fit = RoundFit(
        kind=RoundKind.TURNED,
        centre_mm=turned.point_mm + float(np.average(zeta, weights=weights)) * turned.axis,
        axis=turned.axis,
        radius_mm=float(np.average(rho, weights=weights)),
        slope_ratio=0.0,
        minor_radius_mm=0.0,
        residual_mm=0.0,
    )
    return _Found(fit=fit, faces=wall)


def _next_within(
    mesh: Mesh, cloud: Cloud, faces: IntArray, edges: Edges, scale: Scale, chance: np.random.Generator
) -> _Found | None:
    guess = best_guess(part_of(cloud, sampled(cloud, faces, SAMPLE_FACES)), scale=scale, chance=chance)
    if guess is None:
        return None
    for _ in range(2):
        agreed = _largest_patch(faces[agreeing(part_of(cloud, faces), guess, scale=scale)], cloud, edges)
        if len(agreed) < 24:
            return None
        one = _fit_faces(mesh, cloud, agreed, scale)
        if one is None:
            return None
        guess = as_guess(one.fit)
    return one


def _largest_patch(faces: IntArray, cloud: Cloud, edges: Edges) -> IntArray:
    if len(faces) == 0:
        return faces
    count = len(cloud.weights)
    chosen = np.zeros(count, np.bool_)
    chosen[faces] = True
    labels = joined(count, edges.faces[chosen[edges.faces].all(axis=1)])[faces]
    patch: IntArray = faces[labels == np.argmax(np.bincount(labels, cloud.weights[faces]))]
    return patch


def _merged(found: list[_Found], mesh: Mesh, cloud: Cloud, scale: Scale) -> list[_Found]:
    """Join patches of the same surface that something between them keeps apart."""
    merged: list[_Found] = []
    for one in found:
        for k, other in enumerate(merged):
            if _same_surface(one.fit, other.fit, scale):
                faces = np.concatenate([one.faces, other.faces])
                joint = _fit_faces(mesh, cloud, faces, scale)
                if joint is not None and joint.fit.kind is other.fit.kind:
                    merged[k] = joint
                    break
        else:
            merged.append(one)
    return merged


def _same_surface(one: RoundFit, other: RoundFit, scale: Scale) -> bool:
    near = 4.0 * allowed_residual_mm(max(one.radius_mm, other.radius_mm), edge_mm=scale.edge_mm)
    away = one.centre_mm - other.centre_mm
    if (
        one.kind is not other.kind
        or one.kind is RoundKind.TURNED
        or abs(one.minor_radius_mm - other.minor_radius_mm) > near
    ):
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
    patch = part_of(cloud, found.faces)
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
