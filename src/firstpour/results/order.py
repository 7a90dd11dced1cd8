"""The order of work within a plan: the very schedule that the job has by itself, and its files."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from firstpour.errors import WorkshopError
from firstpour.files.schedule_entries import CHART_FILE
from firstpour.pictures.route_chart import ChartKind
from firstpour.plan.values import Plan, Progress, worst_first
from firstpour.schedule.calendar_file import calendar_bytes
from firstpour.schedule.chart import chart_bytes
from firstpour.schedule.hours_ahead import first_moment
from firstpour.schedule.make import JobSchedule, Options, schedule_plan
from firstpour.schedule.round_tasks import rounds_in
from firstpour.values import Finding, Severity
from firstpour.workshop.workshop import Workshop

CALENDAR_FILE = "calendar.ics"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Order:
    """The schedule of a plan; None where materials are missing or the hours do not allow one, which `said` tells."""

    made: JobSchedule | None = None
    said: tuple[Finding, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the schedule found."""
        return (*self.said, *(() if self.made is None else self.made.findings))

    def with_those_of(self, plan: Plan) -> tuple[Finding, ...]:
        """All findings of the plan and of its order, the worst first."""
        return worst_first([*plan.findings, *self.findings])


def order_of(plan: Plan, workshop: Workshop | None, *, progress: Progress, kept: Path | None) -> Order:
    """Put the job in order from its first day on, as the schedule does by itself.

    Without a shelf, or where no part was given a hardness, there is nothing to put in order and nothing to say.
    """
    asked = [one for one in plan.parts if one.choice is not None]
    if workshop is None or not (asked or plan.printed):
        return Order()
    start = first_moment(plan.job.first_day(workshop.today), plan.job.equipment.hours)
    try:
        made = schedule_plan(
            plan, start=start, progress=progress, workshop=workshop, kept=kept, options=Options.TO_MEET_THE_DATE
        )
    except WorkshopError as error:
        return Order(said=(_not_in_order(error),))
    return Order(made=made)


def with_its_rounds(plan: Plan, order: Order) -> Plan:
    """The plan with the rounds that its order of work has: moulds may be ready sooner or later than is reckoned."""
    if order.made is None:
        return plan
    rounds = rounds_in(order.made.network)
    parts = [
        one
        if one.choice is None or one.request.name not in rounds
        else replace(one, choice=replace(one.choice, round_copies=rounds[one.request.name]))
        for one in plan.parts
    ]
    return replace(plan, parts=tuple(parts))


def _not_in_order(error: WorkshopError) -> Finding:
    return Finding(
        severity=Severity.WARNING,
        code="no-order",
        what=f"the work could not be put in order: {error.problem}",
        remedy=error.remedy,
    )


def order_files(made: JobSchedule, *, name: str, today: date) -> Mapping[str, bytes]:
    """Calendar and chart of a job named `name` by their files; stamped with the day alone."""
    stamp = first_moment(today, made.hours)
    chart = chart_bytes(made, name=name, kind=ChartKind.SVG)
    return {CALENDAR_FILE: calendar_bytes(made, name=name, now=stamp), CHART_FILE: chart}
