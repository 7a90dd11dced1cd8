"""Which way up a block is poured, so that little air stays under its master."""

from dataclasses import replace

import numpy as np

from firstpour.mould.pours import air_while_poured
from firstpour.part.part import Part
from firstpour.parting.block import block_solid
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import Parting, PartingSizes, lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import from_solid, to_solid

WORTH_TURNING_MM3 = 50.0
"""A block is turned over for its pour where that leaves so much less air: a bubble of 4.6 mm (our own choice)."""
UP = np.array([0.0, 0.0, 1.0])


def turned_for_its_pour(parting: Parting, part: Part, *, sizes: PartingSizes) -> Parting:
    """A block parting with its draw turned about where less air then stays under the master while silicone is poured.

    The master hangs on its gate, which stands on the floor, so that the draw points down in that pour.
    """
    if parting.kind is not MouldKind.BLOCK:
        return parting
    around = from_solid(block_solid(parting.block) - to_solid(parting.mesh))
    as_it_is, turned = (air_while_poured(around, way * UP).volume_mm3 for way in (-1.0, 1.0))
    if as_it_is - turned < WORTH_TURNING_MM3:
        return parting
    other = lay_parting(part, draw_along(part, -parting.draw.direction), kind=MouldKind.BLOCK, sizes=sizes)
    return replace(other, shut=parting.shut)
