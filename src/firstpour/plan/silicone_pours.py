"""Air while the silicone itself is poured: around the part in its tray, on the bed, or around a master on its gate.

The space that silicone fills is filled as the cast is (`fill.pockets`), in the pose in which it is poured, open over
the whole of its top.
"""

from dataclasses import replace

import numpy as np

from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import SMALL_AIR_MM3, Fill
from firstpour.mould.values import Mould, Piece, Role
from firstpour.part.part import Part
from firstpour.parting.block import block_solid
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import Parting, PartingSizes, lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import from_solid, to_solid
from firstpour.values import Finding, FloatArray, Mesh, Severity, place_words

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
    as_it_is, turned = (_poured(around, way * UP).trapped_mm3 for way in (-1.0, 1.0))
    if as_it_is - turned < WORTH_TURNING_MM3:
        return parting
    other = lay_parting(part, draw_along(part, -parting.draw.direction), kind=MouldKind.BLOCK, sizes=sizes)
    return replace(other, shut=parting.shut)


def silicone_air_findings(mould: Mould) -> tuple[Finding, ...]:
    """Say which silicone keeps how much air at the part when it is poured, and where the largest pocket is."""
    findings = []
    for piece in mould.pieces:
        if piece.role is not Role.SILICONE:
            continue
        pockets = [p for p in _poured(piece.mesh, _pose(piece, mould)).pockets if p.volume_mm3 > SMALL_AIR_MM3]
        if pockets:
            air_mm3 = sum(pocket.volume_mm3 for pocket in pockets)
            largest = max(pockets, key=lambda pocket: pocket.volume_mm3)
            findings.append(_air_finding(piece, air_mm3, len(pockets), largest.top_mm))
    return tuple(findings)


def _air_finding(piece: Piece, air_mm3: float, count: int, at_mm: FloatArray) -> Finding:
    where = "in one place" if count == 1 else f"in {count} places, the most of it here"
    return Finding(
        severity=Severity.WARNING,
        code="air-in-silicone",
        what=f"{air_mm3:.0f} mm³ of air stay {where} while {piece.name} is poured: the copy would carry a lump there",
        remedy="brush silicone in there first, tilt and tap the box as it fills; or take another draw direction",
        where=place_words(at_mm),
    )


def _pose(piece: Piece, mould: Mould) -> FloatArray:
    """Which way is up (3,) while this silicone is poured: away from the parting, and down the draw for a block."""
    down = mould.kind is MouldKind.BLOCK or "lower" in piece.name
    return -mould.draw.direction if down else mould.draw.direction


def _poured(mesh: Mesh, up: FloatArray) -> Fill:
    space = Part(name="silicone", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))
    return find_pockets(space, up=up)
