"""Surfaces that touch along an edge: four faces share it, so nothing holds there; they are drawn a hair apart."""

from dataclasses import dataclass

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.surface.sides import Sides, same_vertices, side_ends, sides_of
from firstpour.values import Finding, FloatArray, IntArray, Mesh, Severity, face_normals, mesh_volume_mm3, place_words

HAIR_MM = 0.001
"""How far each side of a touching edge is drawn back, at most (our own choice: less than any printer resolves)."""
HAIR_RATIO = 1e-4
"""And at most this share of the part's diagonal."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parted:
    """The mesh without touching edges, and what was done."""

    mesh: Mesh
    findings: tuple[Finding, ...]


def part_touching(mesh: Mesh) -> Parted:
    """Draw the surface back by a hair where it touches itself along an edge.

    Raises
    ------
    UnreadablePart
        If it still touches then.
    """
    ends, where = _touching(mesh)
    if len(ends) == 0:
        return Parted(mesh=mesh, findings=())
    hair_mm = min(HAIR_MM, HAIR_RATIO * float(np.linalg.norm(np.ptp(mesh.vertices_mm, axis=0))))
    apart = _drawn_back(mesh, np.unique(ends), hair_mm)
    edges = "1 edge" if len(where) == 1 else f"{len(where)} edges"
    place = place_words(where[0])
    remedy = "let the bodies overlap by 0.1 mm or more, or move them apart, and export again"
    if len(_touching(apart)[0]):
        raise UnreadablePart(
            f"the part touches itself along {edges} without any thickness, first at {place}", remedy=remedy
        )
    what = (
        f"the part touched itself along {edges} without any thickness and was drawn {hair_mm:.3g} mm back "
        f"on each side; the volume went from {mesh_volume_mm3(mesh):.1f} to {mesh_volume_mm3(apart):.1f} mm³"
    )
    note = Finding(severity=Severity.WARNING, code="touching-parted", what=what, remedy=remedy, where=place)
    return Parted(mesh=apart, findings=(note,))


def _touching(mesh: Mesh) -> tuple[IntArray, FloatArray]:
    """Points of the mesh at both ends of the sides along touching edges (n, 2), and the middle of each edge."""
    faces = same_vertices(mesh.vertices_mm)[mesh.faces]
    sides = sides_of(faces)
    crowded = sides.counts > 2
    first = side_ends(faces, sides.side[sides.start[:-1][crowded]])
    return side_ends(mesh.faces, _sides_at(sides, crowded)), mesh.vertices_mm[first].mean(axis=1)


def _sides_at(sides: Sides, edges: np.ndarray) -> IntArray:
    chosen: IntArray = sides.side[np.repeat(edges, sides.counts)]
    return chosen


def _drawn_back(mesh: Mesh, points: IntArray, hair_mm: float) -> Mesh:
    """Those points moved inward, against the mean of the normals around each."""
    normals = face_normals(mesh)
    mean = np.zeros_like(mesh.vertices_mm)
    for k in range(3):
        np.add.at(mean, mesh.faces[:, k], normals)
    lengths = np.linalg.norm(mean[points], axis=1)
    vertices_mm = mesh.vertices_mm.copy()
    vertices_mm[points] -= hair_mm * mean[points] / np.maximum(lengths, 1e-12)[:, None]
    return Mesh(vertices_mm=vertices_mm, faces=mesh.faces)
