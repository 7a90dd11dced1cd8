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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndercutRegion:
    """One connected void that blocks the draw: its volume, the faces that bound it, how far silicone must give."""

    volume_mm3: float
    depth_mm: float | None
    """None: an enclosed void with no way out."""
    faces: IntArray
    centre_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draw:
    """One draw direction with what blocks it. Area, depth and regions are None where it was only ranked."""

    direction: FloatArray
    undercut_mm3: float
    seam_on_show_mm: float
    height_mm: float
    pitch_mm: float
    undercut_mm2: float | None = None
    undercut_depth_mm: float | None = None
    regions: tuple[UndercutRegion, ...] | None = None
    reach: NDArray[np.uint8] | None = None
    """(m,) one `Reach` value a face."""
