"""A schedule by rule: whatever can begin first is begun, and of those the task with the longest tail behind it."""

from collections.abc import Mapping

from firstpour.errors import BadRequest
from firstpour.schedule.values import Calendar, Network, Proved, Schedule, Task
from firstpour.workshop.hours import DAY_MIN

Tails = Mapping[str, int]


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
    return (*task.after, *([] if task.at_once is None else [task.at_once]))


def dispatch(network: Network, calendar: Calendar) -> Schedule:
    """Place every task by the rule.

    Raises
    ------
    BadRequest
        If a task fits into no window.
    """
    tails = tails_of(network, calendar)
    board = _Board(network, calendar)
    left = {task.id: task for task in network.tasks}
    while left:
        ready = [task for task in left.values() if all(before in board.ends for before in waits_of(task))]
        places = [(at, -tails[task.id], task.id) for task in ready if (at := board.earliest(task)) is not None]
        if not places:
            raise too_long(next(iter(left.values())), calendar)
        at, _, name = min(places)
        board.put(left.pop(name), at)
    return Schedule(starts=board.starts, ends=board.ends, proved=Proved.RULE, bound=0)


class _Board:
    """What is placed so far: when hands and machines are free."""

    def __init__(self, network: Network, calendar: Calendar) -> None:
        self._calendar = calendar
        self.starts: dict[str, int] = {}
        self.ends: dict[str, int] = {}
        self._hands = 0
        self._free: dict[str, int | None] = {}
        self._taken: dict[str, list[str]] = {}
        self._let_go: dict[str, list[str]] = {}
        for hold in network.every_hold:
            self._taken.setdefault(hold.first, []).append(hold.machine)
            self._let_go.setdefault(hold.last, []).append(hold.machine)

    def earliest(self, task: Task) -> int | None:
        """The earliest start; None while a machine that it needs is held, or where no window takes it."""
        if task.at_once is not None:
            return self.ends[task.at_once]
        at = max((self.ends[before] for before in task.after), default=0)
        for machine in self._taken.get(task.id, ()):
            free = self._free.get(machine, 0)
            if free is None:
                return None
            at = max(at, free)
        if task.attended:
            at = max(at, self._hands)
        steps = self._calendar.steps(task.minutes)
        return self._calendar.first_fit(at, steps) if task.by_hours else at

    def put(self, task: Task, at: int) -> None:
        """Place the task."""
        end = at + self._calendar.steps(task.minutes)
        self.starts[task.id], self.ends[task.id] = at, end
        if task.attended:
            self._hands = max(self._hands, end)
        for machine in self._taken.get(task.id, ()):
            self._free[machine] = None
        for machine in self._let_go.get(task.id, ()):
            self._free[machine] = end


def too_long(task: Task, calendar: Calendar) -> BadRequest:
    """Why a task found no place, and what to do."""
    if task.by_hours and calendar.steps(task.minutes) > calendar.longest:
        return BadRequest(
            f"{task.part}: “{task.name}” takes {task.minutes:.0f} min without a break; the longest stretch of the "
            f"workshop's hours is {calendar.longest * calendar.step_min:.0f} min",
            remedy="enter a longer stretch in the hours of the workshop",
        )
    days = calendar.end * calendar.step_min / DAY_MIN
    return BadRequest(
        f"{task.part}: “{task.name}” finds no place in the {days:.0f} days looked at",
        remedy="enter more hours in the workshop, fewer days off, or fewer copies",
    )
