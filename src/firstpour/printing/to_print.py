"""What is to be printed: a closed mesh, the faces whose look counts, its round features, and what follows."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from firstpour.part.part import FaceMark, Part, marked
from firstpour.rounds.round_features import RoundFeature, find_round_features
from firstpour.surface.regions import level_normals
from firstpour.values import (
    BoolArray,
    FloatArray,
    Mesh,
    face_areas_mm2,
    face_normals,
    mesh_bounds_mm,
    mesh_volume_mm3,
)


@dataclass(frozen=True, kw_only=True, eq=False)
class ToPrint:
    """A closed mesh to be printed: `show` (m,) are the faces whose look counts. What follows is worked out once."""

    mesh: Mesh
    show: BoolArray
    features: tuple[RoundFeature, ...] = ()

    @cached_property
    def normals(self) -> FloatArray:
        """Unit normals (m, 3)."""
        return face_normals(self.mesh)

    @cached_property
    def areas_mm2(self) -> FloatArray:
        """Areas of the faces (m,)."""
        return face_areas_mm2(self.mesh)

    @cached_property
    def flats(self) -> FloatArray:
        """Outward normals (k, 3) of the directions in which most of it looks."""
        return level_normals(self.mesh)

    @cached_property
    def hull_mm(self) -> FloatArray:
        """Corners (k, 3) of the convex hull; all vertices where the mesh is flat."""
        try:
            corners: FloatArray = self.mesh.vertices_mm[ConvexHull(self.mesh.vertices_mm).vertices]
        except QhullError:
            return self.mesh.vertices_mm
        return corners

    @cached_property
    def volume_mm3(self) -> float:
        """Volume."""
        return mesh_volume_mm3(self.mesh)

    @cached_property
    def area_mm2(self) -> float:
        """Area of the whole surface."""
        return float(self.areas_mm2.sum())

    @cached_property
    def show_mm2(self) -> float:
        """Area of the faces whose look counts."""
        return float(self.areas_mm2[self.show].sum())

    @cached_property
    def diagonal_mm(self) -> float:
        """Diagonal of the bounding box."""
        return float(np.linalg.norm(np.ptp(mesh_bounds_mm(self.mesh), axis=0)))


def part_to_print(part: Part, *, features: tuple[RoundFeature, ...] | None = None) -> ToPrint:
    """The part as a loose print; its round features are found unless given."""
    found = find_round_features(part.mesh) if features is None else features
    return ToPrint(mesh=part.mesh, show=show_faces(part), features=found)


def mesh_to_print(mesh: Mesh, *, show: BoolArray | None = None) -> ToPrint:
    """A piece such as a tray or a box: `show` (m,) are the faces that silicone will copy, all unless given."""
    return ToPrint(mesh=mesh, show=np.ones(len(mesh.faces), np.bool_) if show is None else show)


def show_faces(part: Part) -> BoolArray:
    """The faces (m,) whose look counts: those marked show, else all that are not hidden, else all."""
    show = marked(part, FaceMark.SHOW)
    if not show.any():
        show = ~marked(part, FaceMark.HIDDEN)
    return show if show.any() else np.ones_like(show)
