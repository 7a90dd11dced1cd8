"""What the mould stage is asked and what it answers."""

from dataclasses import dataclass, field
from enum import IntEnum, StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.values import Finding, FloatArray, IntArray, Mesh, frozen_array


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


class Role(StrEnum):
    """What a piece is for."""

    SILICONE = "silicone"
    TRAY = "tray"
    BEDDING = "bedding"
    BOX = "box"
    MASTER = "master"


class ChannelUse(StrEnum):
    """A gate lets the casting material in; a vent lets the air out."""

    GATE = "gate"
    VENT = "vent"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channel:
    """A round channel along `path_mm` (k, 3), from the cavity to the outside of the block."""

    use: ChannelUse
    path_mm: FloatArray
    radius_start_mm: float
    radius_end_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "path_mm", frozen_array(self.path_mm, np.float64))


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One solid of the mould in the part's coordinates (after the allowance)."""

    name: str
    role: Role
    mesh: Mesh
    volume_mm3: float
    bodies: int = 1
    print_turn: FloatArray = field(default_factory=lambda: np.eye(3))
    """Rotation (3, 3) that stands the piece as it is printed, floor down."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mould:
    """A mould worked out: its pieces, seam and quantities."""

    kind: MouldKind
    draw: Draw
    pieces: tuple[Piece, ...]
    channels: tuple[Channel, ...]
    seam_mm: tuple[FloatArray, ...]
    """Closed polylines (k, 3) on the part: the parting line."""
    silicone_ml: float
    casting_ml: float
    print_ml: float
    stretch_ratio: float
    """How far the silicone must give over undercuts, as a share of its wall (an estimate)."""
    scale: float
    """The allowance: the master is the part times this."""
    findings: tuple[Finding, ...]
