"""What a schedule is made of: tasks that need hands or machines, what they wait for, and when each is done."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from firstpour.errors import BadRequest


class Doing(StrEnum):
    """What kind of work a task is."""

    PRINT = "print"
    WORK = "work"
    POUR = "pour"
    WAIT = "wait"
    DEMOULD = "demould"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One task. `attended`: one pair of hands is at it, without a break, while somebody is there.

    `after`: it begins when these have ended, or later. `at_once`: it begins the moment that this ends. A task that
    is not attended but `watched` keeps to the hours as well, without taking the hands. `within`: some of `after`,
    each with the minutes after its end within which this begins. `low_min` and `high_min` are its spread; tasks with
    the same `alike` are long or short together.
    """

    id: str
    name: str
    part: str
    doing: Doing
    minutes: float
    attended: bool = False
    watched: bool = False
    after: tuple[str, ...] = ()
    at_once: str | None = None
    within: tuple[tuple[str, float], ...] = ()
    uses: tuple[str, ...] = ()
    low_min: float | None = None
    high_min: float | None = None
    alike: str | None = None
    text: str = ""
    good_copies: int = 0
    """Copies that come out of the mould with this task, before any is found spoiled."""
    can_pause: bool = False
    """Whether it may be left and gone on with another time: sanding may, a coat, a mix or a pour may not."""
    round: int = 0
    """The round of casting that it belongs to; 0 where it belongs to none."""
    mould: int = 0
    """The mould that it makes; 0 where it makes none."""
    piece: str = ""
    """The piece of a mould that it prints; empty where it prints none."""
    again: int = 0
    """It is done only if the mould, or the print, has failed so many times: for the risk, never in a schedule."""
    lane: str = "prints"
    """What it is drawn beside within its part: prints, surface, mould 1, casting, finish."""
    pinned: bool = False
    """Whether it runs already: it starts at the beginning, whatever the hours are."""

    @property
    def soon_after(self) -> tuple[tuple[str, float], ...]:
        """What it must follow within so many minutes; nothing once it runs."""
        return () if self.pinned else tuple(one for one in self.within if one[0] in self.after)

    @property
    def by_hours(self) -> bool:
        """Whether somebody must be there from its beginning to its end."""
        return self.attended or self.watched


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A machine taken from the start of the task `first` (None: the beginning) to the end of the task `last`."""

    machine: str
    first: str | None
    last: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Tasks in an order in which none comes before what it waits for; `proofs` show whether a mould is good."""

    tasks: tuple[Task, ...]
    holds: tuple[Hold, ...] = ()
    proofs: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for task in self.tasks:
            waits = {*task.after, *([task.at_once] if task.at_once else [])}
            if task.id in seen or not waits <= seen or (task.at_once is not None and task.after):
                raise BadRequest(
                    f"the task “{task.id}” stands twice, before what it waits for, or begins at once after several",
                    remedy="give every task once, after those that it waits for; what begins at once waits for one",
                )
            seen.add(task.id)

    @property
    def every_hold(self) -> tuple[Hold, ...]:
        """The holds, and each task's own machines for as long as it runs."""
        own = [Hold(machine=machine, first=task.id, last=task.id) for task in self.tasks for machine in task.uses]
        return (*own, *self.holds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Time in steps of `step_min` from the beginning: when somebody is there, as (start, end), in order."""

    windows: tuple[tuple[int, int], ...]
    end: int
    step_min: float = 5.0

    def steps(self, minutes: float) -> int:
        """Steps that so many minutes take, begun ones included.

        >>> Calendar(windows=(), end=0).steps(11)
        3
        """
        return int(-(-round(minutes, 6) // self.step_min))

    def most_steps(self, minutes: float) -> int:
        """Whole steps within so many minutes.

        >>> Calendar(windows=(), end=0).most_steps(11)
        2
        """
        return int(round(minutes, 6) // self.step_min)

    def first_fit(self, start: int, steps: int) -> int | None:
        """The first start from `start` on at which so many steps fit into one window; None where none does."""
        for low, high in self.windows:
            at = max(low, start)
            if at + steps <= high:
                return at
        return None

    @property
    def longest(self) -> int:
        """Steps in the longest window."""
        return max((high - low for low, high in self.windows), default=0)


class Proved(StrEnum):
    """How far a schedule is known to be the best."""

    OPTIMAL = "optimal"
    WITHIN = "within the gap"
    RULE = "by rule"


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """When each task starts and ends, in steps; `bound` is a last end that no schedule can beat."""

    starts: Mapping[str, int]
    ends: Mapping[str, int]
    proved: Proved
    bound: int = 0
    visits: int = 0

    @property
    def last(self) -> int:
        """The end of the last task."""
        return max(self.ends.values(), default=0)

    @property
    def gap_ratio(self) -> float:
        """How far the last end may lie above the best possible."""
        return (self.last - self.bound) / self.last if self.last else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTask:
    """A task with its start and end on the workshop's clock."""

    task: Task
    start: datetime
    end: datetime
