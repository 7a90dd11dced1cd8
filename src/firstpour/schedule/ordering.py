"""The tasks of a whole job from its plan, and its steps on the clock: where every question of order begins."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from math import ceil

from firstpour.plan.values import Plan
from firstpour.schedule.cores import after_cores
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.hours_ahead import STEP_MIN, clock_of, on_clock
from firstpour.schedule.part_tasks import part_tasks
from firstpour.schedule.printed_tasks import printed_tasks
from firstpour.schedule.sessions import in_sessions
from firstpour.schedule.solver import Solver
from firstpour.schedule.values import Calendar, Doing, Network, Schedule, Task
from firstpour.schedule.ways import Ways
from firstpour.store.learned import WORK, Factor
from firstpour.workshop.hours import Hours
from firstpour.workshop.workshop import Workshop

TRIES = 3
"""So often the moulds that are ready in each round are counted anew."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """A job to be put in order: its plan, how each part is done, the hours, and the shelf if it may be looked at."""

    plan: Plan
    ways: Mapping[str, Ways]
    start: datetime
    calendar: Calendar
    workshop: Workshop | None
    solver: Solver = field(default_factory=Solver)


def network_of(
    plan: Plan, ways: Mapping[str, Ways], calendar: Calendar, *, tries: Mapping[str, int] | None = None
) -> Network:
    """The tasks of all parts together, long work that may be left in sessions; `tries`: prints of printed parts."""
    alone = {one.request.name: part_tasks(one, ways[one.request.name]) for one in plan.parts}
    around = {one.request.name: one.request.around for one in plan.parts if one.request.around is not None}
    prints = [printed_tasks(one, tries=(tries or {}).get(one.request.name)) for one in plan.printed]
    each = [*alone.values(), *prints]
    together = Network(
        tasks=(*after_cores(alone, around), *(task for one in prints for task in one.tasks)),
        holds=tuple(hold for one in each for hold in one.holds),
        proofs=tuple(name for one in each for name in one.proofs),
    )
    return in_sessions(at_pace(together, plan.learned.paces.get(WORK, Factor()).ratio), calendar)


def at_pace(network: Network, ratio: float) -> Network:
    """The network with all work of the hands but pours as much longer as it was seen to take.

    Pours have that already: their minutes come with the plan.
    """
    if ratio == 1.0:
        return network
    return replace(network, tasks=tuple(_longer(task, ratio) for task in network.tasks))


def _longer(task: Task, ratio: float) -> Task:
    if not task.attended or task.doing not in (Doing.WORK, Doing.DEMOULD):
        return task
    return replace(
        task,
        minutes=ratio * task.minutes,
        low_min=None if task.low_min is None else ratio * task.low_min,
        high_min=None if task.high_min is None else ratio * task.high_min,
    )


def as_ready(plan: Plan, ways: Mapping[str, Ways], calendar: Calendar) -> dict[str, Ways]:
    """Each round with as many moulds as are ready when it is due, where the rule ends sooner by it.

    By itself one more mould is reckoned a round; moulds may be made faster than rounds are cast, and slower.
    """
    best = now = dict(ways)
    best_last: int | None = None
    for _ in range(TRIES):
        network = network_of(plan, now, calendar)
        found = dispatch(network, calendar)
        if best_last is None or found.last < best_last:
            best, best_last = now, found.last
        counted = {
            name: replace(way, ready=_ready(network, found, name)) if way.moulds > 1 else way
            for name, way in now.items()
        }
        if counted == now:
            break
        now = counted
    return best


def _ready(network: Network, found: Schedule, part: str) -> tuple[int, ...]:
    """Moulds that are finished when each round is cast; the first alone in the first."""
    own = [task for task in network.tasks if task.part == part]
    made: dict[int, int] = {}
    cast: dict[int, int] = {}
    for task in own:
        if task.mould:
            made[task.mould] = max(made.get(task.mould, 0), found.ends[task.id])
        if task.round and task.lane == "casting":
            start = found.starts[task.id]
            cast[task.round] = min(cast.get(task.round, start), start)
    counts = [sum(end <= cast[number] for end in made.values()) for number in sorted(cast)]
    return tuple(1 if number == 0 else max(1, count) for number, count in enumerate(counts))


def moment_at(start: datetime, step: int, hours: Hours) -> datetime:
    """The step on the workshop's clock."""
    return clock_of(start + timedelta(minutes=step * STEP_MIN), hours)


def in_time(done: datetime, due: date) -> bool:
    """Whether it is done before the day on which it is due has ended."""
    return done.date() <= due


def last_step(due: date, start: datetime, hours: Hours) -> int:
    """The last step of the day on which it is due."""
    end = on_clock(due + timedelta(days=1), 0, hours)
    return ceil((end - start).total_seconds() / 60.0 / STEP_MIN) - 1


def hands_min(network: Network) -> float:
    """Minutes of hands in all."""
    return sum(task.minutes for task in network.tasks if task.attended)
