"""When somebody is in the workshop."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from itertools import pairwise
from types import MappingProxyType

from firstpour.errors import BadRequest

HOUR_MIN = 60
DAY_MIN = 24 * HOUR_MIN


class Weekday(StrEnum):
    """The days of the week, in the order of `datetime.date.weekday`."""

    MONDAY = "monday"
    TUESDAY = "tuesday"
    WEDNESDAY = "wednesday"
    THURSDAY = "thursday"
    FRIDAY = "friday"
    SATURDAY = "saturday"
    SUNDAY = "sunday"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of a day, in minutes from midnight of the workshop's own clock."""

    start_min: int
    end_min: int

    def __str__(self) -> str:
        return f"{_clock(self.start_min)}-{_clock(self.end_min)}"


def window_from(words: str) -> Window:
    """“09:00-17:30” as a window; 24:00 is midnight at the end of the day.

    Raises
    ------
    BadRequest
        If it is no such stretch.

    >>> window_from("9:00 - 17:30")
    Window(start_min=540, end_min=1050)
    """
    found = re.fullmatch(r"\s*(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})\s*", words, flags=re.ASCII)
    numbers = [0, 99, 0, 0] if found is None else [int(one) for one in found.groups()]
    start_min, end_min = 60 * numbers[0] + numbers[1], 60 * numbers[2] + numbers[3]
    if numbers[1] > 59 or numbers[3] > 59 or not 0 <= start_min < end_min <= DAY_MIN:
        raise BadRequest(
            f"“{words}” is no stretch of a day", remedy='write it as "09:00-17:30", the end after the start'
        )
    return Window(start_min=start_min, end_min=end_min)


def windows_from(words: str) -> tuple[Window, ...]:
    """“09:00-12:00, 13:00-17:00” as windows in order; nothing, or “closed”, is none.

    Raises
    ------
    BadRequest
        If one is no stretch of a day, or two overlap.

    >>> [str(one) for one in windows_from("13:00-17:00, 9:00-12:00")], windows_from("closed")
    (['09:00-12:00', '13:00-17:00'], ())
    """
    if words.strip().lower() in ("", "closed"):
        return ()
    windows = tuple(sorted((window_from(one) for one in words.split(",")), key=lambda one: one.start_min))
    for first, second in pairwise(windows):
        if second.start_min < first.end_min:
            raise BadRequest(f"“{words}”: {first} and {second} overlap", remedy="write them one after the other")
    return windows


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


WORKDAY = (Window(start_min=9 * 60, end_min=17 * 60),)
TYPICAL_WEEK: Mapping[Weekday, tuple[Window, ...]] = MappingProxyType(
    {day: WORKDAY if day not in (Weekday.SATURDAY, Weekday.SUNDAY) else () for day in Weekday}
)
"""Monday to Friday, nine to five: a placeholder for one's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """The windows of each weekday, the days off, and the time zone of the clock (None: this computer's)."""

    week: Mapping[Weekday, tuple[Window, ...]] = field(default_factory=lambda: TYPICAL_WEEK)
    days_off: tuple[date, ...] = ()
    time_zone: str | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "week", MappingProxyType({day: tuple(self.week.get(day, ())) for day in Weekday}))
        object.__setattr__(self, "days_off", tuple(sorted(set(self.days_off))))

    def windows_on(self, day: date) -> tuple[Window, ...]:
        """When somebody is there on that day.

        >>> [str(one) for one in Hours(days_off=(date(2027, 4, 16),)).windows_on(date(2027, 4, 15))]
        ['09:00-17:00']
        """
        return () if day in self.days_off else self.week[list(Weekday)[day.weekday()]]

    @property
    def week_min(self) -> int:
        """Minutes in a week without days off.

        >>> Hours().week_min
        2400
        """
        return sum(window.end_min - window.start_min for windows in self.week.values() for window in windows)
