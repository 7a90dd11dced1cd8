"""Shapes for the tests of the master, made with manifold3d."""

import manifold3d as m3
import numpy as np

from firstpour.part.part import FaceMark, Part
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, face_normals


def part_of(solid: m3.Manifold, *, name: str = "shape") -> Part:
    """The solid as a part without marks."""
    mesh = from_solid(solid)
    return Part(name=name, mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


def hidden_below(part: Part) -> Part:
    """The part with the faces that look straight down hidden, the rest on show."""
    down = face_normals(part.mesh)[:, 2] < -0.99
    marks = np.where(down, int(FaceMark.HIDDEN), int(FaceMark.SHOW)).astype(np.uint8)
    return Part(name=part.name, mesh=part.mesh, marks=marks)


def porthole_ring(diameter_mm: float, *, sides: int = 96) -> m3.Manifold:
    """A flat ring with four lugs, each with a hole for a pin, its back on z = 0."""
    radius, height = diameter_mm / 2, 0.12 * diameter_mm
    solid = m3.Manifold.cylinder(height, radius, radius, sides)
    places = [(np.cos(a), np.sin(a)) for a in np.pi / 4 + np.pi / 2 * np.arange(4)]
    for x, y in places:
        lug = m3.Manifold.cylinder(height / 2, 0.1 * diameter_mm, 0.1 * diameter_mm, 48)
        solid += lug.translate([1.05 * radius * x, 1.05 * radius * y, 0])
    solid -= m3.Manifold.cylinder(3 * height, 0.7 * radius, 0.7 * radius, sides).translate([0, 0, -height])
    for x, y in places:
        hole = m3.Manifold.cylinder(3 * height, 0.03 * diameter_mm, 0.03 * diameter_mm, 32)
        solid -= hole.translate([1.15 * radius * x, 1.15 * radius * y, -height])
    return solid


def limpet() -> m3.Manifold:
    """A hollow cone shell, its mouth on z = 0."""
    outside = m3.Manifold.cylinder(24, 30, 3, 96)
    return outside - m3.Manifold.cylinder(21, 27, 1, 96).translate([0, 0, -0.001])


def torus(*, major_mm: float, minor_mm: float, sides: int = 96) -> m3.Manifold:
    """A torus about the z axis."""
    circle = m3.CrossSection.circle(minor_mm, sides).translate([major_mm, 0])
    return m3.Manifold.revolve(circle, sides)


def bowl() -> m3.Manifold:
    """A bowl that opens upwards: a cylinder with a straight hollow, 20 mm wide and 12 mm deep."""
    return m3.Manifold.cylinder(15, 14, 14, 64) - m3.Manifold.cylinder(20, 10, 10, 64).translate([0, 0, 3])


def tilted(mesh: Mesh, *, degrees: tuple[float, float, float]) -> Mesh:
    """The mesh turned about x, then y, then z."""
    solid = m3.Manifold(m3.Mesh64(mesh.vertices_mm.copy(), mesh.faces.astype(np.uint64)))
    return from_solid(solid.rotate(list(degrees)))
