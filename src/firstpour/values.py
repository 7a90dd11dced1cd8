"""Values every room shares: findings, vectors and meshes."""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Generic, TypeVar
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import next_thing

FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2199, 12, 31)
"""Dates lie between these; what is outside is mistyped. What keeps for years from the last day is still a date."""
FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Scalar = TypeVar("Scalar", bound=np.generic)
Owner = TypeVar("Owner")
Made = TypeVar("Made")


class Severity(StrEnum):
    """How much a finding matters: `error` means the plan cannot work as it stands."""

    INFO = "info"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a stage noticed: how bad, what, where, and what to do about it."""

    severity: Severity
    code: str
    what: str
    remedy: str
    where: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "remedy", next_thing(self.remedy))

    def as_table(self) -> dict[str, str | None]:
        """The finding for JSON: the same keys wherever findings are given."""
        return {
            "severity": self.severity.value,
            "code": self.code,
            "what": self.what,
            "remedy": self.remedy,
            "where": self.where,
        }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class Mesh:
    """A triangle mesh: `vertices_mm` (n, 3) float64, `faces` (m, 3) int64, both read-only.

    Faces are wound counter-clockwise seen from outside, so a closed mesh has a positive volume.
    """

    vertices_mm: FloatArray
    faces: IntArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices_mm", frozen_array(self.vertices_mm, np.float64))
        object.__setattr__(self, "faces", frozen_array(self.faces, np.int64))


def frozen_array(values: object, dtype: type[Scalar]) -> NDArray[Scalar]:
    """Return `values` as a C-contiguous read-only array of `dtype`, without touching the caller's own."""
    array = np.ascontiguousarray(values, dtype=dtype).view()
    array.flags.writeable = False
    return array


class Remembered(Generic[Owner, Made]):
    """What was made of an object, for as long as the object is there: at most `most` results each, the last used."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._made: WeakKeyDictionary[Owner, OrderedDict[Hashable, Made]] = WeakKeyDictionary()

    def of(self, owner: Owner, key: Hashable, make: Callable[[], Made]) -> Made:
        """The result under `key`, made now if it is not there."""
        made = self._made.setdefault(owner, OrderedDict())
        if key not in made:
            made[key] = make()
        made.move_to_end(key)
        while len(made) > self._most:
            made.popitem(last=False)
        return made[key]


_AREAS: Remembered[Mesh, FloatArray] = Remembered(1)
_VECTORS: Remembered[Mesh, FloatArray] = Remembered(1)
_NORMALS: Remembered[Mesh, FloatArray] = Remembered(1)
_VOLUMES: Remembered[Mesh, float] = Remembered(1)


def face_areas_mm2(mesh: Mesh) -> FloatArray:
    """Areas of the faces (m,) in mm², read-only. Worked out once a mesh."""
    return _AREAS.of(mesh, None, lambda: frozen_array(np.linalg.norm(face_vectors_mm2(mesh), axis=1), np.float64))


def face_vectors_mm2(mesh: Mesh) -> FloatArray:
    """Area vectors (m, 3), read-only: along the outward normal, as long as the face's area in mm²."""
    return _VECTORS.of(mesh, None, lambda: _face_vectors_mm2(mesh))


def _face_vectors_mm2(mesh: Mesh) -> FloatArray:
    a, b, c = (mesh.vertices_mm[mesh.faces[:, k]] for k in range(3))
    return frozen_array(0.5 * np.cross(b - a, c - a), np.float64)


def face_normals(mesh: Mesh) -> FloatArray:
    """Unit outward normals (m, 3), read-only; zero for a face without area. Worked out once a mesh."""
    return _NORMALS.of(mesh, None, lambda: _face_normals(mesh))


def _face_normals(mesh: Mesh) -> FloatArray:
    vectors = face_vectors_mm2(mesh)
    lengths = np.linalg.norm(vectors, axis=1, keepdims=True)
    return frozen_array(np.divide(vectors, lengths, out=np.zeros_like(vectors), where=lengths > 0), np.float64)


def face_centres_mm(mesh: Mesh) -> FloatArray:
    """Centroids of the faces (m, 3) in mm."""
    centres: FloatArray = mesh.vertices_mm[mesh.faces].mean(axis=1)
    return centres


def mesh_volume_mm3(mesh: Mesh) -> float:
    """Signed volume in mm³ by the divergence theorem, taken about the mesh's middle to keep digits."""
    return _VOLUMES.of(mesh, None, lambda: _mesh_volume_mm3(mesh))


def _mesh_volume_mm3(mesh: Mesh) -> float:
    if len(mesh.faces) == 0:
        return 0.0
    centre = mesh.vertices_mm.mean(axis=0)
    a, b, c = (mesh.vertices_mm[mesh.faces[:, k]] - centre for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def mesh_bounds_mm(mesh: Mesh) -> FloatArray:
    """Lowest and highest corner (2, 3) in mm."""
    return np.stack([mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)])


def moved(mesh: Mesh, *, offset_mm: FloatArray) -> Mesh:
    """The mesh shifted by `offset_mm` (3,)."""
    return Mesh(vertices_mm=mesh.vertices_mm + offset_mm, faces=mesh.faces)


def turned(mesh: Mesh, *, rotation: FloatArray) -> Mesh:
    """The mesh with each vertex v replaced by `rotation` @ v; `rotation` (3, 3) orthogonal, determinant +1."""
    if np.array_equal(rotation, np.eye(3)):
        return mesh
    return Mesh(vertices_mm=mesh.vertices_mm @ rotation.T, faces=mesh.faces)


def scaled(mesh: Mesh, *, factor: float) -> Mesh:
    """The mesh scaled about the origin by `factor` > 0."""
    return Mesh(vertices_mm=mesh.vertices_mm * factor, faces=mesh.faces)


def place_words(at_mm: Iterable[float]) -> str:
    """A place to a tenth of a millimetre, as findings name it.

    >>> place_words([12.04, -0.01, 3])
    '(12.0, 0.0, 3.0) mm'
    """
    return f"({', '.join(f'{round(float(value), 1) + 0.0:.1f}' for value in at_mm)}) mm"


def frame_along(direction: FloatArray) -> FloatArray:
    """Rotation (3, 3), determinant +1, whose rows are u, v and the unit `direction`: it turns `direction` to +z.

    For +z it is the identity. Source of the branch-free form: Duff et al., "Building an orthonormal
    basis, revisited", JCGT 6(1), 2017.

    >>> frame_along(np.array([0.0, 0.0, 1.0])).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    x, y, z = (float(value) for value in direction / np.linalg.norm(direction))
    sign = np.copysign(1.0, z)
    a = -1.0 / (sign + z)
    b = x * y * a
    u = [1.0 + sign * x * x * a, sign * b, -sign * x]
    v = [b, sign + y * y * a, -y]
    return np.array([u, v, [x, y, z]]) + 0.0
