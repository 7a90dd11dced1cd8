"""The use case: from a plan to a schedule, its dates, its options and what it says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import ceil

from firstpour.plan.values import PartPlan, Plan, Progress
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.hours_ahead import STEP_MIN, calendar_from, clock_of
from firstpour.schedule.part_tasks import Ways, part_tasks
from firstpour.schedule.printed_tasks import printed_tasks
from firstpour.schedule.solve import Effort, solve
from firstpour.schedule.values import Calendar, Network, PlacedTask, Proved, Schedule
from firstpour.values import Finding, Severity
from firstpour.workshop.hours import DAY_MIN, Hours, Window

MOST_MOULDS = 8
"""More moulds of one part than this are not tried."""
FASTER_RATIO = 0.5
"""An accelerated or faster silicone cures in so much of the time: common practice, no source."""
EXTRA_MIN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """The job done otherwise, by the rule alone: first proof, last copy, minutes of hands.

    `sooner_days` is against the job as it stands, put in order by the same rule.
    """

    name: str
    first_proof_at: datetime
    all_done_at: datetime
    sooner_days: float
    hands_min: float


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
    findings: tuple[Finding, ...]


def schedule_plan(plan: Plan, *, start: datetime, progress: Progress, effort: Effort | None = None) -> JobSchedule:
    """Put the whole job in order from `start` on.

    Raises
    ------
    BadRequest
        If a part has no materials, nobody is ever there, or a task fits into no stretch of the hours.
    """
    hours = plan.job.equipment.hours
    calendar = calendar_from(start, hours)
    ways = {one.request.name: _ways(one) for one in plan.parts}
    network = network_of(plan, ways)
    progress(0, 3, "the order of work")
    found = solve(network, calendar, effort=effort)
    placed = _placed(network, found, start, hours)
    due = plan.job.due
    progress(1, 3, "the least number of moulds")
    least = least_moulds(plan, ways, calendar, start)
    progress(2, 3, "what would buy time")
    options = _options(plan, ways, network, calendar, start)
    progress(3, 3, "done")
    done_at = _at(start, found.last, hours)
    proof_at = _at(start, min(found.ends[name] for name in network.proofs), hours)
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
        hands_min=_hands_min(network),
        moulds={name: way.moulds for name, way in ways.items()},
        least_moulds=least,
        options=options,
        findings=(*_wear_findings(plan, ways), *_due_findings(due, done_at, least, options, hours)),
    )


def network_of(plan: Plan, ways: Mapping[str, Ways]) -> Network:
    """The tasks of all parts together."""
    each = [part_tasks(one, ways[one.request.name]) for one in plan.parts]
    each += [printed_tasks(one) for one in plan.printed]
    return Network(
        tasks=tuple(task for one in each for task in one.tasks),
        holds=tuple(hold for one in each for hold in one.holds),
        proofs=tuple(name for one in each for name in one.proofs),
    )


def least_moulds(
    plan: Plan, ways: Mapping[str, Ways], calendar: Calendar, start: datetime
) -> Mapping[str, int] | None:
    """The fewest moulds with which the rule meets the date: one more at a time for the part that is done last.

    None where there is no date, or where more moulds do not help.
    """
    if plan.job.due is None:
        return None
    now = {name: replace(way, moulds=1) for name, way in ways.items()}
    while True:
        network = network_of(plan, now)
        found = dispatch(network, calendar)
        if in_time(_at(start, found.last, plan.job.equipment.hours), plan.job.due):
            return {name: way.moulds for name, way in now.items()}
        last = _last_part(network, found)
        if last not in now or now[last].moulds >= MOST_MOULDS:
            return None
        now[last] = replace(now[last], moulds=now[last].moulds + 1)


def in_time(done: datetime, due: date) -> bool:
    """Whether it is done before the day on which it is due has ended."""
    return done.date() <= due


def _ways(one: PartPlan) -> Ways:
    """As asked; more moulds where one does not live long enough."""
    return Ways(moulds=max(one.request.moulds, _worn_out(one)))


def _worn_out(one: PartPlan) -> int:
    choice = one.choice
    if choice is None or choice.mould_life is None:
        return 1
    return ceil(choice.pours / one.mould.cavities / max(1, choice.mould_life.low))


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
    due: date | None, done_at: datetime, least: Mapping[str, int] | None, options: Sequence[Option], hours: Hours
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


def _options(
    plan: Plan, ways: Mapping[str, Ways], as_is: Network, calendar: Calendar, start: datetime
) -> tuple[Option, ...]:
    """Ways to do it sooner, each put in order by the same rule as what it is compared with; the best first."""
    hours = plan.job.equipment.hours
    base = dispatch(as_is, calendar)
    tried: list[tuple[str, Network, Calendar]] = []
    for name, way in ways.items():
        more = {**ways, name: replace(way, moulds=way.moulds + 1)}
        tried.append((f"another mould of {name}", network_of(plan, more), calendar))
    faster = {name: replace(way, silicone_cure_ratio=FASTER_RATIO) for name, way in ways.items()}
    tried.append(("silicone that cures in half the time", network_of(plan, faster), calendar))
    faster = {name: replace(way, casting_cure_ratio=FASTER_RATIO) for name, way in ways.items()}
    tried.append(("casting material that sets in half the time", network_of(plan, faster), calendar))
    tried.append(("an extra hour on every day with hours", as_is, calendar_from(start, with_extra_hour(hours))))
    options = []
    for name, network, then in tried:
        found = dispatch(network, then)
        options.append(
            Option(
                name=name,
                first_proof_at=_at(start, min(found.ends[proof] for proof in network.proofs), hours),
                all_done_at=_at(start, found.last, hours),
                sooner_days=(base.last - found.last) * STEP_MIN / DAY_MIN,
                hands_min=_hands_min(network),
            )
        )
    return tuple(sorted(options, key=lambda one: -one.sooner_days))


def with_extra_hour(hours: Hours) -> Hours:
    """The last window of every day an hour longer; before it where the day ends.

    >>> from firstpour.workshop.hours import Weekday
    >>> [str(one) for one in with_extra_hour(Hours()).week[Weekday.MONDAY]]
    ['09:00-18:00']
    """
    return replace(hours, week={day: _longer(windows) for day, windows in hours.week.items()})


def _longer(windows: tuple[Window, ...]) -> tuple[Window, ...]:
    if not windows:
        return ()
    *others, last = windows
    after_min = min(EXTRA_MIN, DAY_MIN - last.end_min)
    least_min = max((one.end_min for one in others), default=0)
    start_min = max(least_min, last.start_min - (EXTRA_MIN - after_min))
    return (*others, Window(start_min=start_min, end_min=last.end_min + after_min))


def _last_part(network: Network, found: Schedule) -> str:
    return max(network.tasks, key=lambda task: found.ends[task.id]).part


def _hands_min(network: Network) -> float:
    return sum(task.minutes for task in network.tasks if task.attended)


def _at(start: datetime, step: int, hours: Hours) -> datetime:
    return clock_of(start + timedelta(minutes=step * STEP_MIN), hours)


def _placed(network: Network, found: Schedule, start: datetime, hours: Hours) -> tuple[PlacedTask, ...]:
    order = {task.id: n for n, task in enumerate(network.tasks)}
    placed = [
        PlacedTask(
            task=task,
            start=_at(start, found.starts[task.id], hours),
            end=_at(start, found.ends[task.id], hours),
        )
        for task in network.tasks
    ]
    return tuple(sorted(placed, key=lambda one: (one.start, order[one.task.id])))
