"""A schedule as entries of JSON, and the tasks back from them."""

from firstpour.files.entry import finding_entries
from firstpour.files.schedule_entries import (
    DriverEntry,
    HoldEntry,
    HoursEntry,
    OptionEntry,
    RiskEntry,
    ScheduleEntry,
    TaskEntry,
)
from firstpour.schedule.hours_ahead import STEP_MIN
from firstpour.schedule.make import DateRisk, JobSchedule
from firstpour.schedule.values import Doing, Hold, Network, PlacedTask, Task
from firstpour.workshop.hours import DAY_MIN, Hours, windows_from


def schedule_entry(made: JobSchedule) -> ScheduleEntry:
    """The entry of a schedule, tasks in the order in which they begin."""
    return ScheduleEntry(
        start=made.start,
        due=made.due,
        first_proof_at=made.first_proof_at,
        all_done_at=made.all_done_at,
        proved=made.proved.value,
        gap_ratio=made.gap_ratio,
        visits=made.visits,
        hands_min=made.hands_min,
        moulds=dict(made.moulds),
        least_moulds=None if made.least_moulds is None else dict(made.least_moulds),
        risk=_risk_entry(made.risk),
        tasks=[_task_entry(one) for one in made.tasks],
        holds=[HoldEntry.model_validate(hold) for hold in made.network.holds],
        proofs=list(made.network.proofs),
        options=[OptionEntry.model_validate(one) for one in made.options],
        hours=_hours_entry(made.hours),
        findings=finding_entries(made.findings),
    )


def _hours_entry(hours: Hours) -> HoursEntry:
    week = {day: [str(one) for one in windows] for day, windows in hours.week.items()}
    return HoursEntry(week=week, days_off=list(hours.days_off), time_zone=hours.time_zone)


def hours_from(entry: ScheduleEntry) -> Hours:
    """When somebody is there, as the schedule reckons; the typical week where an older one does not say."""
    if entry.hours is None:
        return Hours()
    week = {day: windows_from(", ".join(words)) for day, words in entry.hours.week.items()}
    return Hours(week=week, days_off=tuple(entry.hours.days_off), time_zone=entry.hours.time_zone)


def _task_entry(one: PlacedTask) -> TaskEntry:
    task = one.task
    return TaskEntry(
        id=task.id,
        name=task.name,
        part=task.part,
        doing=task.doing.value,
        hands=task.attended,
        watched=task.watched,
        start=one.start,
        end=one.end,
        minutes=task.minutes,
        low_min=task.low_min,
        high_min=task.high_min,
        after=list(task.after),
        at_once=task.at_once,
        machines=list(task.uses),
        lane=task.lane,
        good_copies=task.good_copies,
        text=task.text,
    )


def _risk_entry(risk: DateRisk) -> RiskEntry:
    days = STEP_MIN / DAY_MIN
    return RiskEntry(
        runs=risk.runs,
        p50_at=risk.p50_at,
        p90_at=risk.p90_at,
        chance_ratio=risk.chance_ratio,
        drivers=[
            DriverEntry(
                what=one.what,
                correlation=one.correlation,
                worst_against_best_days=one.worst_against_best * days,
            )
            for one in risk.drivers
        ],
    )


def network_from(entry: ScheduleEntry) -> Network:
    """The tasks of a schedule that was written, to put what is left of them in order again.

    Raises
    ------
    BadRequest
        If they hang together in no order.
    """
    left = {one.id: one for one in entry.tasks}
    tasks: list[Task] = []
    seen: set[str] = set()
    while left:
        ready = [one for one in left.values() if {*one.after, *([one.at_once] if one.at_once else [])} <= seen]
        for one in ready or list(left.values()):
            tasks.append(_task(one))
            seen.add(one.id)
            del left[one.id]
    holds = tuple(Hold(machine=one.machine, first=one.first, last=one.last) for one in entry.holds)
    return Network(tasks=tuple(tasks), holds=holds, proofs=tuple(entry.proofs))


def _task(one: TaskEntry) -> Task:
    return Task(
        id=one.id,
        name=one.name,
        part=one.part,
        doing=Doing(one.doing),
        minutes=one.minutes,
        attended=one.hands,
        watched=one.watched,
        after=tuple(one.after),
        at_once=one.at_once,
        uses=tuple(one.machines),
        low_min=one.low_min,
        high_min=one.high_min,
        text=one.text,
        good_copies=one.good_copies,
        lane=one.lane,
    )
