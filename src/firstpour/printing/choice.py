"""The master as chosen: a printer at its best, and the whole plan of the master."""

from dataclasses import dataclass

from firstpour.materials.steps import Step
from firstpour.printing.estimate import PrintEstimate
from firstpour.printing.orient import PrintDirection
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Hollows, Slices
from firstpour.printing.suction import Suction
from firstpour.rounds.round_features import RoundFeature
from firstpour.values import Finding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MasterChoice:
    """One printer at its best: direction with layer height, the work after printing, and the total."""

    printer: Printer
    direction: PrintDirection
    steps: tuple[Step, ...]
    hands_min: float
    total_min: float
    cupped: PrintDirection | None
    """The direction tried in which the largest cup would be sealed, if any."""

    @property
    def process(self) -> Process:
        """How it is printed."""
        return self.printer.process

    @property
    def flaw_mm(self) -> float:
        """What is wrong with it, as `flaw.flaw_mm` counts."""
        return self.direction.score_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MasterPlan:
    """How the master is made, and what was weighed against it.

    `why` are sentences for the maker. `ranked` are the best directions of the chosen printer, best first.
    """

    chosen: MasterChoice
    others: tuple[MasterChoice, ...]
    why: tuple[str, ...]
    ranked: tuple[PrintDirection, ...]
    features: tuple[RoundFeature, ...]
    slices: Slices
    hollows: Hollows
    suction: Suction
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
    def layer_mm(self) -> float:
        """Layer height."""
        return self.chosen.direction.layer_mm

    @property
    def steps(self) -> tuple[Step, ...]:
        """The work on the print, in order."""
        return self.chosen.steps

    @property
    def estimate(self) -> PrintEstimate:
        """Time and material of the print."""
        return self.chosen.direction.estimate
