"""The calendar file against RFC 5545, and when its alarms ring; the checker itself finds what it is there to find."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from icalendar import Calendar as Read

from firstpour.schedule.calendar_file import calendar_bytes
from firstpour.schedule.values import Calendar, Doing, PlacedTask, Task
from ics_checks import ics_faults

START = datetime(2027, 3, 1, tzinfo=UTC)
EVENINGS = Calendar(windows=tuple((288 * d + 216, 288 * d + 264) for d in range(5)), end=288 * 5)


def placed(name, start_h, hours, **more):
    task = Task(id=name, name=name, part=more.pop("part", "star"), doing=Doing.WORK, minutes=60 * hours, **more)
    start = START + timedelta(hours=start_h)
    return PlacedTask(task=task, start=start, end=start + timedelta(hours=hours))


def written(*tasks, name="Tide pool"):
    made = SimpleNamespace(tasks=tasks, calendar=EVENINGS, start=START)
    return calendar_bytes(made, name=name, now=START)


def alarms(content):
    return [one.walk("VALARM")[0].decoded("trigger") for one in Read.from_ical(content).walk("VEVENT")]


def test_an_alarm_rings_when_the_cure_ends_if_somebody_is_there():
    content = written(
        placed("pour", 18, 0.5, attended=True),
        placed("cure", 18.5, 24, at_once="pour"),
        placed("open", 43, 0.5, attended=True, after=("cure",)),
    )
    assert ics_faults(content) == []
    assert alarms(content) == [timedelta(0), START + timedelta(hours=42.5)]


def test_no_alarm_rings_in_the_night():
    content = written(
        placed("pour", 18, 0.5, attended=True),
        placed("cure", 18.5, 8, at_once="pour"),
        placed("open", 42, 0.5, attended=True, after=("cure",)),
    )
    assert alarms(content) == [timedelta(0), timedelta(0)]


def test_long_names_in_any_script_are_folded_and_escaped():
    words = "étoile; de, mer \\ " + "ü" * 80
    content = written(placed("pour", 18, 0.5, attended=True, part=words, text="Line one.\nLine two, with; marks."))
    assert ics_faults(content) == []
    assert str(Read.from_ical(content).walk("VEVENT")[0]["summary"]) == f"{words}: pour"


@pytest.mark.parametrize(
    ("was", "now", "rule"),
    [
        (b"\r\n", b"\n", "3.1"),
        (b"UID:", b"X-UID:", "3.6: VEVENT needs one UID"),
        (b"DTSTAMP:", b"X-DTSTAMP:", "needs one DTSTAMP"),
        (b"VERSION:2.0", b"VERSION:1.0", "3.7.4"),
        (b"SUMMARY:star", b"SUMMARY:" + b"s" * 80 + b"star", "octets"),
        (b"SUMMARY:star", b"SUMMARY:a, star", "3.3.11"),
        (b"DTEND:2027", b"DTEND:2026", "3.8.2.2"),
        (b"END:VEVENT\r\n", b"", "3.6"),
        (b"TRIGGER:P0D", b"TRIGGER:soon", "3.3.6"),
    ],
)
def test_the_checker_finds_what_is_wrong(was, now, rule):
    content = written(placed("pour", 18, 0.5, attended=True))
    assert ics_faults(content) == []
    broken = content.replace(was, now)
    assert broken != content
    assert any(rule in fault for fault in ics_faults(broken))
