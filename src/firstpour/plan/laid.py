"""One of several parts in a mould as it lies there."""

from dataclasses import dataclass

from firstpour.job.job import Member
from firstpour.part.part import Part
from firstpour.plan.filling import PartFill
from firstpour.values import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidMember:
    """One of the parts: its fill alone, in its own coordinates, and where its cavities lie.

    `in_mould`: for each cavity the turn and shift (3, 4) that bring the part's points there.
    """

    member: Member
    part: Part
    fill: PartFill
    in_mould: tuple[FloatArray, ...]
