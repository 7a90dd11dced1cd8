"""Directions that a caster would try first: the part's own axes, before any sweep."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from firstpour.parting.values import DrawOrigin
from firstpour.rounds.fit_round import RoundKind
from firstpour.rounds.round_features import RoundFeature, find_round_features
from firstpour.values import FloatArray, Mesh, face_areas_mm2, face_normals, face_vectors_mm2, frame_along

FLAT_DIRECTIONS = 6
ONE_NUMBER = np.array([1_000_000, 1_000, 1])
"""Makes one number of a normal in hundredths; the numbers go up as the normals do, column by column."""
FLAT_RATIO = 0.02
"""A flat direction counts if this share of the area looks along it."""
SAME_COSINE = float(np.cos(np.radians(1.0)))
"""Directions within a degree are one; the first in the order of `DrawOrigin` gives the direction and the reason."""
ROUND_AREA_RATIO = 0.003
MOST_ROUNDS = 4
ROUNDS = 8
STRAIGHT = 1e-4
"""So near to an axis or a diagonal of the file a direction is meant as one: 0.006°, a tenth of what is upright."""
PROBES, CLOUD = 400, 12_000
TURNS = (2, 3, 4, 5, 6, 7, 8)
ALIKE_RATIO = 0.97
"""A part is symmetrical if this share of its points lands on the surface again (within three times their spacing)."""
EQUAL_MOMENTS_RATIO = 0.01
ROUND_TURN_RATIO = 0.85
"""A bore is a hole that goes round at least so far."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A direction (3,) worth trying exactly, and why."""

    direction: FloatArray
    origin: DrawOrigin
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bore:
    """A round hole: its axis (3,), radius and length."""

    axis: FloatArray
    radius_mm: float
    long_mm: float


def quick_rounds(mesh: Mesh) -> tuple[RoundFeature, ...]:
    """The round features that stand out by their edges."""
    return find_round_features(mesh, keep=ROUNDS, search=False)


def named_candidates(mesh: Mesh, rounds: Sequence[RoundFeature]) -> tuple[Candidate, ...]:
    """Axes of round features, axes of symmetry, flat faces and the file's own axes; each direction once."""
    area_mm2 = float(np.linalg.norm(face_vectors_mm2(mesh), axis=1).sum())
    found: list[Candidate] = []
    axes = _round_axes(rounds, area_mm2)
    known = (*axes, *_symmetry_axes(mesh), *_flat_directions(mesh), *_between_holes(rounds), *_file_axes())
    for one in known:
        if all(abs(float(one.direction @ other.direction)) < SAME_COSINE for other in found):
            found.append(one)
    return tuple(found)


def bores_of(rounds: Sequence[RoundFeature]) -> tuple[Bore, ...]:
    """The round holes that a seam should leave whole: cylinders and cones that go nearly all round."""
    return tuple(
        Bore(
            axis=one.fit.axis,
            radius_mm=one.radius_mm,
            long_mm=one.area_mm2 / (2.0 * np.pi * one.radius_mm * one.section.turn_ratio),
        )
        for one in rounds
        if one.material < 0
        and one.fit.kind in (RoundKind.CYLINDER, RoundKind.CONE)
        and one.section.turn_ratio >= ROUND_TURN_RATIO
    )


def _round_axes(rounds: Sequence[RoundFeature], area_mm2: float) -> list[Candidate]:
    """Axes of the largest round features; a sphere has none."""
    found: list[Candidate] = []
    for one in rounds:
        known = any(abs(float(one.fit.axis @ other.direction)) > SAME_COSINE for other in found)
        if one.fit.kind is RoundKind.SPHERE or one.area_mm2 < ROUND_AREA_RATIO * area_mm2 or known:
            continue
        what = "hole" if one.material < 0 else "round face"
        found.append(
            Candidate(
                direction=_upwards(one.fit.axis),
                origin=DrawOrigin.ROUND,
                reason=f"axis of a {what} of {2.0 * one.radius_mm:.1f} mm",
            )
        )
    return found[:MOST_ROUNDS]


def _between_holes(rounds: Sequence[RoundFeature]) -> list[Candidate]:
    """Halfway between the axes of two holes that cross: short holes in two flanges both come free there."""
    holes = [one.fit.axis for one in rounds if one.material < 0 and one.fit.kind is not RoundKind.SPHERE]
    found = []
    for one, other in combinations(holes[:MOST_ROUNDS], 2):
        if abs(float(one @ other)) < SAME_COSINE:
            for sign in (1.0, -1.0):
                found.append(
                    Candidate(
                        direction=_upwards(one + sign * other),
                        origin=DrawOrigin.ROUND,
                        reason="halfway between two holes",
                    )
                )
    return found


def _symmetry_axes(mesh: Mesh) -> list[Candidate]:
    """Principal axes about which the part turns into itself, and normals of planes in which it mirrors."""
    centre, moments, axes = principal_axes(mesh)
    points = surface_points_mm(mesh, count=CLOUD) - centre
    tree = cKDTree(points)
    near_mm = 3.0 * float(np.median(tree.query(points[:: CLOUD // PROBES], k=2)[0][:, 1]))
    probes = points[:: CLOUD // PROBES]
    found = []
    for k in range(3):
        axis, others = axes[k], np.delete(moments, k)
        even = abs(others[0] - others[1]) < EQUAL_MOMENTS_RATIO * moments.max()
        distinct = np.abs(others - moments[k]).min() > EQUAL_MOMENTS_RATIO * moments.max()
        if not distinct:
            continue
        turns = next((n for n in TURNS if _lands(tree, _turned(probes, axis, 2.0 * np.pi / n), near_mm)), None)
        if turns is not None or even:
            reason = f"axis of symmetry, {turns}-fold" if turns is not None and not even else "axis of symmetry"
            found.append(Candidate(direction=_upwards(axis), origin=DrawOrigin.SYMMETRY, reason=reason))
        elif _lands(tree, probes - 2.0 * np.outer(probes @ axis, axis), near_mm):
            reason = "square to a plane of symmetry"
            found.append(Candidate(direction=_upwards(axis), origin=DrawOrigin.MIRROR, reason=reason))
    return found


def principal_axes(mesh: Mesh) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Centre of mass (3,), moments (3,) and principal axes (rows of (3, 3)) of the solid.

    Second moments of the tetrahedra between each face and the centre, exact for the mesh (Tonon, J. Math. Stat. 1
    (2005) 8-11, from memory).
    """
    corners = mesh.vertices_mm[mesh.faces]
    middle = mesh.vertices_mm.mean(axis=0)
    corners = corners - middle
    six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    sums = corners.sum(axis=1)
    volume = six.sum() / 6.0
    centre = np.einsum("i,ij->j", six, sums) / 24.0 / volume
    second = np.einsum("i,ij,ik->jk", six, sums, sums) + np.einsum("i,icj,ick->jk", six, corners, corners)
    moments, axes = np.linalg.eigh(second / 120.0 / volume - np.outer(centre, centre))
    return centre + middle, moments, axes.T


def surface_points_mm(mesh: Mesh, *, count: int) -> FloatArray:
    """`count` points (count, 3) spread evenly over the surface by area, always the same ones."""
    areas = np.cumsum(np.linalg.norm(face_vectors_mm2(mesh), axis=1))
    chance = np.random.default_rng(5)
    faces = np.searchsorted(areas, (np.arange(count) + 0.5) / count * areas[-1])
    root, v = np.sqrt(chance.random(count))[:, None], chance.random(count)[:, None]
    a, b, c = (mesh.vertices_mm[mesh.faces[np.minimum(faces, len(areas) - 1), k]] for k in range(3))
    points: FloatArray = (1.0 - root) * a + root * (1.0 - v) * b + root * v * c
    return points[chance.permutation(count)]


def _turned(points: FloatArray, axis: FloatArray, angle: float) -> FloatArray:
    """The points turned about an axis through the origin (Rodrigues)."""
    along = np.outer(points @ axis, axis)
    turned: FloatArray = (points - along) * np.cos(angle) + np.cross(axis, points) * np.sin(angle) + along
    return turned


def _lands(tree: cKDTree, points: FloatArray, near_mm: float) -> bool:
    """Whether nearly all points lie on the surface that the tree's points stand for."""
    ways = tree.query(points)[0]
    return float((ways < near_mm).mean()) >= ALIKE_RATIO


def _flat_directions(mesh: Mesh) -> list[Candidate]:
    """Normals of the largest flat areas."""
    vectors = face_vectors_mm2(mesh)
    areas = face_areas_mm2(mesh)
    keys = np.round(face_normals(mesh) * np.where(vectors[:, 2:] < 0, -1.0, 1.0), 3)
    hundredths = np.round(100.0 * keys.round(2)).astype(np.int64)
    _, group = np.unique(hundredths @ ONE_NUMBER, return_inverse=True)
    weights = np.bincount(group, weights=areas)
    found = []
    for n in np.argsort(-weights, kind="stable")[:FLAT_DIRECTIONS]:
        if weights[n] < FLAT_RATIO * areas.sum():
            break
        normal = keys[np.flatnonzero(group == n)[np.argmax(areas[group == n])]]
        found.append(
            Candidate(
                direction=_upwards(normal), origin=DrawOrigin.FLAT, reason=f"square to {weights[n]:.0f} mm² of flat"
            )
        )
    return found


def _file_axes() -> list[Candidate]:
    return [
        Candidate(direction=direction, origin=DrawOrigin.AXIS, reason=f"{name} axis of the file")
        for direction, name in zip(np.eye(3)[[2, 0, 1]], "zxy", strict=True)
    ]


def _upwards(direction: FloatArray) -> FloatArray:
    """The unit direction, the end of it that points up; a hair off an axis or a diagonal of the file it is that one.

    A fitted axis is off by rounding; walls beside it would then be undercut by films of no thickness.
    """
    d = frame_along(direction)[2]
    d = d / np.abs(d).max()
    d = np.where(np.abs(d - np.round(d)).max() < STRAIGHT, np.round(d), np.where(np.abs(d) < 1e-6, 0.0, d))
    d /= np.linalg.norm(d)
    leading = d[np.flatnonzero(np.abs(d) > 1e-6)[-1]]
    upwards: FloatArray = d * np.sign(leading) + 0.0
    return upwards
