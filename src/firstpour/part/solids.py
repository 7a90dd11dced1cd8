"""Between our meshes and exact solids (manifold3d)."""

import manifold3d
import numpy as np

from firstpour.errors import MouldFailed
from firstpour.values import Mesh


def to_solid(mesh: Mesh) -> manifold3d.Manifold:
    """The closed mesh as an exact solid, ready for booleans.

    Raises
    ------
    MouldFailed
        If the mesh is not an oriented closed 2-manifold.
    """
    raw = manifold3d.Mesh64(mesh.vertices_mm.copy(), mesh.faces.astype(np.uint64))
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
    return Mesh(vertices_mm=np.asarray(raw.vert_properties)[:, :3], faces=np.asarray(raw.tri_verts))
