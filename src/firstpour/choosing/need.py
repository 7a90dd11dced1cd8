"""What the shelf must know of one part of a job."""

from collections.abc import Mapping
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.inserts.values import Insert
from firstpour.materials.steps import Step, surface_after
from firstpour.printing.printers import Process

SHOT_YIELD = 0.9
"""Shots that come out good: an estimate of our own."""
SURFACES = {
    Process.FILAMENT: frozenset({"filament", "layered"}),
    Process.VAT: frozenset({"photopolymer"}),
}
"""The traits of a print's surface as it comes from the printer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartNeed:
    """One part of the job, as far as the shelf needs to know it. Silicone is that of a mould, casting of a copy.

    To decide on materials, volumes may be estimates; to provide them, they are those of the finished mould.
    """

    name: str
    pieces_ml: Mapping[str, float]
    casting_ml: float
    copies: int
    hardness: str
    master: Process | None = None
    """How the surface that the silicone copies is printed; None while it is open: then it must suit every process."""
    surface: frozenset[str] = frozenset()
    """More traits of the master's surface: `sealed`, `damp`, `porous`, …"""
    master_steps: tuple[Step, ...] = ()
    """The work on the master before silicone meets it; each step leaves its traits on the surface."""
    moulds: int = 1
    cavities: int = 1
    """Copies that one filling of a mould gives."""
    serial_pours: int = 1
    """Silicone pours that must wait for one another: 2 for a bedding, 1 for trays."""
    stretch_ratio: float = 0.0
    """How far the silicone must give way over an undercut."""
    thinnest_mm: float | None = None
    section_mm: float | None = None
    """Thickness of the part as its mould sees it: twice its volume over its surface."""
    reach_mm: float | None = None
    area_mm2: float | None = None
    """Surface of one part; reckoned from its volume where it is not known."""
    load_n: float = 1.0
    colourant_ratio: float = 0.0
    accelerator_ratio: float = 0.0
    silicone_accelerator_ratio: float = 0.0
    paint: str | None = None
    clear: bool = False
    silicone: str | None = None
    """Id, where the user has chosen."""
    casting: str | None = None
    pour_min: float | None = None
    """Minutes that one shot takes through its gate, where the fill stage knows them."""
    basin: bool = False
    """Whether all cavities of a mould are filled from one basin, at once."""
    inserts: tuple[Insert, ...] = ()
    """What is set into every cavity."""
    yield_ratio: float = SHOT_YIELD
    seen_good: float = 0
    seen_shots: float = 0
    """Shots of this part made here before, and how many were good."""
    due_min: float | None = None
    """Minutes of steps and cures that are left until the copies must be there; None: no date presses."""

    def __post_init__(self) -> None:
        volumes = [*self.pieces_ml.values(), self.casting_ml]
        if not self.pieces_ml or not all(0 < volume < 1e6 for volume in volumes):
            raise BadRequest(
                f"{self.name}: volumes of {', '.join(f'{volume:g}' for volume in volumes)} ml.",
                remedy="Every mould piece and the shot need a volume above zero.",
            )
        if not (1 <= self.copies <= 10_000 and 1 <= self.moulds <= 100 and 1 <= self.serial_pours <= 20):
            raise BadRequest(
                f"{self.name}: {self.copies} copies from {self.moulds} moulds in {self.serial_pours} serial pours.",
                remedy="Give 1 to 10 000 copies, 1 to 100 moulds, 1 to 20 serial pours.",
            )

    @property
    def surface_traits(self) -> frozenset[str]:
        """All traits of the surface that the silicone is poured on: what was printed, and what was done to it."""
        printed = SURFACES.values() if self.master is None else [SURFACES[self.master]]
        return surface_after(self.surface.union(*printed), self.master_steps)
