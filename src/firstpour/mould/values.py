"""What the mould stage is asked and what it answers."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from firstpour.fill.values import Channel
from firstpour.mould.basin import Basin
from firstpour.mould.carried import Carried
from firstpour.parting.values import Draw, MouldKind
from firstpour.units import MM3_PER_ML
from firstpour.values import Finding, FloatArray, Mesh


class Role(StrEnum):
    """What a piece is for."""

    SILICONE = "silicone"
    TRAY = "tray"
    BEDDING = "bedding"
    BOX = "box"
    MASTER = "master"


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Boards:
    """Two stiff boards, one on each side across the draw, and the straps or bands around both."""

    size_mm: tuple[float, float, float]
    """Length, width and thickness of each board."""
    straps: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pose:
    """How the mould stands while one silicone is poured."""

    pours: str
    """Name of the silicone piece."""
    up: FloatArray
    """Which way is up (3,), unit, in the part's coordinates."""
    around: tuple[str, ...]
    """Names of the pieces that stand around it, as they sit in the mould."""
    level_mm: float
    """Height of the level to pour to over the lowest of these pieces, a box that is slid over them aside."""
    volume_mm3: float
    openings_mm: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    """Where the holes of a jacket over it begin (k, 3), the first to pour through; none where it is open on top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """What a silicone could do without: what a jacket over it spares, or cubes of cured silicone in it instead."""

    silicone: str
    jacket_ml: float
    cubes: int
    cube_mm: float

    @property
    def cubes_ml(self) -> float:
        """Fresh silicone whose place the cubes take."""
        return self.cubes * self.cube_mm**3 / MM3_PER_ML


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
    """For one copy, with its gate and vents."""
    print_ml: float
    stretch_ratio: float
    """How far the silicone must give over undercuts, as a share of its wall (an estimate)."""
    scale: float
    """The allowance: the master is the part times this."""
    findings: tuple[Finding, ...]
    boards: Boards | None = None
    """What the closed mould is held shut with; None for an open-face mould."""
    poses: tuple[Pose, ...] = ()
    """How each silicone is poured, in the order of the work."""
    cut_mm: float | None = None
    """Height over the foot at which the ridge in the box marks a block to be cut open; None for other kinds."""
    cavities: int = 1
    basin: Basin | None = None
    """The trough that all gates are filled from, in the frame of the draw; None where each is poured by itself."""
    carried: Carried | None = None
    """What a master that hangs on its rod must bear in the wet silicone; None for other kinds."""
    spares: tuple[Spare, ...] = ()
    """What each silicone could do without, or does without under its jacket; empty for a bedding mould."""
