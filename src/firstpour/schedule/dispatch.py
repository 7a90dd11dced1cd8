"""A schedule by rule: whatever can begin first is begun, and of those the task with the longest tail behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.kernels.line_up import line_up
from firstpour.schedule.values import Calendar, Doing, Network, Proved, Schedule, Task
from firstpour.workshop.hours import DAY_MIN

MOST_PUT_OFF = 200
"""All is placed anew at most so many times."""
Tails = Mapping[str, int]
Steps = NDArray[np.int64]


def tails_of(network: Network, calendar: Calendar) -> Tails:
    """Steps from the start of each task to the end of all that hangs on it, if nothing keeps it waiting."""
    tails: dict[str, int] = {task.id: 0 for task in network.tasks}
    for task in reversed(network.tasks):
        tails[task.id] += calendar.steps(task.minutes)
        for before in waits_of(task):
            tails[before] = max(tails[before], tails[task.id])
    return tails


def heads_of(network: Network, calendar: Calendar) -> Tails:
    """The earliest start of each task if nothing but its order keeps it waiting."""
    heads: dict[str, int] = {}
    ends: dict[str, int] = {}
    for task in network.tasks:
        heads[task.id] = max((ends[before] for before in waits_of(task)), default=0)
        ends[task.id] = heads[task.id] + calendar.steps(task.minutes)
    return heads


def waits_of(task: Task) -> tuple[str, ...]:
    """The tasks that must have ended before it."""
    return task.after if task.at_once is None else (task.at_once,)


def dispatch(network: Network, calendar: Calendar) -> Schedule:
    """Place every task by the rule, at its likeliest length.

    What must follow one task soon follows it at once. Where a task would still begin too long after another, that
    one is put off, and all is placed anew.

    Raises
    ------
    BadRequest
        If a task fits into no window, or never soon enough after what it must follow.
    """
    not_before: dict[str, int] = {}
    tight = _tight(network)
    try:
        found = _by_rule(tight, calendar)
    except BadRequest:
        tight, found = network, _by_rule(network, calendar)
    for _ in range(MOST_PUT_OFF):
        later = _too_early(network, calendar, found)
        if not later:
            names = [task.id for task in network.tasks]
            own = ({name: times[name] for name in names} for times in (found.starts, found.ends))
            return Schedule(starts=next(own), ends=next(own), proved=Proved.RULE)
        not_before |= later
        try:
            found = _by_rule(_put_off(tight, calendar, not_before), calendar)
        except BadRequest:
            break
    raise _never_soon_enough(network, calendar, found)


def _never_soon_enough(network: Network, calendar: Calendar, found: Schedule) -> BadRequest:
    task, within_min = next(
        (task, minutes)
        for task in network.tasks
        for before, minutes in task.soon_after
        if _gap(task, before, minutes, calendar, found) > 0
    )
    return BadRequest(
        f"{task.part}: “{task.name}” must begin within {within_min:.0f} min of what it follows, and finds no place",
        remedy="enter longer stretches in the hours of the workshop",
    )


def _by_rule(network: Network, calendar: Calendar) -> Schedule:
    steps = np.array([[calendar.steps(task.minutes) for task in network.tasks]], np.int64)
    placed = place_runs(network, calendar, steps)
    if placed.stuck[0] >= 0:
        raise too_long(network.tasks[placed.stuck[0]], calendar)
    names = [task.id for task in network.tasks]
    starts = dict(zip(names, placed.starts[0].tolist(), strict=True))
    ends = dict(zip(names, (placed.starts[0] + steps[0]).tolist(), strict=True))
    return Schedule(starts=starts, ends=ends, proved=Proved.RULE, bound=0)


def _tight(network: Network) -> Network:
    """The network with what must follow one task soon, and nothing else, begun the moment that this ends."""
    followed = {task.at_once for task in network.tasks}
    tasks: list[Task] = []
    for task in network.tasks:
        soon = task.soon_after
        if len(task.after) == 1 == len(soon) and soon[0][0] not in followed:
            followed.add(soon[0][0])
            tasks.append(replace(task, after=(), at_once=soon[0][0]))
        else:
            tasks.append(task)
    return replace(network, tasks=tuple(tasks))


def _put_off(network: Network, calendar: Calendar, not_before: Mapping[str, int]) -> Network:
    """The network with a wait from the beginning on before each of those tasks."""
    tasks: list[Task] = []
    for task in network.tasks:
        if task.id in not_before:
            wait = Task(
                id=f"not before: {task.id}",
                name="put off",
                part=task.part,
                doing=Doing.WAIT,
                minutes=not_before[task.id] * calendar.step_min,
            )
            tasks += [wait, replace(task, after=(*task.after, wait.id))]
        else:
            tasks.append(task)
    return replace(network, tasks=tuple(tasks))


def _too_early(network: Network, calendar: Calendar, found: Schedule) -> dict[str, int]:
    """Of what a task follows too late: the head of each, and when it may begin instead."""
    head: dict[str, str] = {}
    later: dict[str, int] = {}
    for task in network.tasks:
        head[task.id] = task.id if task.at_once is None else head[task.at_once]
        for before, minutes in task.soon_after:
            gap = _gap(task, before, minutes, calendar, found)
            if gap > 0:
                later[head[before]] = max(later.get(head[before], 0), found.starts[head[before]] + gap)
    return later


def _gap(task: Task, before: str, within_min: float, calendar: Calendar, found: Schedule) -> int:
    """Steps by which it begins too long after the end of what it follows."""
    return found.starts[task.id] - found.ends[before] - calendar.most_steps(within_min)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Runs:
    """Start of every task in every run, (runs, tasks); `stuck`: the first task that found no place, or −1 (runs,)."""

    starts: Steps
    stuck: Steps


def place_runs(network: Network, calendar: Calendar, steps: Steps) -> Runs:
    """Place the tasks by the rule once for each row of `steps` (runs, tasks); below zero a task is not there."""
    number = {task.id: n for n, task in enumerate(network.tasks)}
    tails = tails_of(network, calendar)
    windows = np.array(calendar.windows, np.int64).reshape(-1, 2)
    starts = np.zeros(steps.shape, np.int64)
    takes, frees, held = _machines(network, number)
    waits = [[number[before] for before in waits_of(task)] for task in network.tasks]
    stuck = line_up(
        np.ascontiguousarray(steps, np.int64),
        np.array([task.attended for task in network.tasks], np.bool_),
        np.array([task.by_hours and not task.pinned for task in network.tasks], np.bool_),
        np.array([task.pinned for task in network.tasks], np.bool_),
        np.array([-tails[task.id] for task in network.tasks], np.int64),
        *_listed(waits),
        *_listed(_turned(waits)),
        *_listed(_blocks(network, number)),
        *_listed(takes),
        *_listed(frees),
        held,
        np.ascontiguousarray(windows[:, 0]),
        np.ascontiguousarray(windows[:, 1]),
        starts,
    )
    return Runs(starts=starts, stuck=stuck)


def _blocks(network: Network, number: Mapping[str, int]) -> list[list[int]]:
    """Each task with what follows it at once, in order; nothing for a task that follows another."""
    head: dict[str, str] = {}
    blocks: list[list[int]] = [[] for _ in network.tasks]
    for task in network.tasks:
        head[task.id] = task.id if task.at_once is None else head[task.at_once]
        blocks[number[head[task.id]]].append(number[task.id])
    return blocks


def _machines(
    network: Network, number: Mapping[str, int]
) -> tuple[list[list[int]], list[list[int]], NDArray[np.bool_]]:
    """Machines that each task takes, those that it lets go, and whether each is taken from the beginning on."""
    machines = {name: n for n, name in enumerate(dict.fromkeys(hold.machine for hold in network.every_hold))}
    takes: list[list[int]] = [[] for _ in network.tasks]
    frees: list[list[int]] = [[] for _ in network.tasks]
    held = np.zeros(max(1, len(machines)), np.bool_)
    for hold in network.every_hold:
        machine = machines[hold.machine]
        frees[number[hold.last]].append(machine)
        if hold.first is None:
            held[machine] = True
        else:
            takes[number[hold.first]].append(machine)
    return takes, frees, held


def _turned(lists: Sequence[Sequence[int]]) -> list[list[int]]:
    """For each task those that name it."""
    turned: list[list[int]] = [[] for _ in lists]
    for n, named in enumerate(lists):
        for other in named:
            turned[other].append(n)
    return turned


def _listed(lists: Sequence[Sequence[int]]) -> tuple[Steps, Steps]:
    """Where each list begins (lists + 1), and all of them one after the other."""
    begins = np.concatenate([[0], np.cumsum([len(one) for one in lists])]).astype(np.int64)
    return begins, np.array([value for one in lists for value in one], np.int64)


def too_long(task: Task, calendar: Calendar) -> BadRequest:
    """Why a task found no place, and what to do."""
    if task.by_hours and calendar.steps(task.minutes) > calendar.longest:
        return BadRequest(
            f"{task.part}: “{task.name}” takes {ceil(task.minutes - 1e-9)} min without a break; the longest stretch "
            f"of the workshop's hours is {calendar.longest * calendar.step_min:.0f} min",
            remedy="enter a longer stretch in the hours of the workshop",
        )
    days = calendar.end * calendar.step_min / DAY_MIN
    return BadRequest(
        f"{task.part}: “{task.name}” finds no place in the {days:.0f} days looked at",
        remedy="enter more hours in the workshop, fewer days off, or fewer copies",
    )
