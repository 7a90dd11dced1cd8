"""Families of free form: figure-like blobs, a spring, a thread."""

import numpy as np

from families.solids import Solid, cylinder, swept, wall_mm, wound
from firstpour.samples.sampling import mesh_of_distance
from firstpour.samples.shapes import blended
from firstpour.surface.solids import to_solid
from firstpour.values import FloatArray

BLOBS = (
    ((0.0, 0.0, 0.42), (0.0, 0.0, 0.58), 0.15),
    ((0.0, 0.0, 0.82), (0.01, 0.02, 0.84), 0.14),
    ((-0.08, 0.0, 0.36), (-0.13, 0.02, 0.08), 0.07),
    ((0.08, 0.0, 0.36), (0.14, -0.04, 0.07), 0.07),
    ((-0.12, 0.0, 0.6), (-0.3, 0.12, 0.42), 0.055),
    ((0.12, 0.0, 0.6), (0.29, 0.1, 0.74), 0.055),
    ((-0.13, 0.05, 0.06), (-0.13, -0.0, 0.06), 0.065),
    ((0.0, 0.12, 0.82), (0.0, 0.16, 0.8), 0.035),
)
"""Rods of a standing figure, one unit tall: start, end, radius."""


def figure(size_mm: float, segments: int) -> Solid:
    """Body, head, arms and legs run together: undercuts at neck and legs, several peaks of air, no plane seam."""
    faces = int(np.clip(0.8 * segments**2, 5_000, 100_000))

    def distance(x: FloatArray, y: FloatArray, z: FloatArray) -> FloatArray:
        points = np.stack([x, y, z], axis=1) / size_mm
        body = np.full(len(points), 1e3)
        for start, end, radius in BLOBS:
            a, b = np.array(start), np.array(end)
            along = np.clip((points - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
            body = blended(body, np.linalg.norm(points - a - along[:, None] * (b - a), axis=1) - radius, over_mm=0.07)
        return 0.9 * size_mm * body

    low, high = np.array([-0.4, -0.22, -0.03]) * size_mm, np.array([0.4, 0.25, 1.0]) * size_mm
    return to_solid(mesh_of_distance(distance, low_mm=low, high_mm=high, faces=faces))


def spring(size_mm: float, segments: int) -> Solid:
    """Three turns of round wire: the halves interlock along most draws; a seam that winds."""
    turns, wire = 3.0, wall_mm(size_mm, ratio=0.06)
    share = np.linspace(0.0, 1.0, int(turns * max(24, segments // 2)) + 1)
    angle = 2 * np.pi * turns * share
    r, high = 0.32 * size_mm, size_mm - 2 * wire
    path = np.stack([r * np.cos(angle), r * np.sin(angle), high * share], axis=1)
    return swept(path, radius_mm=wire, segments=max(12, segments // 6))


def thread(size_mm: float, segments: int) -> Solid:
    """A bolt with a coarse thread and a six-sided head: opens across the axis, a little undercut."""
    length, r = 0.78 * size_mm, 0.2 * size_mm
    pitch, deep = 0.11 * size_mm, 0.03 * size_mm
    levels = max(64, segments)

    def radius_at(angle: FloatArray, z: float) -> FloatArray:
        turn = (z / pitch - angle / (2 * np.pi)) % 1.0
        ridge = np.clip(2.2 * (1.0 - np.abs(2.0 * turn - 1.0)) - 0.6, 0.0, 1.0)
        fade = np.clip(min(z, length - z) / (0.5 * pitch), 0.0, 1.0)
        radius: FloatArray = r - deep * (1.0 - ridge * fade)
        return radius

    stem = wound(radius_at, length_mm=length, levels=levels, segments=segments)
    head = cylinder(0.34 * size_mm, low_mm=length - 0.01 * size_mm, high_mm=size_mm, segments=6)
    return stem + head
