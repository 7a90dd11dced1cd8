"""What a plan holds: the job, and each part through every stage."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from firstpour.choosing.choice import PartChoice, ShelfPlan
from firstpour.files.plan_json import PlanEntry
from firstpour.fill.flow import Flow
from firstpour.job.job import Job, PartRequest
from firstpour.mould.values import Mould
from firstpour.part.measure import Measures
from firstpour.part.part import Part
from firstpour.parting.values import Draw
from firstpour.plan.filling import PartFill
from firstpour.plan.mastering import PartMaster
from firstpour.plan.shrinking import allowance_findings
from firstpour.values import Finding, Severity

Progress = Callable[[int, int, str], None]
"""Told how many steps are done, of how many, and what is being done now."""

STAGES = 5
"""Steps it takes to work a part out: read and measure, draw, fill, mould, master. Writing it is one more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlan:
    """One part through every stage. `draws` are ranked, the best first; `mould.draw` is the one taken."""

    request: PartRequest
    part: Part
    measures: Measures
    draws: tuple[Draw, ...]
    fill: PartFill | None
    master: PartMaster
    mould: Mould

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages found, each once, with the name of the part."""
        filled = () if self.fill is None else self.fill.findings
        stages = (self.part.findings, self.measures.findings, filled, self.mould.findings, self.master.findings)
        found = dict.fromkeys(finding for stage in stages for finding in stage)
        return tuple(of_part(finding, self.part.name) for finding in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What was asked and what came of it. `shelf` is None where no hardness was given or no shelf was looked at."""

    job: Job
    parts: tuple[PartPlan, ...]
    shelf: ShelfPlan | None = None
    flows: Mapping[str, Flow] = field(default_factory=dict)
    """The flow of each part's pour by its name, where it could be worked out."""

    def choice_of(self, name: str) -> PartChoice | None:
        """What the shelf chose for the part of that name."""
        choices = self.shelf.parts if self.shelf is not None else ()
        return next((choice for choice in choices if choice.name == name), None)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages of all parts found, the worst first."""
        order = list(Severity)
        found = [finding for part in self.parts for finding in part.findings]
        if self.shelf is not None:
            of_job = {finding.code for finding in self.shelf.findings}
            for choice in self.shelf.parts:
                found += [of_part(each, choice.name) for each in choice.findings if each.code not in of_job]
            found += self.shelf.findings
        for one in self.parts:
            chosen = self.choice_of(one.part.name)
            if chosen is not None:
                said = allowance_findings(one.mould, chosen, longest_mm=max(one.measures.size_mm))
                found += [of_part(each, chosen.name) for each in said]
        found += [of_part(each, name) for name, flow in self.flows.items() for each in flow.findings]
        return tuple(sorted(each_once(found), key=lambda finding: -order.index(finding.severity)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedPlan:
    """A plan and what its plan.json says."""

    plan: Plan
    entry: PlanEntry


def of_part(finding: Finding, name: str) -> Finding:
    """The finding with the name of its part before its place."""
    where = finding.where if finding.where not in (None, name) else None
    return replace(finding, where=name if where is None else f"{name}, {where}")


def each_once(findings: Sequence[Finding]) -> list[Finding]:
    """Findings that say the same of several parts as one, with all their places."""
    places: dict[Finding, list[str]] = {}
    for finding in findings:
        places.setdefault(replace(finding, where=None), []).append(finding.where or "")
    return [
        replace(finding, where="; ".join(dict.fromkeys(filter(None, where))) or None)
        for finding, where in places.items()
    ]
