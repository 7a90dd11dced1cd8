"""What the mould stage is asked and what it answers."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from firstpour.fill.values import Channel
from firstpour.parting.values import Draw, MouldKind
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
