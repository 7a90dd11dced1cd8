"""The use case: from a plan to a schedule, its dates, its options and what it says."""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import Enum, auto
from pathlib import Path

from firstpour.plan.kept import Kept, open_kept, stage_name
from firstpour.plan.values import Plan, Progress
from firstpour.schedule.alternative import Alternative
from firstpour.schedule.chances import MOST_AGAIN, PRINT_YIELD, Yields, cast_yield_seen, most_shots
from firstpour.schedule.hours_ahead import calendar_from
from firstpour.schedule.least import least_moulds
from firstpour.schedule.options import Option, alternatives, compare
from firstpour.schedule.ordering import Asked, as_ready, hands_min, in_time, last_step, moment_at, network_of
from firstpour.schedule.part_tasks import can_be_put_in_order
from firstpour.schedule.risk import Driver, Risk, risk_of
from firstpour.schedule.solve import Effort
from firstpour.schedule.solver import Solver
from firstpour.schedule.values import Calendar, Network, PlacedTask, Proved, Schedule
from firstpour.schedule.ways import Ways, ways_of
from firstpour.values import Finding, Severity
from firstpour.workshop.hours import Hours
from firstpour.workshop.workshop import Workshop


class Options(Enum):
    """When the job is worked out otherwise as well: always, or only where the date is missed as it stands."""

    ALL = auto()
    TO_MEET_THE_DATE = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class DateRisk:
    """How sure the date is, by so many runs; `chance_ratio` of meeting the date, None without one."""

    runs: int
    p50_at: datetime
    p90_at: datetime
    chance_ratio: float | None
    drivers: tuple[Driver, ...]
    unfinished_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSchedule:
    """The schedule of a job. `moulds`: of each part; `least_moulds`: what meets the date, None where nothing does."""

    tasks: tuple[PlacedTask, ...]
    network: Network
    calendar: Calendar
    start: datetime
    hours: Hours
    first_proof_at: datetime
    all_done_at: datetime
    due: date | None
    proved: Proved
    gap_ratio: float
    visits: int
    hands_min: float
    moulds: Mapping[str, int]
    least_moulds: Mapping[str, int] | None
    options: tuple[Option, ...]
    risk: DateRisk
    findings: tuple[Finding, ...]


def schedule_plan(
    plan: Plan,
    *,
    start: datetime,
    progress: Progress,
    workshop: Workshop | None = None,
    effort: Effort | None = None,
    option_effort: Effort | None = None,
    kept: Path | None = None,
    options: Options = Options.ALL,
) -> JobSchedule:
    """Put the whole job in order from `start` on. Other materials are looked for on the shelf of the `workshop`.

    Dates, risk and findings are the same whatever `options` says; orders found before are taken from `kept`.

    Raises
    ------
    BadRequest
        If no part has materials, nobody is ever there, or a task fits into no stretch of the hours.
    """
    plan, left_out = _with_materials(plan)
    hours, due = plan.job.equipment.hours, plan.job.due
    calendar = calendar_from(start, hours)
    ways = as_ready(plan, {one.request.name: ways_of(one) for one in plan.parts}, calendar)
    solver = Solver(open_kept(kept))
    here = None if workshop is None else replace(workshop, equipment=plan.job.equipment)
    asked = Asked(plan=plan, ways=ways, start=start, calendar=calendar, workshop=here, solver=solver)
    total = 2
    progress(0, total, "the order of work, and how sure it is")
    network = network_of(plan, ways, calendar)
    with ThreadPoolExecutor(1) as beside:
        # the solver works outside the interpreter: how sure the date is costs no time beside it
        risk_told = beside.submit(_date_risk, asked, open_kept(kept))
        found = solver.solve(network, calendar, effort=effort)
        risk = risk_told.result()
    done_at = moment_at(start, found.last, hours)
    others: tuple[Alternative, ...] = ()
    if options is Options.ALL or (due is not None and not in_time(done_at, due)):
        others = alternatives(asked)
        total += len(others)
    placed = _placed(network, found, start, hours)
    progress(1, total, "the least number of moulds")
    least = least_moulds(asked, effort=option_effort)
    compared = compare(asked, found, others, progress=progress, done=2, total=total, effort=option_effort)
    proof_at = moment_at(start, min((found.ends[name] for name in network.proofs), default=found.last), hours)
    return JobSchedule(
        tasks=placed,
        network=network,
        calendar=calendar,
        start=start,
        hours=hours,
        first_proof_at=proof_at,
        all_done_at=done_at,
        due=due,
        proved=found.proved,
        gap_ratio=found.gap_ratio,
        visits=found.visits,
        hands_min=hands_min(network),
        moulds={name: way.moulds for name, way in ways.items()},
        least_moulds=least,
        options=compared,
        risk=risk,
        findings=(*left_out, *_wear_findings(plan, ways), *_due_findings(due, done_at, least, compared)),
    )


def _with_materials(plan: Plan) -> tuple[Plan, tuple[Finding, ...]]:
    """The plan without the parts that have no silicone or no casting material, as long as others are left."""
    ready = tuple(one for one in plan.parts if can_be_put_in_order(one))
    if not (ready or plan.printed):
        return plan, ()
    said = tuple(
        Finding(
            severity=Severity.WARNING,
            code="left-out-of-order",
            what="it is left out of the order of work: it has no silicone or no casting material",
            remedy="give the part a hardness, and enter materials on the shelf that reach it",
            where=one.request.name,
        )
        for one in plan.parts
        if not can_be_put_in_order(one)
    )
    return replace(plan, parts=ready), said


def _date_risk(asked: Asked, kept: Kept) -> DateRisk:
    """The job worked many times by the rule, with shots and moulds enough laid in for what may be spoiled."""
    plan, calendar, hours = asked.plan, asked.calendar, asked.plan.job.equipment.hours
    copies = {one.request.name: one.request.copies for one in plan.parts}
    yields = Yields(seen={one.request.name: cast_yield_seen(one.seen) for one in plan.parts if one.seen.shots})
    spare = {
        name: replace(
            way, shots=most_shots(copies[name], yields.cast_of(name)), again=MOST_AGAIN, prints_again=MOST_AGAIN
        )
        for name, way in asked.ways.items()
    }
    prints = {one.request.name: one.request.copies for one in plan.printed}
    tries = {name: most_shots(count, PRINT_YIELD) for name, count in prints.items()}
    network, copies = network_of(plan, spare, calendar, tries=tries), copies | prints
    name = stage_name("risk", network, calendar, copies, yields)
    risk: Risk | None = kept.get(name)
    if risk is None:
        risk = risk_of(network, calendar, copies, yields=yields, printed=set(prints))
        kept.put(name, risk)
    due = plan.job.due
    return DateRisk(
        runs=len(risk.lasts),
        p50_at=moment_at(asked.start, risk.within(0.5), hours),
        p90_at=moment_at(asked.start, risk.within(0.9), hours),
        chance_ratio=None if due is None else risk.chance_by(last_step(due, asked.start, hours)),
        drivers=risk.drivers,
        unfinished_ratio=risk.unfinished_ratio,
    )


def _wear_findings(plan: Plan, ways: Mapping[str, Ways]) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="moulds-added",
            what=f"{one.request.moulds} of its moulds would wear out before its {one.choice.pours} shots: "
            f"the schedule makes {ways[one.request.name].moulds}",
            remedy="enter that number of moulds for the part, so that the silicone is reckoned as well",
            where=one.request.name,
        )
        for one in plan.parts
        if one.choice is not None and ways[one.request.name].moulds > one.request.moulds
    )


def _due_findings(
    due: date | None, done_at: datetime, least: Mapping[str, int] | None, options: Sequence[Option]
) -> tuple[Finding, ...]:
    if due is None or in_time(done_at, due):
        return ()
    helps = [one for one in options if in_time(one.all_done_at, due)] or list(options[:2])
    if least is not None:
        words = ", ".join(f"{count} of {name}" for name, count in least.items() if count > 1)
        remedy = f"make more moulds: {words or 'one of each is enough if the work is done in another order'}"
    elif helps and helps[0].sooner_days > 0:
        remedy = "take a later date; sooner by " + ", ".join(
            f"{one.sooner_days:.1f} days with {one.name}" for one in helps if one.sooner_days > 0
        )
    else:
        remedy = "take a later date, or enter more hours in the workshop"
    return (
        Finding(
            severity=Severity.ERROR,
            code="date-missed",
            what=f"it is due on {due.isoformat()}; the last copy is there on {done_at:%Y-%m-%d at %H:%M}",
            remedy=remedy,
        ),
    )


def _placed(network: Network, found: Schedule, start: datetime, hours: Hours) -> tuple[PlacedTask, ...]:
    order = {task.id: n for n, task in enumerate(network.tasks)}
    placed = [
        PlacedTask(
            task=task,
            start=moment_at(start, found.starts[task.id], hours),
            end=moment_at(start, found.ends[task.id], hours),
        )
        for task in network.tasks
    ]
    return tuple(sorted(placed, key=lambda one: (one.start, order[one.task.id])))
