"""More hours in the workshop: an hour at the end of every day, or one in the morning before the day's other work."""

from dataclasses import replace

from firstpour.workshop.hours import DAY_MIN, Hours, Window

EXTRA_MIN = 60
MORNING = Window(start_min=7 * 60, end_min=8 * 60)
"""An hour before a day's other work; of use where somebody comes two hours after it or later (decision 0066)."""
LATE_MIN = 10 * 60


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


def with_morning_hour(hours: Hours) -> Hours | None:
    """An hour in the morning of every day that begins late; None where no day does.

    >>> from firstpour.workshop.hours import Weekday, windows_from
    >>> evenings = Hours(week={Weekday.MONDAY: windows_from("18:00-22:00")})
    >>> [str(one) for one in with_morning_hour(evenings).week[Weekday.MONDAY]]
    ['07:00-08:00', '18:00-22:00']
    >>> with_morning_hour(Hours()) is None
    True
    """
    week = {day: (MORNING, *windows) if _begins_late(windows) else windows for day, windows in hours.week.items()}
    return replace(hours, week=week) if week != dict(hours.week) else None


def _begins_late(windows: tuple[Window, ...]) -> bool:
    return bool(windows) and min(one.start_min for one in windows) >= LATE_MIN
