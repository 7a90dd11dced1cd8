"""The schedule from the present state: what is done stands, what runs keeps running, the rest is put in order."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from firstpour.errors import BadRequest
from firstpour.schedule.dispatch import waits_of
from firstpour.schedule.hours_ahead import STEP_MIN, calendar_from, clock_of
from firstpour.schedule.solve import Effort, solve
from firstpour.schedule.values import Calendar, Hold, Network, PlacedTask, Proved, Schedule, Task
from firstpour.workshop.hours import Hours


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """From when to when; of what still runs, `end` is when it is expected to end."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None or self.end < self.start:
            raise BadRequest(
                f"from {self.start} to {self.end} is no stretch of time",
                remedy="give both with their time zone, the end not before the start",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Present:
    """How a job stands at the moment `at`: tasks done, and tasks that run, by their id.

    A cure or print that follows at once on something done runs by itself: it need not be named. What was before
    something done or running counts as done, too.
    """

    at: datetime
    done: Mapping[str, Stretch] = field(default_factory=dict)
    running: Mapping[str, Stretch] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise BadRequest("the present moment has no time zone", remedy="give the moment with its time zone")
        both = sorted(set(self.done) & set(self.running))
        if both:
            raise BadRequest(f"“{both[0]}” is done and runs", remedy="take it out of one of the two")


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """Every task of the job on the clock: done, running and to come. `left` is what was put in order anew."""

    tasks: tuple[PlacedTask, ...]
    done: frozenset[str]
    running: frozenset[str]
    left: Network
    calendar: Calendar
    found: Schedule
    first_proof_at: datetime | None
    """The next proof that is still to come; None where every mould is proved."""
    all_done_at: datetime

    @property
    def proved(self) -> Proved:
        """How far the rest is known to be in the best order."""
        return self.found.proved


def replan(network: Network, present: Present, *, hours: Hours, effort: Effort | None = None) -> Replanned:
    """Put what is left of the job in order from the present on.

    Raises
    ------
    BadRequest
        If a task is not known, two hands' tasks run at once, or what is left finds no place in the hours.
    """
    settled = _settled(network, present)
    left = _left(network, settled, present.at)
    calendar = calendar_from(present.at, hours)
    found = solve(left, calendar, effort=effort)
    placed = _placed(network, settled, found, present.at, hours)
    to_prove = [found.ends[name] for name in left.proofs]
    return Replanned(
        tasks=placed,
        done=frozenset(settled.done),
        running=frozenset(settled.running),
        left=left,
        calendar=calendar,
        found=found,
        first_proof_at=_moment(present.at, min(to_prove), hours) if to_prove else None,
        all_done_at=max(one.end for one in placed),
    )


def _settled(network: Network, present: Present) -> Present:
    """The present with what follows from it: what was before is done, waits that follow at once run or are over."""
    tasks = {task.id: task for task in network.tasks}
    for name in (*present.done, *present.running):
        if name not in tasks:
            raise BadRequest(
                f"no task of this job is “{name}”", remedy="take the ids of the tasks as they stand in the schedule"
            )
    done, running = dict(present.done), dict(present.running)
    for task in reversed(network.tasks):
        told = done.get(task.id) or running.get(task.id)
        for before in waits_of(task) if told is not None else ():
            running.pop(before, None)
            done.setdefault(before, Stretch(start=told.start, end=told.start))  # type: ignore[union-attr]
    for task in network.tasks:
        if task.id in done or task.id in running or task.attended or not waits_of(task):
            continue
        ended = [done[name].end for name in waits_of(task) if name in done]
        if len(ended) < len(waits_of(task)) or (task.at_once is None and (task.watched or task.uses)):
            continue
        stretch = Stretch(start=max(ended), end=max(ended) + timedelta(minutes=task.minutes))
        (done if stretch.end <= present.at else running)[task.id] = stretch
    at_hand = [name for name in running if tasks[name].attended]
    if len(at_hand) > 1:
        raise BadRequest(
            f"hands are at “{at_hand[0]}” and at “{at_hand[1]}” at once", remedy="tell which of the two is done"
        )
    return Present(at=present.at, done=done, running=running)


def _left(network: Network, settled: Present, at: datetime) -> Network:
    """What is not done, as a job that begins at the present moment."""
    tasks = [_still(task, settled, at) for task in network.tasks if task.id not in settled.done]
    begun = {*settled.done, *settled.running}
    holds = [
        replace(hold, first=None) if hold.first is None or hold.first in begun else hold
        for hold in network.holds
        if hold.last not in settled.done
    ]
    return Network(
        tasks=tuple(tasks),
        holds=_each_machine_once(holds),
        proofs=tuple(name for name in network.proofs if name not in settled.done),
    )


def _each_machine_once(holds: list[Hold]) -> tuple[Hold, ...]:
    """Holds as they are; a machine that two things hold already is told."""
    taken: dict[str, str] = {}
    for hold in holds:
        if hold.first is None and hold.machine in taken:
            raise BadRequest(
                f"{hold.machine} is taken by “{taken[hold.machine]}” and by “{hold.last}” at once",
                remedy="tell which of the two is out of it",
            )
        if hold.first is None:
            taken[hold.machine] = hold.last
    return tuple(holds)


def _still(task: Task, settled: Present, at: datetime) -> Task:
    """The task as it is left to do: a running one for what remains of it."""
    if task.id in settled.running:
        left_min = max(0.0, (settled.running[task.id].end - at).total_seconds() / 60.0)
        ratio = left_min / task.minutes if task.minutes > 0.0 else 0.0
        spread = [None if one is None else one * ratio for one in (task.low_min, task.high_min)]
        return replace(
            task, minutes=left_min, low_min=spread[0], high_min=spread[1], after=(), at_once=None, pinned=True
        )
    after = tuple(name for name in task.after if name not in settled.done)
    return replace(task, after=after, at_once=None if task.at_once in settled.done else task.at_once)


def _placed(
    network: Network, settled: Present, found: Schedule, at: datetime, hours: Hours
) -> tuple[PlacedTask, ...]:
    """Every task on the clock in the order of its start."""
    placed = []
    for task in network.tasks:
        told = settled.done.get(task.id) or settled.running.get(task.id)
        if told is not None:
            placed.append(PlacedTask(task=task, start=clock_of(told.start, hours), end=clock_of(told.end, hours)))
        else:
            start, end = (_moment(at, step, hours) for step in (found.starts[task.id], found.ends[task.id]))
            placed.append(PlacedTask(task=task, start=start, end=end))
    return tuple(sorted(placed, key=lambda one: one.start))


def _moment(at: datetime, step: int, hours: Hours) -> datetime:
    return clock_of(at + timedelta(minutes=step * STEP_MIN), hours)
