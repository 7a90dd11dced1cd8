"""The master as chosen: the print of it, and what was weighed against it."""

from dataclasses import dataclass

from firstpour.materials.steps import Step
from firstpour.printing.estimate import PrintEstimate
from firstpour.printing.orient import PrintDirection
from firstpour.printing.print_piece import PrintPlan
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Hollows, Slices
from firstpour.printing.suction import Suction
from firstpour.rounds.round_features import RoundFeature
from firstpour.values import Finding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrinterAtBest:
    """One printer at its best: its ways up, best first, and the minutes with the work on the print."""

    printer: Printer
    ways: tuple[PrintDirection, ...]
    shutting: PrintDirection | None
    """Of the ways up that were measured, the one that would shut the largest hollow worth saying."""
    total_min: float

    @property
    def direction(self) -> PrintDirection:
        """The best way up."""
        return self.ways[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MasterPlan:
    """How the master is made, and what was weighed against it. `why` are sentences for the maker."""

    chosen: PrintPlan
    others: tuple[PrinterAtBest, ...]
    why: tuple[str, ...]
    features: tuple[RoundFeature, ...]
    findings: tuple[Finding, ...]

    @property
    def process(self) -> Process:
        """How the master is printed."""
        return self.chosen.process

    @property
    def direction(self) -> PrintDirection:
        """Which way up, and at which layer height."""
        return self.chosen.direction

    @property
    def ranked(self) -> tuple[PrintDirection, ...]:
        """The best ways up on the chosen printer, best first."""
        return self.chosen.ranked

    @property
    def layer_mm(self) -> float:
        """Layer height."""
        return self.chosen.layer_mm

    @property
    def steps(self) -> tuple[Step, ...]:
        """The work on the print, in order."""
        return self.chosen.steps

    @property
    def estimate(self) -> PrintEstimate:
        """Time and material of the print."""
        return self.chosen.estimate

    @property
    def slices(self) -> Slices:
        """The master cut into layers."""
        return self.chosen.slices

    @property
    def hollows(self) -> Hollows:
        """What its layers shut in and what starts in the air."""
        return self.chosen.hollows

    @property
    def suction(self) -> Suction:
        """The pull of each layer."""
        return self.chosen.suction
