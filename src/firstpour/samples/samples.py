"""Sample parts: the tide pool of a children's museum, every shape our own, at any number of faces."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.part.part import FaceMark, Part
from firstpour.samples import shapes
from firstpour.samples.sampling import Distance, mesh_of_distance
from firstpour.values import Mesh, face_centres_mm, face_normals


class Sample(StrEnum):
    """The parts of the tide pool."""

    SEA_STAR = "sea-star"
    LIMPET = "limpet"
    PORTHOLE_RING = "porthole-ring"
    BOLLARD = "bollard"


def sample_part(name: Sample | str, *, faces: int = 20_000) -> Part:
    """One part of the tide pool, marked, in about `faces` faces.

    Raises
    ------
    BadRequest
        If there is no such sample, or `faces` is too low or too high.
    """
    if name not in {str(sample) for sample in Sample}:
        raise BadRequest(f"no sample part named {name}", remedy=f"take one of: {', '.join(Sample)}")
    recipe = RECIPES[Sample(name)]
    mesh = mesh_of_distance(
        recipe.distance, low_mm=np.array(recipe.low_mm), high_mm=np.array(recipe.high_mm), faces=faces
    )
    return Part(name=str(name), mesh=mesh, marks=recipe.marks(mesh))


def _below(mesh: Mesh, *, within_deg: float) -> NDArray[np.bool_]:
    facing: NDArray[np.bool_] = -face_normals(mesh)[:, 2] >= np.cos(np.radians(within_deg))
    return facing


def _sea_star_marks(mesh: Mesh) -> NDArray[np.uint8]:
    return _either(_below(mesh, within_deg=45.0), FaceMark.HIDDEN, FaceMark.SHOW)


def _limpet_marks(mesh: Mesh) -> NDArray[np.uint8]:
    return _either(_below(mesh, within_deg=89.0), FaceMark.HIDDEN, FaceMark.SHOW)


def _ring_marks(mesh: Mesh) -> NDArray[np.uint8]:
    back = _below(mesh, within_deg=30.0) & (face_centres_mm(mesh)[:, 2] < 0.5)
    x, y, _ = face_centres_mm(mesh).T
    radius_mm = np.hypot(x, y)
    inward = -(face_normals(mesh)[:, 0] * x + face_normals(mesh)[:, 1] * y) / radius_mm
    bore = (inward > np.cos(np.radians(45.0))) & (radius_mm < shapes.RING_BORE_MM + 2.0)
    return _either(back, FaceMark.HIDDEN, FaceMark.NONE) | _either(bore, FaceMark.KEEP_CLEAR, FaceMark.NONE)


def _bollard_marks(mesh: Mesh) -> NDArray[np.uint8]:
    base = _below(mesh, within_deg=45.0) & (face_centres_mm(mesh)[:, 2] < 2.0)
    return _either(base, FaceMark.HIDDEN, FaceMark.NONE)


def _either(chosen: NDArray[np.bool_], mark: FaceMark, other: FaceMark) -> NDArray[np.uint8]:
    return np.where(chosen, int(mark), int(other)).astype(np.uint8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A shape, a box that holds it, and how its faces are marked."""

    distance: Distance
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    marks: Callable[[Mesh], NDArray[np.uint8]]


RECIPES = {
    Sample.SEA_STAR: Recipe(
        distance=shapes.sea_star, low_mm=(-50, -50, -1), high_mm=(50, 50, 20), marks=_sea_star_marks
    ),
    Sample.LIMPET: Recipe(distance=shapes.limpet, low_mm=(-33, -28, -1), high_mm=(33, 28, 28), marks=_limpet_marks),
    Sample.PORTHOLE_RING: Recipe(
        distance=shapes.porthole_ring, low_mm=(-42, -42, -1), high_mm=(42, 42, 13), marks=_ring_marks
    ),
    Sample.BOLLARD: Recipe(
        distance=shapes.bollard, low_mm=(-25, -25, -1), high_mm=(25, 25, 72), marks=_bollard_marks
    ),
}
