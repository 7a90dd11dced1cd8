"""The schedule as a calendar file (RFC 5545): an event for each task that needs somebody."""

from datetime import UTC, datetime, timedelta
from hashlib import sha256

from icalendar import Alarm, Calendar, Event

from firstpour.schedule.dispatch import waits_of
from firstpour.schedule.hours_ahead import STEP_MIN
from firstpour.schedule.make import JobSchedule
from firstpour.schedule.values import PlacedTask


def calendar_bytes(made: JobSchedule, *, name: str, now: datetime) -> bytes:
    """The calendar of a job named `name`, stamped with the moment `now`; times in UTC, so no zone is needed.

    Every event has an alarm: when the cure or print that it waits for ends, if somebody is there then, else at its
    start. An alarm in the night helps nobody.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Firstpour//schedule//EN")
    calendar.add("version", "2.0")
    for placed in made.tasks:
        if placed.task.attended:
            calendar.add_component(_event(placed, name, now, alarm_at(made, placed)))
    return bytes(calendar.to_ical())


def alarm_at(made: JobSchedule, placed: PlacedTask) -> datetime:
    """When to tell of the task."""
    ends = {one.task.id: one for one in made.tasks if not one.task.attended}
    waited = [ends[name].end for name in waits_of(placed.task) if name in ends]
    at = max(waited, default=placed.start)
    step = (at - made.start).total_seconds() / 60.0 / STEP_MIN
    there = any(low <= step < high for low, high in made.calendar.windows)
    return at if there and at <= placed.start else placed.start


def _event(placed: PlacedTask, name: str, now: datetime, alarm: datetime) -> Event:
    event, told = Event(), Alarm()
    words = f"{placed.task.part}: {placed.task.name}"
    event.add("uid", f"{sha256(f'{name}/{placed.task.id}'.encode()).hexdigest()[:32]}@firstpour.invalid")
    event.add("dtstamp", now.astimezone(UTC))
    event.add("dtstart", placed.start.astimezone(UTC))
    event.add("dtend", placed.end.astimezone(UTC))
    event.add("summary", words)
    if placed.task.text:
        event.add("description", placed.task.text)
    told.add("action", "DISPLAY")
    told.add("description", words)
    if alarm == placed.start:
        told.add("trigger", timedelta(0))
    else:
        told.add("trigger", alarm.astimezone(UTC), parameters={"VALUE": "DATE-TIME"})
    event.add_component(told)
    return event
