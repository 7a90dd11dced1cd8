"""Between our meshes and exact solids (manifold3d)."""

import manifold3d
import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from firstpour.errors import MouldFailed
from firstpour.values import IntArray, Mesh, Remembered

SPECK_MM3 = 0.05
"""Bodies and gaps below this are rounding of a cut: a cube of 0.4 mm."""


_SOLIDS: Remembered[Mesh, manifold3d.Manifold] = Remembered(1)


def to_solid(mesh: Mesh) -> manifold3d.Manifold:
    """The closed mesh as an exact solid, ready for booleans; worked out once a mesh.

    Raises
    ------
    MouldFailed
        If the mesh is not an oriented closed 2-manifold.
    """
    return _SOLIDS.of(mesh, None, lambda: _to_solid(mesh))


def _to_solid(mesh: Mesh) -> manifold3d.Manifold:
    raw = manifold3d.Mesh64(mesh.vertices_mm.copy(), mesh.faces.astype(np.uint64))
    solid = manifold3d.Manifold(raw)
    if solid.status() != manifold3d.Error.NoError:
        raw.merge()
        solid = manifold3d.Manifold(raw)
    if solid.status() != manifold3d.Error.NoError:
        raise MouldFailed(
            f"a surface of {len(mesh.faces)} faces is not a closed solid ({solid.status().name})",
            remedy="repair the part (close its holes, part touching bodies) and run again",
        )
    return solid


def from_solid(solid: manifold3d.Manifold) -> Mesh:
    """The solid's surface as a mesh."""
    raw = solid.to_mesh64()
    return Mesh(vertices_mm=np.array(raw.vert_properties)[:, :3], faces=np.asarray(raw.tri_verts))


def count_bodies(solid: manifold3d.Manifold) -> int:
    """How many bodies the solid has, specks and the voids shut inside bodies aside."""
    return sum(surface.volume() > SPECK_MM3 for surface in solid.decompose())


def _surfaces(faces: IntArray) -> IntArray:
    """Number of the connected surface that each face (m,) belongs to."""
    links = np.concatenate([faces[:, :2], faces[:, 1:]])
    n = int(faces.max()) + 1
    graph = coo_array((np.ones(len(links), np.int8), (links[:, 0], links[:, 1])), shape=(n, n))
    _, label = connected_components(graph, directed=False)
    surfaces: IntArray = np.unique(label[faces[:, 0]], return_inverse=True)[1].ravel()
    return surfaces


def without_crumbs(solid: manifold3d.Manifold, *, least_mm3: float) -> manifold3d.Manifold:
    """The solid less its bodies and voids below `least_mm3`, such as cuts and rounding leave loose."""
    if len(solid.decompose()) < 2:
        return solid
    mesh = from_solid(solid)
    if len(mesh.faces) == 0:
        return solid
    surface = _surfaces(mesh.faces)
    a, b, c = (mesh.vertices_mm[mesh.faces[:, k]] - mesh.vertices_mm.mean(axis=0) for k in range(3))
    volumes_mm3 = np.bincount(surface, weights=np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0)
    kept = (np.abs(volumes_mm3) >= least_mm3)[surface]
    if kept.all():
        return solid
    used, faces = np.unique(mesh.faces[kept], return_inverse=True)
    return to_solid(Mesh(vertices_mm=mesh.vertices_mm[used], faces=faces.reshape(-1, 3)))


def separate_bodies(solid: manifold3d.Manifold) -> tuple[manifold3d.Manifold, ...]:
    """The bodies of a solid, largest first, each with the voids shut inside it."""
    if count_bodies(solid) < 2:
        return (solid,)
    surfaces = solid.decompose()
    bodies = sorted((surface for surface in surfaces if surface.volume() > 0.0), key=lambda body: -body.volume())
    if len(bodies) == len(surfaces):
        return tuple(bodies)
    filled = [body ^ solid for body in bodies]
    return tuple(
        body - manifold3d.Manifold.batch_boolean(bodies[n + 1 :], manifold3d.OpType.Add) if bodies[n + 1 :] else body
        for n, body in enumerate(filled)
    )
