"""The block of silicone around the part: a box in the frame of the draw."""

from dataclasses import dataclass

import manifold3d
import numpy as np

from firstpour.values import FloatArray, frozen_array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Lowest and highest corner (3,) in mm, in the frame of the draw."""

    low_mm: FloatArray
    high_mm: FloatArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "low_mm", frozen_array(self.low_mm, np.float64))
        object.__setattr__(self, "high_mm", frozen_array(self.high_mm, np.float64))


def block_around(vertices_mm: FloatArray, *, wall_mm: float, side_mm: float) -> Block:
    """The block that leaves `wall_mm` below and above the vertices (n, 3), and `side_mm` beside them."""
    margin = np.array([side_mm, side_mm, wall_mm])
    return Block(low_mm=vertices_mm.min(axis=0) - margin, high_mm=vertices_mm.max(axis=0) + margin)


def grown_block(block: Block, *, low_mm: tuple[float, float, float], high_mm: tuple[float, float, float]) -> Block:
    """The block moved out by `low_mm` at its low and `high_mm` at its high sides."""
    return Block(low_mm=block.low_mm - np.array(low_mm), high_mm=block.high_mm + np.array(high_mm))


def box_solid(low_mm: FloatArray, high_mm: FloatArray) -> manifold3d.Manifold:
    """A box between two corners as an exact solid."""
    size = tuple(float(value) for value in np.asarray(high_mm) - np.asarray(low_mm))
    return manifold3d.Manifold.cube(size).translate(tuple(float(value) for value in low_mm))


def block_solid(block: Block) -> manifold3d.Manifold:
    """The block as an exact solid."""
    return box_solid(block.low_mm, block.high_mm)
