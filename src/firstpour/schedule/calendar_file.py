"""The schedule as a calendar file (RFC 5545): an event for each task that needs somebody."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256

from icalendar import Alarm, Calendar, Event

from firstpour.schedule.make import JobSchedule
from firstpour.schedule.values import PlacedTask


def calendar_bytes(made: JobSchedule, *, name: str, now: datetime) -> bytes:
    """The calendar of a job named `name`, stamped with the moment `now`; times in UTC, so no zone is needed.

    Every event has an alarm at its start: it is when what was waited for has ended.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Firstpour//schedule//EN")
    calendar.add("version", "2.0")
    for placed in made.tasks:
        if placed.task.attended:
            calendar.add_component(_event(placed, name, now))
    return bytes(calendar.to_ical())


def _event(placed: PlacedTask, name: str, now: datetime) -> Event:
    event, alarm = Event(), Alarm()
    words = f"{placed.task.part}: {placed.task.name}"
    event.add("uid", f"{sha256(f'{name}/{placed.task.id}'.encode()).hexdigest()[:32]}@firstpour.invalid")
    event.add("dtstamp", now.astimezone(UTC))
    event.add("dtstart", placed.start.astimezone(UTC))
    event.add("dtend", placed.end.astimezone(UTC))
    event.add("summary", words)
    if placed.task.text:
        event.add("description", placed.task.text)
    alarm.add("action", "DISPLAY")
    alarm.add("description", words)
    alarm.add("trigger", timedelta(0))
    event.add_component(alarm)
    return event
