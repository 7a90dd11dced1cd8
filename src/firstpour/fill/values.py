"""What the fill stage answers."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.surface.dexels import Dexels
from firstpour.values import Finding, FloatArray, IntArray, frozen_array

SMALL_AIR_MM3 = 4.0
"""Air that may stay off the show faces: a bubble about 2 mm across. An estimate of our own."""
SMALL_SHOW_AIR_MM3 = 0.1
"""Air that may stay on a show face: a bubble about 0.6 mm across. An estimate of our own."""
GATE_RADIUS_MM, GATE_MOUTH_RADIUS_MM, VENT_RADIUS_MM = 3.0, 6.0, 1.0
"""Gate at the part and where one pours, vent at the part: typical of hand pouring (common practice, no source)."""
MOUTH_RATIO = GATE_MOUTH_RADIUS_MM / GATE_RADIUS_MM
"""Channels along the parting surface are so much wider outside, so that the stub breaks off at the part."""
RESOLVED_LINES = 4
"""A pocket under fewer dexel lines than this is reported as unresolved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pocket:
    """Air that cannot leave: where, how much, and from which level on it is cut off.

    Levels are heights along `up` in the part's own coordinates. `nodes` (k,) are the dexel intervals that hold it and
    `faces` (k,) the face over each; `show_mm3` is the air under show faces.
    """

    volume_mm3: float
    show_mm3: float
    top_mm: FloatArray
    seals_at_mm: float
    nodes: IntArray
    faces: NDArray[np.int32]

    @property
    def on_show(self) -> bool:
        """Whether more than a hundredth of the air lies under show faces."""
        return self.show_mm3 > 0.01 * self.volume_mm3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fill:
    """One filling worked out: `up`, the openings, and the air that stays.

    `trapped_from_mm` (n,): for each interval of `dexels`, the level above which it holds trapped air (+inf: none,
    −inf: it never fills). `unresolved` shallow or small pockets the grid cannot tell from its own steps,
    `unresolved_mm3` their air as far as counted.
    """

    up: FloatArray
    gate_mm: FloatArray
    vents_mm: tuple[FloatArray, ...]
    trapped_mm3: float
    trapped_show_mm3: float
    unfilled_mm3: float
    pockets: tuple[Pocket, ...]
    unresolved: int
    unresolved_mm3: float
    pitch_mm: float
    dexels: Dexels
    trapped_from_mm: FloatArray
    findings: tuple[Finding, ...]


class PourKind(StrEnum):
    """How the box stands for the pour, from its own floor."""

    FLAT = "flat"
    ON_EDGE = "on-edge"
    TILTED = "tilted"
    TURNED = "turned"


class PlaceKind(StrEnum):
    """What lies under a gate or a vent, from the best place to the worst."""

    HIDDEN = "hidden"
    SEAM = "seam"
    UNMARKED = "unmarked"
    SHOW = "show"
    KEEP_CLEAR = "keep-clear"


class ChannelUse(StrEnum):
    """A gate lets the casting material in; a vent lets the air out."""

    GATE = "gate"
    VENT = "vent"


class MadeAs(StrEnum):
    """How a channel comes into the silicone."""

    BOTH_HALVES = "both-halves"
    """Half in each half, along the parting surface: half a rod stands on each tray, or all of it on the master."""
    LOOSE_ROD = "loose-rod"
    """Straight along the draw through one half: a rod that is put in place for the pour and pulled out outwards."""
    DRILLED = "drilled"
    """Straight along the draw through one half: a hole made with a sharp tube in the cured silicone."""
    ON_MASTER = "on-master"
    """A rod on the master, freed when the block of silicone is cut open along it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class Channel:
    """A round channel from `at_mm` on the part along `path_mm` (k, 3) to the outside of the block.

    It starts at `path_mm[0]` with a flat end `sink_mm` inside the part, so that it reaches through no thin wall. A
    fan gate opens along the part at `feet_mm` (k, 3), a slot 2 × `foot_radius_mm` wide, and narrows to the channel.
    """

    use: ChannelUse
    path_mm: FloatArray
    radius_start_mm: float
    radius_end_mm: float
    made_as: MadeAs = MadeAs.BOTH_HALVES
    place: PlaceKind = PlaceKind.UNMARKED
    reason: str = ""
    sink_mm: float | None = None
    """How far it reaches into the part; a whole radius where the part is thick enough (None)."""
    feet_mm: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    foot_radius_mm: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "path_mm", frozen_array(self.path_mm, np.float64))
        object.__setattr__(self, "feet_mm", frozen_array(self.feet_mm, np.float64))

    @property
    def at_mm(self) -> FloatArray:
        """Where it meets the part (3,)."""
        at: FloatArray = self.path_mm[0]
        return at

    @property
    def length_mm(self) -> float:
        """Length of its axis."""
        return float(np.linalg.norm(np.diff(self.path_mm, axis=0), axis=1).sum())

    @property
    def straight_length_mm(self) -> float:
        """Length of a pipe as narrow as its start that resists a laminar flow alike: ∫ (r₁/r)⁴ dx over the cone."""
        narrow, wide = self.radius_start_mm, self.radius_end_mm
        if wide - narrow < 1e-6 * narrow:
            return self.length_mm
        return self.length_mm * narrow / (3.0 * (wide - narrow)) * (1.0 - (narrow / wide) ** 3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Peak:
    """A place where air gathers: it wants an opening, or keeps `air_mm3` of air above `seals_at_mm`."""

    at_mm: FloatArray
    air_mm3: float
    show_mm3: float
    seals_at_mm: float
    place: PlaceKind


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pour:
    """One pour direction with what speaks for and against it; the first of `peaks` carries the gate."""

    up: FloatArray
    kind: PourKind
    tilt_deg: float
    """Angle between `up` and the nearest face of the box it could stand on."""
    trapped_mm3: float
    trapped_show_mm3: float
    vents: int
    openings_on_show: int
    lone_openings: int
    """Openings that cannot leave along the parting surface; 0 where none is known."""
    peaks: tuple[Peak, ...]
    level_roof_mm2: float | None
    """Roof too level to clear itself of air; None where the pour was only ranked."""
    head_mm: float
    pitch_mm: float
    reasons: tuple[str, ...] = field(default=())

    @property
    def gate_mm(self) -> FloatArray:
        """Where the gate would go."""
        return self.peaks[0].at_mm
