"""The hours of the workshop from a moment on, as steps: days off and the change of the clock taken in."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from firstpour.errors import BadRequest
from firstpour.schedule.values import Calendar
from firstpour.values import FIRST_DAY, LAST_DAY
from firstpour.workshop.hours import DAY_MIN, Hours, Window

STEP_MIN = 5
"""A schedule goes by steps of so many minutes (our own choice, decision 0052)."""
MOST_DAYS = 370
"""So far ahead is looked."""


def first_moment(day: date, hours: Hours) -> datetime:
    """Midnight at which the day begins on the workshop's clock.

    Raises
    ------
    BadRequest
        If the day cannot be meant, or the time zone is not known.
    """
    if not FIRST_DAY <= day <= LAST_DAY:
        raise BadRequest(
            f"no work begins on {day.isoformat()}", remedy=f"give a day from {FIRST_DAY.year} to {LAST_DAY.year}"
        )
    return on_clock(day, 0, hours)


def on_clock(day: date, minute: int, hours: Hours) -> datetime:
    """The moment at which the workshop's clock shows so many minutes from midnight of the day.

    A time that the clock leaps over counts as if it had not leapt; one shown twice is the first of the two.

    Raises
    ------
    BadRequest
        If the time zone is not known.
    """
    shown = datetime.combine(day + timedelta(days=minute // DAY_MIN), time(*divmod(minute % DAY_MIN, 60)))
    if hours.time_zone is None:
        return shown.astimezone()
    return shown.replace(tzinfo=_zone(hours.time_zone))


def clock_of(moment: datetime, hours: Hours) -> datetime:
    """The moment as the workshop's clock shows it."""
    return moment.astimezone(None if hours.time_zone is None else _zone(hours.time_zone))


def calendar_from(start: datetime, hours: Hours, *, days: int = MOST_DAYS) -> Calendar:
    """When somebody is there in so many days from `start` on.

    Raises
    ------
    BadRequest
        If nobody ever is, if windows overlap or end before they begin, or if the time zone is not known.
    """
    origin = start.astimezone(UTC)
    today = clock_of(start, hours).date()
    windows: list[tuple[int, int]] = []
    for n in range(days):
        day = today + timedelta(days=n)
        for window in _in_order(hours.windows_on(day)):
            low_min, high_min = (_minutes(origin, day, at, hours) for at in (window.start_min, window.end_min))
            low, high = max(0, -int(-low_min // STEP_MIN)), int(high_min // STEP_MIN)
            if low < high:
                windows.append((low, high))
    if not windows:
        raise BadRequest(
            f"nobody is in the workshop on any of the {days} days from {today.isoformat()} on",
            remedy='enter when somebody is there, such as monday = ["18:00-22:00"], in the hours of the workshop',
        )
    return Calendar(windows=tuple(_joined(windows)), end=days * DAY_MIN // STEP_MIN, step_min=STEP_MIN)


def _minutes(origin: datetime, day: date, minute: int, hours: Hours) -> float:
    return (on_clock(day, minute, hours).astimezone(UTC) - origin).total_seconds() / 60.0


def _in_order(windows: tuple[Window, ...]) -> list[Window]:
    """Windows by their start, checked."""
    ordered = sorted(windows, key=lambda one: one.start_min)
    for one in ordered:
        if not 0 <= one.start_min < one.end_min <= DAY_MIN:
            raise BadRequest(f"the window {one} ends before it begins", remedy="write the end after the start")
    for first, second in pairwise(ordered):
        if second.start_min < first.end_min:
            raise BadRequest(f"the windows {first} and {second} overlap", remedy="write them one after the other")
    return ordered


def _joined(windows: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Windows that meet as one, as over midnight."""
    joined: list[tuple[int, int]] = []
    for low, high in windows:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise BadRequest(
            f"the time zone “{name}” is not known",
            remedy="name it by its region and place, such as Atlantic/Azores, or UTC",
        ) from error
