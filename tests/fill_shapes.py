"""Shapes whose trapped air is known, as parts."""

import manifold3d
import numpy as np

from firstpour.part.part import FaceMark, Part
from firstpour.surface.solids import from_solid
from firstpour.values import face_normals

Solid = manifold3d.Manifold
UP = np.array([0.0, 0.0, 1.0])


def part_of(solid: Solid, *, mark: FaceMark = FaceMark.NONE) -> Part:
    """The solid as a part, all faces marked alike."""
    mesh = from_solid(solid)
    return Part(name="shape", mesh=mesh, marks=np.full(len(mesh.faces), int(mark), np.uint8))


def box(low, high) -> Solid:
    size = tuple(float(b - a) for a, b in zip(low, high, strict=True))
    return Solid.cube(size).translate(tuple(float(a) for a in low))


def joined(*solids: Solid) -> Solid:
    return Solid.batch_boolean(list(solids), manifold3d.OpType.Add)


def tilted(degrees: float, towards: float = 0.0) -> np.ndarray:
    """Up leaning by an angle towards an azimuth (both in degrees)."""
    a, b = np.radians([degrees, towards])
    return np.array([np.sin(a) * np.cos(b), np.sin(a) * np.sin(b), np.cos(a)])


def box_with_dome(radius: float = 12.0) -> Part:
    """A box 60 × 40 × 20 with a half ball on its roof at (18, 20) and a tall square chimney at its far end."""
    ball = Solid.sphere(radius, 200).translate((18.0, 20.0, 20.0))
    return part_of(joined(box((0, 0, 0), (60, 40, 20)), ball, box((54, 0, 0), (60, 40, 45))))


def box_with_cups(radius: float = 7.0, height: float = 15.0) -> Part:
    """The same box with two round chimneys closed at the top: cups upside down."""
    cups = [Solid.cylinder(height, radius, radius, 180).translate((x, 20.0, 20.0)) for x in (12.0, 32.0)]
    return part_of(joined(box((0, 0, 0), (60, 40, 20)), *cups, box((54, 0, 0), (60, 40, 60))))


def bottle(radius: float = 15.0, height: float = 40.0, neck_radius: float = 5.0, neck: float = 15.0) -> Part:
    """A round bottle with a flat shoulder, standing on z = 0."""
    body = Solid.cylinder(height, radius, radius, 256)
    throat = Solid.cylinder(neck + 1.0, neck_radius, neck_radius, 256).translate((0.0, 0.0, height - 1.0))
    return part_of(body + throat)


def steps_part(heights: list[float], depth: float = 3.0) -> Part:
    """Blocks side by side along x, 1 wide, each as high as its figure plus 1."""
    return part_of(joined(*(box((x, 0, 0), (x + 1, depth, h + 1)) for x, h in enumerate(heights))))


def cells_part(cells: np.ndarray, depth: float = 1.0) -> Part:
    """Square cells (rows from the bottom, columns) pushed out by `depth`."""
    rows, columns = np.nonzero(cells)
    return part_of(joined(*(box((c, 0, r), (c + 1, depth, r + 1)) for r, c in zip(rows, columns, strict=True))))


def shown_dome() -> Part:
    """A half ball on a flat back: the back hidden, the rest shown."""
    solid = Solid.sphere(20.0, 120) - box((-30, -30, -30), (30, 30, 0))
    mesh = from_solid(solid)
    down = face_normals(mesh)[:, 2] < -0.99
    marks = np.where(down, int(FaceMark.HIDDEN), int(FaceMark.SHOW)).astype(np.uint8)
    return Part(name="dome", mesh=mesh, marks=marks)


SOLIDS = {
    "box": box((0, 0, 0), (10, 10, 10)),
    "table": joined(
        box((0, 0, 8), (20, 20, 10)), *(box((x, y, 0), (x + 3, y + 3, 9)) for x in (0, 17) for y in (0, 17))
    ),
    "u": joined(box((0, 0, 0), (20, 5, 5)), box((0, 0, 0), (5, 5, 20)), box((15, 0, 0), (20, 5, 19))),
    "floor bump": box((0, 0, 0), (20, 20, 10)) - box((7, 7, -1), (13, 13, 4)),
    "void": box((0, 0, 0), (20, 20, 20)) - box((7, 7, 7), (13, 13, 13)),
    "ring": Solid.revolve(manifold3d.CrossSection.circle(3, 64).translate((10, 0)), 128),
    "stairs": joined(*(box((4 * k, 0, 0), (4 * k + 4, 8, 3 * k + 3)) for k in range(4))),
}
