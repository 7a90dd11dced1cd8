"""What the shelf must know of a part: first from its size alone, then from the mould that was made."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from firstpour.choosing.need import PartNeed
from firstpour.job.job import PartRequest
from firstpour.materials.steps import Step
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Mould, Role
from firstpour.parting.block import block_around
from firstpour.parting.values import MouldKind
from firstpour.plan.look import Looked
from firstpour.printing.printers import Process
from firstpour.store.learned import Seen
from firstpour.units import MM3_PER_ML
from firstpour.values import frame_along, turned

CHANNEL_SHARE = 0.05
"""Casting material that gate and vents take, as a share of the part, until they are laid (an estimate of our own)."""
IN_TRAYS = (MouldKind.TRAYS, MouldKind.OPEN_FACE)
"""Kinds whose part is printed as part of a tray, along the draw, not by itself."""
PIECES = {
    MouldKind.TRAYS: ("silicone-upper", "silicone-lower"),
    MouldKind.BEDDING: ("silicone-upper", "silicone-lower"),
    MouldKind.OPEN_FACE: ("silicone",),
    MouldKind.BLOCK: ("silicone",),
}
"""The pours of silicone of each kind of mould."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """Volumes of a part's mould: silicone a pour, and casting material a copy."""

    kind: MouldKind
    pieces_ml: dict[str, float]
    casting_ml: float
    stretch_ratio: float
    cavities: int = 1
    basin: bool = False


def sized_by_block(looked: Looked, settings: MouldSettings) -> Sized:
    """Volumes before the mould is worked out: the block around the part less the part, evenly shared."""
    vertices = turned(looked.part.mesh, rotation=frame_along(looked.draw.direction)).vertices_mm
    block = block_around(vertices, wall_mm=settings.wall_mm, side_mm=settings.wall_mm)
    part_mm3 = looked.measures.volume_mm3
    silicone_ml = (float(np.prod(block.high_mm - block.low_mm)) - part_mm3) / MM3_PER_ML
    pieces = PIECES[looked.kind]
    return Sized(
        kind=looked.kind,
        pieces_ml={name: silicone_ml / len(pieces) for name in pieces},
        casting_ml=(1.0 + CHANNEL_SHARE) * part_mm3 / MM3_PER_ML,
        stretch_ratio=looked.draw.stretch_ratio,
    )


def sized_by_mould(mould: Mould) -> Sized:
    """Volumes as the mould came out."""
    return Sized(
        kind=mould.kind,
        pieces_ml={
            piece.name: piece.volume_mm3 / MM3_PER_ML for piece in mould.pieces if piece.role is Role.SILICONE
        },
        casting_ml=mould.casting_ml,
        stretch_ratio=mould.stretch_ratio,
        cavities=mould.cavities,
        basin=mould.basin is not None,
    )


def minutes_left(due: date | None, *, today: date) -> float | None:
    """Minutes from the morning of `today` to the morning of the day on which the copies are due; None without one.

    >>> minutes_left(date(2026, 3, 4), today=date(2026, 3, 2))
    2880.0
    """
    return None if due is None else max(0.0, (due - today).days * 24.0 * 60.0)


def need_of(
    looked: Looked,
    request: PartRequest,
    sized: Sized,
    *,
    master: Process | None = None,
    master_steps: tuple[Step, ...] = (),
    pour_min: float | None = None,
    due_min: float | None = None,
    seen: Seen | None = None,
) -> PartNeed:
    """One part for the shelf. `master` (how the surface that silicone meets is printed), `master_steps` (the work on
    it) and `pour_min` (what its gate takes) are given once they are known; `due_min` is what a due date leaves;
    `seen`: the shots made here before that tell of this part.
    """
    return PartNeed(
        name=request.name,
        pieces_ml=sized.pieces_ml,
        casting_ml=sized.casting_ml,
        copies=request.copies,
        hardness=request.hardness or "",
        master=master or request.process,
        moulds=request.moulds,
        cavities=sized.cavities,
        basin=sized.basin,
        inserts=request.inserts,
        serial_pours=2 if sized.kind is MouldKind.BEDDING else 1,
        stretch_ratio=sized.stretch_ratio,
        thinnest_mm=looked.measures.thinnest_wall_mm,
        section_mm=2.0 * looked.measures.volume_mm3 / looked.measures.area_mm2,
        reach_mm=0.5 * max(looked.measures.size_mm),
        area_mm2=looked.measures.area_mm2,
        colourant_ratio=request.colourant_ratio,
        accelerator_ratio=request.accelerator_ratio,
        silicone_accelerator_ratio=request.silicone_accelerator_ratio,
        paint=request.paint,
        clear=request.clear,
        silicone=request.silicone,
        casting=request.casting,
        pour_min=pour_min,
        due_min=due_min,
        master_steps=master_steps,
        seen_good=0 if seen is None else seen.good,
        seen_shots=0 if seen is None else seen.shots,
    )
