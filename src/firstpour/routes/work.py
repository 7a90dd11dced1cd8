"""Work in the order in which it is done, and the days that it takes: a quick estimate, no schedule."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import ceil

from firstpour.workshop.hours import DAY_MIN, Hours, Weekday

WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Something done: first by hands, then it waits. The `each` minutes come on top for every copy in one go."""

    what: str
    hands_min: float = 0.0
    wait_min: float = 0.0
    hands_each_min: float = 0.0
    wait_each_min: float = 0.0
    printing: bool = False
    """Whether it waits for a printer: these are machine minutes."""
    again_each: int = 0
    """The hands come again for every so many copies in one go, as a mix that fills no more does; 0: once a go."""
    portions: int = 1
    """The hands are so many alike, one copy after the other: they may be left between two of them."""
    text: str = ""
    """What is done; empty where its name says it."""

    def of(self, copies: int) -> "Work":
        """The same for so many copies in one go.

        >>> Work(what="print", hands_min=2, wait_min=10, wait_each_min=30, printing=True).of(3).wait_min
        100
        """
        times = ceil(copies / self.again_each) if self.again_each else 1
        return Work(
            what=self.what,
            hands_min=times * self.hands_min + copies * self.hands_each_min,
            wait_min=self.wait_min + copies * self.wait_each_min,
            printing=self.printing,
            text=self.text,
            portions=copies if self.hands_min == 0.0 else 1,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """What a row of work comes to, one thing after the other."""

    hands_min: float
    wait_min: float
    printer_min: float

    @property
    def elapsed_min(self) -> float:
        """From beginning to end if hands never keep it waiting."""
        return self.hands_min + self.wait_min


def minutes_of(works: Iterable[Work]) -> Minutes:
    """Hands, waits and printers of a row of work."""
    hands = waits = printer = 0.0
    for one in works:
        hands += one.hands_min
        waits += one.wait_min
        printer += one.wait_min if one.printing else 0.0
    return Minutes(hands_min=hands, wait_min=waits, printer_min=printer)


@dataclass(frozen=True, slots=True, kw_only=True)
class Presence:
    """When somebody is there: so many days of each week from its first on, so many minutes from its opening on.

    Minute 0 is the opening of the day that comes `begins_on` days after the first of its week.
    """

    days: int
    day_min: float
    begins_on: int = 0

    @classmethod
    def of(cls, hours: Hours, *, begins: date) -> "Presence":
        """The week evened out: its working days as long as their mean. Never closed: an empty week counts as open.

        >>> Presence.of(Hours(), begins=date(2027, 1, 7)).begins_on
        3
        """
        order = list(Weekday)
        open_days = {
            order.index(day): sum(w.end_min - w.start_min for w in windows)
            for day, windows in hours.week.items()
            if windows
        }
        if not open_days:
            return cls(days=WEEK, day_min=float(DAY_MIN))
        return cls(
            days=len(open_days),
            day_min=sum(open_days.values()) / len(open_days),
            begins_on=(begins.weekday() - min(open_days)) % WEEK,
        )

    def done_at(self, start_min: float, hands_min: float, *, portions: int = 1) -> float:
        """When work of hands that could begin at `start_min` is done; what is longer than a day goes on the next.

        Work of several portions is left between two of them.

        >>> Presence(days=5, day_min=480).done_at(470, 30), Presence(days=5, day_min=480).done_at(470, 30, portions=3)
        (1470.0, 1460.0)
        """
        if portions > 1 and hands_min <= portions * self.day_min:
            return self._done_in_portions(start_min, hands_min / portions, portions)
        at, left = self._open_at(start_min), hands_min
        while left > 0.0:
            room = self.day_min - at % DAY_MIN
            if left <= room:
                return at + left
            if left > self.day_min:
                left -= room
            at = self._open_at(at + room)
        return at

    def _done_in_portions(self, start_min: float, each_min: float, portions: int) -> float:
        at, left = self._open_at(start_min), portions
        while True:
            room = self.day_min - at % DAY_MIN
            done = min(left, int(room / each_min + 1e-9)) if each_min > 0.0 else left
            at, left = at + done * each_min, left - done
            if left == 0:
                return at
            at = self._open_at(at - at % DAY_MIN + self.day_min)

    def _open_at(self, minute: float) -> float:
        day, clock = divmod(minute, DAY_MIN)
        if clock >= self.day_min:
            day, clock = day + 1, 0.0
        of_week = (day + self.begins_on) % WEEK
        if of_week >= self.days:
            day, clock = day + WEEK - of_week, 0.0
        return day * DAY_MIN + clock


def end_of(works: Iterable[Work], presence: Presence, at_min: float = 0.0) -> float:
    """Minutes on the calendar from the opening of the day on which it begins until the last of the work is done.

    It begins at `at_min`.

    Hands work only while somebody is there; printers and cures go on over nights and weekends. A wait that ends at
    night is seen to in the morning, where hands follow it.

    >>> end_of([Work(what="pour", hands_min=30, wait_min=960), Work(what="open", hands_min=5)],
    ...        Presence(days=5, day_min=480))
    1445.0
    """
    at = at_min
    for one in works:
        if one.hands_min > 0.0:
            at = presence.done_at(at, one.hands_min, portions=one.portions)
        at += one.wait_min
    return at
