"""What the plan of a job holds: each part through every stage, what failed, and the materials for all."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from firstpour.cavities.lay import Option
from firstpour.cavities.table import CavityRow
from firstpour.choosing.choice import PartChoice, ShelfPlan
from firstpour.errors import WorkshopError
from firstpour.fill.flow import Flow
from firstpour.inserts.placing import HeldInsert
from firstpour.job.job import Job, PartRequest
from firstpour.mould.pours import MouldPour
from firstpour.mould.values import Mould
from firstpour.part.measure import Measures
from firstpour.part.part import Part
from firstpour.parting.values import RankedDraw
from firstpour.plan.filling import PartFill
from firstpour.plan.laid import LaidMember
from firstpour.plan.printing import PartPrinting
from firstpour.routes.taken import Taken
from firstpour.stock.stock import StockLine
from firstpour.store.learned import Learned, Seen
from firstpour.values import Finding, Severity

Progress = Callable[[int, int, str], None]
"""Told how many steps are done, of how many, and what is being done now."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartPlan:
    """One part through every stage. `draws` are ranked, the best first; `mould.draw` is the one taken; `pours` are
    those of the silicone and the cast, in the order of the work.

    `flow` and `choice` are None where no material is known.
    """

    request: PartRequest
    part: Part
    measures: Measures
    draws: tuple[RankedDraw, ...]
    fill: PartFill | None
    flow: Flow | None
    mould: Mould
    pours: tuple[MouldPour, ...]
    printing: PartPrinting
    choice: PartChoice | None
    worked_name: str
    """Names the content of fill, mould and master: equal where nothing of them changed."""
    inserts: tuple[HeldInsert, ...] = ()
    """What is set into every cavity before the cast, and what holds it."""
    members: tuple[LaidMember, ...] = ()
    """The different parts that lie together in its mould; a copy is then a set of them."""
    cavities: tuple[CavityRow, ...] = ()
    """What each number of cavities would take; empty where one is asked for."""
    cavity_options: tuple[Option, ...] = ()
    """What a mould of each number would take, whatever was asked for; empty where it takes one only."""
    said: tuple[Finding, ...] = ()
    """What the stages between found."""
    taken: Taken | None = None
    """The route that it follows, where the job prefers or fixes one."""
    seen: Seen = field(default_factory=Seen)
    """The shots made here before that tell of it."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages found, each once, with the name of the part."""
        stages = (
            self.part.findings,
            self.measures.findings,
            () if self.fill is None else self.fill.findings,
            () if self.flow is None else self.flow.findings,
            self.mould.findings,
            self.printing.findings,
            self.said,
        )
        found = dict.fromkeys(finding for stage in stages for finding in stage)
        return tuple(of_part(finding, self.request.name) for finding in found)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedPart:
    """A part whose copies are printed directly: it has no mould. `taken` is its route, down to its terms."""

    request: PartRequest
    part: Part
    measures: Measures
    taken: Taken

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is known of its mesh and of its fits, with its name."""
        doubts = self.taken.route.recipe.fit_doubts
        found = dict.fromkeys((*self.part.findings, *self.measures.findings, *doubts))
        return tuple(of_part(finding, self.request.name) for finding in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedPart:
    """A part that could not be planned: what is wrong and what to do. The rest of the job goes on without it."""

    name: str
    problem: str
    remedy: str
    code: str

    @classmethod
    def told(cls, name: str, error: WorkshopError) -> "FailedPart":
        """The failure of the part `name` as its error tells it."""
        return cls(name=name, problem=error.problem, remedy=error.remedy, code=error.code)

    @property
    def finding(self) -> Finding:
        """The failure as a finding of the job."""
        return Finding(
            severity=Severity.ERROR,
            code="part-not-planned",
            what=f"it could not be planned: {self.problem}",
            remedy=self.remedy,
            where=self.name,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """What was asked and what came of it: `parts` are cast, `printed` are printed directly.

    `shelf` is None where no hardness was given or no shelf was looked at.
    """

    job: Job
    parts: tuple[PartPlan, ...]
    failed: tuple[FailedPart, ...] = ()
    shelf: ShelfPlan | None = None
    printed: tuple[PrintedPart, ...] = ()
    prints_stock: tuple[StockLine, ...] = ()
    """What those need, against the shelf."""
    learned: Learned = field(default_factory=Learned)
    """What was seen in the workshop before, as the plan reckons with it."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages of all parts found, the worst first."""
        found = [one.finding for one in self.failed]
        found += [finding for part in self.parts for finding in part.findings]
        found += [finding for one in self.printed for finding in one.findings]
        if self.shelf is not None:
            of_job = {finding.code for finding in self.shelf.findings}
            for choice in self.shelf.parts:
                found += [of_part(each, choice.name) for each in choice.findings if each.code not in of_job]
            found += self.shelf.findings
        found += [finding for line in self.prints_stock for finding in line.findings]
        return worst_first(each_once(found))


def of_part(finding: Finding, name: str) -> Finding:
    """The finding with the name of its part before its place."""
    where = finding.where if finding.where not in (None, name) else None
    return replace(finding, where=name if where is None else f"{name}, {where}")


def worst_first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings by their severity, those of one severity in the order in which they stand."""
    order = list(Severity)
    return tuple(sorted(findings, key=lambda finding: -order.index(finding.severity)))


def each_once(findings: Sequence[Finding]) -> list[Finding]:
    """Findings that say the same of several parts as one, with all their places."""
    places: dict[Finding, list[str]] = {}
    for finding in findings:
        places.setdefault(replace(finding, where=None), []).append(finding.where or "")
    return [
        replace(finding, where="; ".join(dict.fromkeys(filter(None, where))) or None)
        for finding, where in places.items()
    ]
