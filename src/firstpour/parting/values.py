"""What the parting is asked and what it answers."""

from dataclasses import dataclass
from enum import IntEnum, StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.values import FloatArray, IntArray


class MouldKind(StrEnum):
    """The ways to make the mould."""

    TRAYS = "trays"
    BEDDING = "bedding"
    OPEN_FACE = "open-face"
    BLOCK = "block"


class Reach(IntEnum):
    """From where along the draw a face can be reached, nothing lying in front of it."""

    BOTH = 0
    """A vertical wall (draft 0) with nothing above or below it."""
    ABOVE = 1
    BELOW = 2
    NEITHER = 3
    """Undercut: silicone there is held by the part."""


class Opening(StrEnum):
    """How the mould opens along the draw."""

    TWO_HALVES = "two halves"
    OPEN_FACE = "open face"
    """One piece, drawn off upwards; the plane of the part's back closes everything below."""


class Half(StrEnum):
    """The half of the mould that fills an undercut."""

    UPPER = "upper"
    LOWER = "lower"


class Way(StrEnum):
    """How the silicone of an undercut comes out."""

    LIP = "lip"
    """A closed lip stretches over a bulge."""
    PLUG = "plug"
    """A plug is squeezed through a neck."""
    TONGUE = "tongue"
    """A free tongue bends out, or the wall that carries it swings aside."""
    LOOP = "locked loop"
    """The silicone closes a ring through the part: it must be cut."""
    SHUT = "shut in"
    """A void with no way out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What the silicone of one undercut must do to come out, in the half that asks less of it.

    `stretch_ratio`: its longest fibre, to compare with the elongation at break; None where it cannot come out.
    `squeeze_ratio`: how much narrower a plug becomes, 0 for all others. `loops`: rings through the part.
    """

    way: Way
    half: Half
    stretch_ratio: float | None
    squeeze_ratio: float = 0.0
    loops: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndercutRegion:
    """One connected void that blocks the draw: its volume, the faces that bound it, how far silicone must give."""

    volume_mm3: float
    depth_mm: float | None
    """None: an enclosed void with no way out."""
    faces: IntArray
    centre_mm: FloatArray
    stretch: Stretch


class DrawOrigin(StrEnum):
    """Why a direction is tried; of directions that agree the first named here is kept."""

    GIVEN = "given"
    ROUND = "axis of a round feature"
    SYMMETRY = "axis of symmetry"
    MIRROR = "square to a plane of symmetry"
    FLAT = "square to flat faces"
    AXIS = "axis of the file"
    SWEEP = "found by the sweep"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RankedDraw:
    """A row of the ranking of draws: one direction, what it is compared by, and why it was tried.

    `stretch_ratio` is the most that any undercut asks of the silicone, those that are locked apart; `squeeze_ratio`
    the most that a plug is squeezed. `locked_loops` counts rings of silicone through the part, and voids shut in.
    `seam_mm`, `seam_rise_mm` and `bore_seam_mm` (seam along the walls of split bores) are estimates; `silicone_ml` is
    that of a box around the part.
    """

    direction: FloatArray
    undercut_mm3: float
    seam_on_show_mm: float
    height_mm: float
    pitch_mm: float
    stretch_ratio: float = 0.0
    squeeze_ratio: float = 0.0
    locked_loops: int = 0
    seam_mm: float = 0.0
    seam_rise_mm: float = 0.0
    bore_seam_mm: float = 0.0
    silicone_ml: float = 0.0
    origin: DrawOrigin = DrawOrigin.GIVEN
    reason: str = "given"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draw(RankedDraw):
    """A draw as taken: its row of the ranking, and each undercut and the reach of every face, worked out closely."""

    opening: Opening = Opening.TWO_HALVES
    undercut_mm2: float
    undercut_depth_mm: float
    regions: tuple[UndercutRegion, ...]
    reach: NDArray[np.uint8]
    """(m,) one `Reach` value a face."""
