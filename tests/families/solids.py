"""What the families are built from: turned profiles, rods, swept tubes, threads, strokes of letters."""

from collections.abc import Callable, Sequence
from itertools import pairwise

import manifold3d
import numpy as np

from firstpour.values import FloatArray

Solid = manifold3d.Manifold
Point = tuple[float, float]

LEAST_WALL_MM = 1.2
"""No family is thinner: the least wall that is commonly cast (common practice, no source)."""


def wall_mm(size_mm: float, *, ratio: float) -> float:
    """A wall that goes with the size, and is never too thin to cast."""
    return max(LEAST_WALL_MM, ratio * size_mm)


def joined(solids: Sequence[Solid]) -> Solid:
    """All solids as one."""
    return Solid.batch_boolean(list(solids), manifold3d.OpType.Add)


def turned_profile(points_mm: Sequence[Point], *, segments: int) -> Solid:
    """A profile of (radius, height) points, counter-clockwise, turned about z."""
    return Solid.revolve(manifold3d.CrossSection([list(points_mm)]), segments)


def cylinder(radius_mm: float, *, low_mm: float, high_mm: float, segments: int) -> Solid:
    """An upright cylinder about z between two heights."""
    return Solid.cylinder(high_mm - low_mm, radius_mm, radius_mm, segments).translate((0.0, 0.0, low_mm))


def box(low_mm: Sequence[float], high_mm: Sequence[float]) -> Solid:
    """A box between two corners."""
    low, high = np.asarray(low_mm, float), np.asarray(high_mm, float)
    return Solid.cube(tuple(high - low)).translate(tuple(low))


def around_z(solid: Solid, count: int, *, first_deg: float = 0.0) -> Solid:
    """`count` copies of the solid evenly about z, as one."""
    return joined([solid.rotate((0.0, 0.0, first_deg + 360.0 * k / count)) for k in range(count)])


def rounded_profile(points_mm: Sequence[Point], *, radius_mm: float, steps: int = 4) -> list[Point]:
    """The polygon with its corners rounded (a corner on the axis, radius 0, stays)."""
    rounded: list[Point] = []
    ring = np.asarray(points_mm, float)
    for k, corner in enumerate(ring):
        before, after = ring[k - 1] - corner, ring[(k + 1) % len(ring)] - corner
        reach = min(radius_mm, 0.45 * float(np.linalg.norm(before)), 0.45 * float(np.linalg.norm(after)))
        if abs(corner[0]) < 1e-9 or reach <= 0.0:
            rounded.append((float(corner[0]), float(corner[1])))
            continue
        start = corner + reach * before / np.linalg.norm(before)
        end = corner + reach * after / np.linalg.norm(after)
        for t in np.linspace(0.0, 1.0, steps + 1):
            point = (1 - t) ** 2 * start + 2 * t * (1 - t) * corner + t**2 * end
            rounded.append((float(point[0]), float(point[1])))
    return rounded


def rod(points_mm: FloatArray, *, radius_mm: float, segments: int) -> Solid:
    """A round rod along a polyline (k, 3), its joints and ends round."""
    balls = [Solid.sphere(radius_mm, segments).translate(tuple(point)) for point in np.asarray(points_mm, float)]
    return joined([Solid.batch_hull([a, b]) for a, b in pairwise(balls)])


def closed_surface(vertices_mm: FloatArray, faces: FloatArray) -> Solid:
    """A closed mesh as a solid."""
    solid = Solid(manifold3d.Mesh64(np.ascontiguousarray(vertices_mm), np.ascontiguousarray(faces, np.uint64)))
    if solid.status() != manifold3d.Error.NoError or solid.volume() <= 0.0:
        raise ValueError(f"not a closed solid: {solid.status().name}, {solid.volume():.3f} mm³")
    return solid


def skin(rings_mm: FloatArray, *, looped: bool = False) -> Solid:
    """The solid with a skin through rings (k, n, 3) of points: capped at its ends, or a closed loop."""
    k, n = rings_mm.shape[:2]
    here = np.arange(n)
    after = (here + 1) % n
    faces = []
    for row in range(k if looped else k - 1):
        low, high = row * n, (row + 1) % k * n
        faces.append(np.stack([low + here, low + after, high + after], axis=1))
        faces.append(np.stack([low + here, high + after, high + here], axis=1))
    vertices = rings_mm.reshape(-1, 3)
    if not looped:
        first, last = len(vertices), len(vertices) + 1
        vertices = np.concatenate([vertices, [rings_mm[0].mean(axis=0), rings_mm[-1].mean(axis=0)]])
        faces.append(np.stack([after, here, np.full(n, first)], axis=1))
        faces.append(np.stack([(k - 1) * n + here, (k - 1) * n + after, np.full(n, last)], axis=1))
    return closed_surface(vertices, np.concatenate(faces))


def swept(path_mm: FloatArray, *, radius_mm: float, segments: int, looped: bool = False) -> Solid:
    """A round tube along a path (k, 3) whose frame follows with the least twist; flat ends unless `looped`."""
    path = np.asarray(path_mm, float)
    along = np.roll(path, -1, axis=0) - np.roll(path, 1, axis=0) if looped else np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    side = np.cross(along[0], [0.0, 0.0, 1.0] if abs(along[0, 2]) < 0.9 else [1.0, 0.0, 0.0])
    sides = []
    for ahead in (*along, along[0]):
        side = side - (side @ ahead) * ahead
        side /= np.linalg.norm(side)
        sides.append(side)
    missing = 0.0
    if looped:
        missing = np.arctan2(np.cross(sides[-1], sides[0]) @ along[0], sides[-1] @ sides[0])
    angles = 2 * np.pi * np.arange(segments) / segments
    rings = []
    for k, (middle, ahead, side) in enumerate(zip(path, along, sides, strict=False)):
        turn = angles + missing * k / len(path)
        other = np.cross(ahead, side)
        rings.append(middle + radius_mm * (np.outer(np.cos(turn), side) + np.outer(np.sin(turn), other)))
    return skin(np.stack(rings), looped=looped)


def wound(
    radius_at: Callable[[FloatArray, float], FloatArray], *, length_mm: float, levels: int, segments: int
) -> Solid:
    """An upright rod whose radius is a function of (angle (n,) rad, height mm), from z = 0 to `length_mm`."""
    angles = 2 * np.pi * np.arange(segments) / segments
    rings = []
    for z in np.linspace(0.0, length_mm, levels + 1):
        radius = radius_at(angles, float(z))
        rings.append(np.stack([radius * np.cos(angles), radius * np.sin(angles), np.full(segments, z)], axis=1))
    return skin(np.stack(rings))


def arc(radius_mm: float, *, start_deg: float, end_deg: float, steps: int) -> FloatArray:
    """Points (steps + 1, 2) on an arc about the origin."""
    angles = np.radians(np.linspace(start_deg, end_deg, steps + 1))
    return radius_mm * np.stack([np.cos(angles), np.sin(angles)], axis=1)


STROKES: dict[str, list[list[Point]]] = {
    "A": [[(0, 0), (0.5, 1), (1, 0)], [(0.2, 0.4), (0.8, 0.4)]],
    "O": [[(0.5, 1), (0.15, 0.85), (0, 0.5), (0.15, 0.15), (0.5, 0), (0.85, 0.15), (1, 0.5), (0.85, 0.85), (0.5, 1)]],
    "R": [[(0, 0), (0, 1), (0.7, 1), (0.9, 0.8), (0.7, 0.55), (0, 0.55)], [(0.45, 0.55), (0.95, 0)]],
    "4": [[(0.75, 0), (0.75, 1), (0, 0.3), (1, 0.3)]],
}
"""Letters of our own as strokes in a unit box."""


def raised_words(words: str, *, high_mm: float, stroke_mm: float, rise_mm: float, segments: int) -> Solid:
    """Letters of round strokes with sloping sides that stand `rise_mm` on z = 0 (rooted 0.3 mm below), from x = 0."""
    strokes = []
    for number, letter in enumerate(words):
        for line in STROKES[letter]:
            points = [np.array([(0.75 * x + 1.05 * number) * high_mm, y * high_mm]) for x, y in line]
            feet = [
                Solid.cylinder(rise_mm + 0.3, 0.5 * stroke_mm, 0.35 * stroke_mm, segments).translate((*p, -0.3))
                for p in points
            ]
            strokes += [Solid.batch_hull([a, b]) for a, b in pairwise(feet)]
    return joined(strokes)
