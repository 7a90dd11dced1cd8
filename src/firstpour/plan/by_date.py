"""The plan with as many cavities as are the best for the date, in the moulds of the parts that leave it open."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from firstpour.cavities.table import CavityRow, best_row
from firstpour.cavities.values import DATE
from firstpour.job.job import Job
from firstpour.plan.cavity_table import OTHER, table_findings
from firstpour.plan.crew import Crew
from firstpour.plan.make import make_plan
from firstpour.plan.values import PartPlan, Plan, Progress
from firstpour.values import Finding, Severity
from firstpour.workshop.workshop import Workshop


def plan_by_date(
    job: Job,
    *,
    progress: Progress,
    workshop: Workshop | None = None,
    crew: Crew | None = None,
    kept: Path | None = None,
) -> Plan:
    """The plan of the job; a part with `cavities = "date"` gets the number that its table calls the best.

    It is planned with one cavity first, which gives the table, and again with the best number. A part whose mould
    does not come out with it keeps one.

    Raises
    ------
    WorkshopError
        As `make_plan`.
    """

    def made_with(chosen: Mapping[str, CavityRow]) -> Plan:
        parts = tuple(
            replace(one, cavities=chosen[one.name].cavities, basin=chosen[one.name].basin)
            if one.name in chosen
            else one
            for one in job.parts
        )
        asked = replace(job, parts=parts)
        return make_plan(asked, progress=progress, workshop=workshop, crew=crew, kept=kept)

    plan = made_with({})
    tables = {one.request.name: one.cavities for one in plan.parts if one.request.cavities == DATE}
    best = {name: best_row(rows) for name, rows in tables.items()}
    chosen = {name: row for name, row in best.items() if row is not None and row.cavities > 1}
    if chosen:
        went = {one.name for one in plan.failed}
        plan = made_with(chosen)
        lost = {one.name for one in plan.failed} - went
        if lost:
            plan = made_with({name: row for name, row in chosen.items() if name not in lost})
    asked = {one.name: one for one in job.parts}
    parts = [replace(one, request=asked[one.request.name]) for one in plan.parts]
    return replace(plan, job=job, parts=tuple(_chosen(one, tables.get(one.request.name)) for one in parts))


def _chosen(one: PartPlan, table: tuple[CavityRow, ...] | None) -> PartPlan:
    """The part with the numbers that were chosen from, and word of why one is made where nothing could be chosen."""
    if table is None:
        return one
    numbers = {row.cavities for row in table}
    rows = tuple(row for row in one.cavities if row.cavities in numbers)
    said = tuple(finding for finding in one.said if finding.code != OTHER)
    if one.mould.cavities > 1 or _why_alone(one) is None:
        told = tuple(finding for finding in table_findings(rows) if finding.code == OTHER)
        return replace(one, cavities=rows, said=(*said, *told))
    return replace(one, cavities=rows, said=(*said, _not_chosen(one)))


def _why_alone(one: PartPlan) -> tuple[str, str] | None:
    """Why one cavity is made and none was chosen, and what would change that; None where the table has a choice."""
    if not one.cavities:
        why = f"a mould of kind {one.mould.kind} takes one cavity"
        return why, 'give kind = "trays" and a draw direction along which two halves open'
    if best_row(one.cavities) is None:
        why = "without a casting material from the shelf no number of cavities has its days"
        return why, "give hardness, and a casting material on the shelf that meets it; or a number of cavities"
    if len(one.cavities) == 1:
        why = (
            "no second one goes beside the first: gate and vents would run through it, or printer, pot life or "
            "silicone take no more"
        )
        return (
            why,
            "give up along the draw direction, so that gate and vents leave upwards, or enter a larger printer",
        )
    return None


def _not_chosen(one: PartPlan) -> Finding:
    why, remedy = _why_alone(one) or ("", "")
    return Finding(
        severity=Severity.INFO,
        code="cavities-not-chosen",
        what=f"one cavity is made, and none chosen for the date: {why}",
        remedy=remedy,
    )
