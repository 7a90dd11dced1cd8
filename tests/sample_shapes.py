"""One table of test shapes for every room: `from sample_shapes import SHAPES`.

Closed forms stand beside the shapes whose mesh has one. Meshes that ship with a general-purpose library are read from
its installed files (never imported); tests that want them are skipped where it is not installed.
"""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import manifold3d
import numpy as np
import pytest

from firstpour.surface.solids import from_solid
from firstpour.values import FloatArray, Mesh, moved, turned


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A mesh and what is known of it from outside; `volume_mm3` is the closed form of the mesh itself."""

    mesh: Mesh
    closed: bool = True
    convex: bool = False
    bodies: int = 1
    volume_mm3: float | None = None


def box(x_mm: float, y_mm: float, z_mm: float, *, at: tuple[float, float, float] = (0, 0, 0)) -> Mesh:
    """A box with its lowest corner at `at`: 12 faces."""
    return from_solid(manifold3d.Manifold.cube((x_mm, y_mm, z_mm)).translate(at))


def together(*meshes: Mesh) -> Mesh:
    """Meshes side by side in one, without uniting them."""
    offsets = np.cumsum([0] + [len(mesh.vertices_mm) for mesh in meshes])
    return Mesh(
        vertices_mm=np.concatenate([mesh.vertices_mm for mesh in meshes]),
        faces=np.concatenate([mesh.faces + offset for mesh, offset in zip(meshes, offsets[:-1], strict=True)]),
    )


def rotation(x_deg: float, y_deg: float, z_deg: float) -> FloatArray:
    """Turn about x, then y, then z."""
    turn = np.eye(3)
    for axis, angle in enumerate(np.radians([x_deg, y_deg, z_deg])):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        step = np.eye(3)
        step[u, u] = step[v, v] = np.cos(angle)
        step[v, u], step[u, v] = np.sin(angle), -np.sin(angle)
        turn = step @ turn
    return turn


def revolved(profile_mm: list[tuple[float, float]], *, segments: int) -> Mesh:
    """A profile of (radius, height) points, counter-clockwise, turned about z."""
    return from_solid(manifold3d.Manifold.revolve(manifold3d.CrossSection([profile_mm]), segments))


def polygon_share(segments: int) -> float:
    """Area of a regular polygon against its circle: what a turned mesh keeps of the true volume."""
    return segments * np.sin(2 * np.pi / segments) / (2 * np.pi)


def torus(radius_mm: float, tube_mm: float, *, segments: int) -> Mesh:
    """A torus lying flat, its tube cut into as many sides as the ring."""
    angles = 2 * np.pi * np.arange(segments) / segments
    profile = [(radius_mm + tube_mm * np.cos(a), tube_mm * np.sin(a)) for a in angles]
    return revolved(profile, segments=segments)


def ball(radius_mm: float, *, segments: int) -> Mesh:
    """A convex ball."""
    return from_solid(manifold3d.Manifold.sphere(radius_mm, segments).hull())


def bowl() -> Mesh:
    """Half a hollow ball, 3 mm thick, open to +z."""
    sphere = manifold3d.Manifold.sphere
    return from_solid((sphere(20.0, 48) - sphere(17.0, 48)).trim_by_plane((0.0, 0.0, -1.0), 0.0))


def leaky_cube() -> Mesh:
    """A 20 mm cube that lacks the two faces of its top."""
    cube = box(20, 20, 20)
    top = (cube.vertices_mm[cube.faces][:, :, 2] > 19.9).all(axis=1)
    return Mesh(vertices_mm=cube.vertices_mm, faces=cube.faces[~top])


def shipped_mesh(name: str) -> Mesh:
    """`nut`, `ant`, `sphere` or `airplane`, as shipped (MIT) with a general-purpose library; else the test skips."""
    import trimesh

    path = shipped_path(name)
    loaded = trimesh.load_mesh(path, process=False)
    return Mesh(vertices_mm=np.asarray(loaded.vertices), faces=np.asarray(loaded.faces))


def shipped_path(name: str) -> Path:
    """Where that mesh is installed."""
    found = find_spec("pyvista")
    if found is None or not found.submodule_search_locations:
        pytest.skip("pyvista's files are not installed (pip install --no-deps pyvista): no shipped meshes")
    return Path(found.submodule_search_locations[0]) / "examples" / f"{name}.ply"


_T_PROFILE = [(10, 0), (14, 0), (14, 10), (18, 10), (18, 14), (6, 14), (6, 10), (10, 10)]
"""A foot of 4 × 10 about radius 12 under a head of 12 × 4 about radius 12."""

SHAPES: dict[str, Shape] = {
    "cube": Shape(mesh=box(20, 20, 20, at=(3, -4, 5)), convex=True, volume_mm3=8000.0),
    "tilted box": Shape(mesh=turned(box(30, 20, 10), rotation=rotation(20, 30, 40)), convex=True, volume_mm3=6000.0),
    "sliver": Shape(mesh=box(40, 40, 0.05), convex=True, volume_mm3=80.0),
    "sphere": Shape(mesh=ball(10.0, segments=64), convex=True),
    "bowl": Shape(mesh=bowl()),
    "undercut ring": Shape(
        mesh=revolved(_T_PROFILE, segments=96),
        volume_mm3=2 * np.pi * 12 * (4 * 10 + 12 * 4) * polygon_share(96),  # Pappus
    ),
    "torus": Shape(mesh=torus(10.0, 3.0, segments=64), volume_mm3=2 * np.pi**2 * 10 * 9 * polygon_share(64) ** 2),
    "two bodies": Shape(
        mesh=together(box(10, 10, 10), moved(box(10, 10, 10), offset_mm=np.array([15.0, 0, 0]))),
        bodies=2,
        volume_mm3=2000.0,
    ),
    "leaky cube": Shape(mesh=leaky_cube(), closed=False),
}
CLOSED = [name for name, shape in SHAPES.items() if shape.closed]
CONVEX = [name for name, shape in SHAPES.items() if shape.convex]
