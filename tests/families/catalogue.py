"""The list of families, and a part of any of them."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from families import flat_shapes, free_shapes, round_shapes
from families.solids import Solid
from firstpour.part.part import Part
from firstpour.surface.solids import from_solid
from firstpour.values import Mesh, turned

SIZES_MM = (20.0, 50.0, 120.0)
FACES = (1_500, 8_000, 50_000)
"""About how many faces a part has at each of the three sizes."""
FEWEST_SEGMENTS, MOST_SEGMENTS = 36, 160


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """One kind of part: its shape from (longest side mm, segments a turn)."""

    name: str
    shape: Callable[[float, int], Solid]

    @property
    def good_for(self) -> str:
        """What it tries, in words."""
        return (self.shape.__doc__ or "").strip()


def _family(shape: Callable[[float, int], Solid]) -> Family:
    return Family(name=shape.__name__.replace("_", "-"), shape=shape)


FAMILIES: dict[str, Family] = {
    family.name: family
    for family in map(
        _family,
        (
            round_shapes.wheel, round_shapes.tyre_straight, round_shapes.tyre_slanted, round_shapes.tyre_recess,
            round_shapes.bowl, round_shapes.mug, round_shapes.bottle, flat_shapes.bracket, flat_shapes.gear,
            round_shapes.pulley, free_shapes.figure, round_shapes.knob, flat_shapes.lattice, flat_shapes.grille,
            free_shapes.thread, round_shapes.open_box, round_shapes.lid, flat_shapes.hook, free_shapes.spring,
            round_shapes.tube, round_shapes.dome, flat_shapes.plate_with_words, round_shapes.ball, round_shapes.shaft,
            flat_shapes.leaf, flat_shapes.chain_link, flat_shapes.fan,
        ),
    )
}  # fmt: skip


def family_part(name: str, *, size_mm: float, faces: int | None = None, turn_seed: int | None = None) -> Part:
    """One part of a family, unmarked, about `size_mm` long and of about `faces` faces; the same every time.

    Where the plain shape has fewer faces, long ones are split; where it has more, it keeps them. `turn_seed` lays the
    part in any other way, to see that nothing depends on how the file lies.
    """
    if faces is None:
        faces = FACES[int(np.argmin(np.abs(np.log(np.array(SIZES_MM) / size_mm))))]
    segments = int(np.clip(4 * round(np.sqrt(faces / 1.2) / 4), FEWEST_SEGMENTS, MOST_SEGMENTS))
    mesh = from_solid(_split(FAMILIES[name].shape(size_mm, segments), faces=faces))
    if turn_seed is not None:
        mesh = turned(mesh, rotation=_any_turn(turn_seed))
    return Part(name=f"{name}-{size_mm:g}", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


def _split(solid: Solid, *, faces: int) -> Solid:
    """The solid with its long edges split until it has about as many faces as wanted, or those it had if more."""
    if solid.num_tri() >= 0.8 * faces:
        return solid
    length_mm = 3.0 * np.sqrt(solid.surface_area() / faces)
    finer = solid
    while finer.num_tri() < 0.8 * faces:
        finer = solid.refine_to_length(float(length_mm))
        length_mm *= 0.9
    return finer


def _any_turn(seed: int) -> np.ndarray:
    """A rotation (3, 3) drawn evenly from all."""
    q, r = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else q[:, [1, 0, 2]]


def as_mesh(name: str, *, size_mm: float, faces: int | None = None) -> Mesh:
    """Only the mesh of `family_part`."""
    return family_part(name, size_mm=size_mm, faces=faces).mesh
