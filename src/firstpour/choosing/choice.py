"""What the shelf is asked for a job, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.materials.additives import Additive
from firstpour.materials.cautions import Caution
from firstpour.materials.compatibility import MouldLife
from firstpour.materials.feel import Hardness, Stiffness
from firstpour.materials.material import Material
from firstpour.materials.steps import Step, surface_after
from firstpour.mixing.mix import Mix
from firstpour.mixing.pour import PourFit
from firstpour.printing.printers import Process
from firstpour.stock.stock import StockLine
from firstpour.values import Finding

SURFACES = {
    Process.FILAMENT: frozenset({"filament", "layered"}),
    Process.VAT: frozenset({"photopolymer"}),
}
"""The traits of a print's surface as it comes from the printer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartNeed:
    """One part of the job, as far as the shelf needs to know it. Volumes are those of one mould and one shot."""

    name: str
    pieces_ml: Mapping[str, float]
    casting_ml: float
    copies: int
    hardness: str
    master: Process
    surface: frozenset[str] = frozenset()
    """More traits of the master's surface: `sealed`, `damp`, `porous`, …"""
    master_steps: tuple[Step, ...] = ()
    """The work on the master before silicone meets it; each step leaves its traits on the surface."""
    moulds: int = 1
    serial_pours: int = 1
    """Silicone pours that must wait for one another: 2 for a bedding, 1 for trays."""
    stretch_ratio: float = 0.0
    """How far the silicone must give way over an undercut."""
    thinnest_mm: float | None = None
    reach_mm: float | None = None
    load_n: float = 1.0
    colourant_ratio: float = 0.0
    accelerator_ratio: float = 0.0
    paint: str | None = None
    clear: bool = False
    silicone: str | None = None
    """Id, where the user has chosen."""
    casting: str | None = None
    pour_min: float | None = None
    """Minutes that one shot takes through its gate, where the fill stage knows them."""
    yield_ratio: float = 0.9

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
        return surface_after(SURFACES[self.master] | self.surface, self.master_steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A material that will not do, and why."""

    material_id: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedMix:
    """One mix of the job: for what, how often, and the mix itself."""

    what: str
    times: int
    mix: Mix


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """A step before a pour, and the reason for it; a wait for a demould time is filled in."""

    before: str
    step: Step
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPour:
    """A pour as it stands at one temperature."""

    what: str
    fit: PourFit


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The material chosen, why, its additives, mixes, steps and pours, and what was turned down."""

    material: Material
    why: tuple[str, ...]
    additives: tuple[Additive, ...]
    mixes: tuple[PlannedMix, ...]
    steps: tuple[PlannedStep, ...]
    pours: tuple[PlannedPour, ...]
    rejected: tuple[Rejected, ...]
    demould_min: float
    ready_min: float
    """Steps, waits and cures of this stage one after the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """What the shelf says of one part."""

    name: str
    silicone: Chosen | None
    casting: Chosen | None
    hardness: Hardness
    stiffness: Stiffness | None
    pours: int
    """Shots to reckon with, spoiled ones included."""
    rounds: int
    mould_life: MouldLife | None
    stock: tuple[StockLine, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPlan:
    """The whole job: each part, and what to buy for all of them together."""

    parts: tuple[PartChoice, ...]
    stock: tuple[StockLine, ...]
    findings: tuple[Finding, ...]
