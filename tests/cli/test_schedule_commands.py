"""`firstpour schedule`: the days of a small rigid part, its JSON and its calendar, read by the icalendar library."""

import itertools
import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from icalendar import Calendar

from firstpour.files.schedule_entries import ScheduleEntry
from firstpour.schedule.entries import network_from
from firstpour.schedule.replan import Present, Stretch, replan
from firstpour.workshop.hours import Hours, Weekday
from ics_checks import ics_faults
from schedule_checks import faults

JOB = """\
[job]
name = "Pegs"
due = 2027-03-31

[workshop.hours]
time_zone = "UTC"

[[part]]
name = "peg"
file = "peg.stl"
copies = 3
hardness = "rigid"
"""


@pytest.fixture
def job(peg_folder: Path) -> Path:
    """A job of a round peg."""
    path = peg_folder / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def test_a_job_is_put_in_order_in_words_json_and_a_calendar(typed, job: Path, tmp_path: Path) -> None:
    ics, chart = tmp_path / "pegs.ics", tmp_path / "pegs.svg"
    code, said, _ = typed(
        "schedule", job, "--begin", "2027-03-01", "--calendar", ics, "--chart", chart, "--processes", 1
    )
    assert code == 0
    assert ics_faults(ics.read_bytes()) == []
    assert "the order of work" in chart.read_text(encoding="utf-8")
    for words in (
        "First proof: ",
        "Last copy: ",
        "due 31 Mar 2027",
        "How sure: of 2000 runs",
        "Mon 01 Mar 2027",
        "What would buy time",
    ):
        assert words in said
    code, said, _ = typed("schedule", job, "--begin", "2027-03-01", "--json", "--processes", 1)
    assert code == 0
    entry = json.loads(said)
    tasks = entry["tasks"]
    assert len({task["id"] for task in tasks}) == len(tasks)
    assert max(task["end"] for task in tasks) == entry["all_done_at"]
    attended = sorted(
        (datetime.fromisoformat(task["start"]), datetime.fromisoformat(task["end"]))
        for task in tasks
        if task["hands"]
    )
    assert all(before[1] <= after[0] for before, after in itertools.pairwise(attended)), "one pair of hands"
    assert entry["hands_min"] <= sum((end - start).total_seconds() / 60 for start, end in attended)
    _goes_on_from_what_is_written(said)
    events = list(Calendar.from_ical(ics.read_bytes()).walk("VEVENT"))
    assert sorted((one.decoded("dtstart"), one.decoded("dtend")) for one in events) == [
        (start.astimezone(UTC), end.astimezone(UTC)) for start, end in attended
    ]
    assert len({str(one["uid"]) for one in events}) == len(events)
    assert all(len(one.walk("VALARM")) == 1 for one in events)


def _goes_on_from_what_is_written(said: str) -> None:
    """The tasks read back from JSON, stopped at the first proof: what is done stands, and the end is no later."""
    entry = ScheduleEntry.model_validate_json(said)
    network = network_from(entry)
    assert {task.id for task in network.tasks} == {one.id for one in entry.tasks}
    now = entry.first_proof_at
    done = {one.id: Stretch(start=one.start, end=one.end) for one in entry.tasks if one.end <= now}
    runs = {one.id: Stretch(start=one.start, end=one.end) for one in entry.tasks if one.start < now < one.end}
    hours = Hours(time_zone="UTC")
    made = replan(network, Present(at=now, done=done, running=runs), hours=hours)
    assert faults(made.left, made.calendar, made.found) == []
    assert made.all_done_at <= entry.all_done_at
    assert all(option.hands_min > 0 for option in entry.options)
    assert entry.risk.p50_at <= entry.risk.p90_at
    assert {one.name for one in entry.options} >= {"another mould of peg", "an extra hour on every day with hours"}


def test_plan_tells_the_dates_of_the_schedule_and_writes_its_calendar(typed, job: Path, tmp_path: Path) -> None:
    job.write_text(JOB.replace("due", "begin = 2027-03-01\ndue"), encoding="utf-8")
    code, said, _ = typed("plan", job, "--out", tmp_path / "out", "--processes", 1)
    assert code == 0
    dates = [line for line in said.splitlines() if line.startswith(("First proof:", "Last copy:"))]
    assert len(dates) == 2
    code, said, _ = typed("schedule", job, "--processes", 1)
    assert code == 0
    assert [line for line in said.splitlines() if line in dates] == dates
    assert ics_faults((tmp_path / "out" / "calendar.ics").read_bytes()) == []
    written = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert {"calendar.ics", "pictures/order-of-work.svg"} <= set(written["files"])
    assert written["schedule"]["tasks"]


def test_a_date_before_any_possible_finish_is_told_with_what_helps(typed, job: Path) -> None:
    job.write_text(JOB.replace("2027-03-31", "2027-03-01"), encoding="utf-8")
    code, said, told = typed("schedule", job, "--begin", "2027-03-01", "--processes", 1)
    assert code == 1
    assert "it is due on 2027-03-01" in " ".join((said + told).split())


def test_a_chart_of_another_kind_is_refused_before_any_work(typed, job: Path) -> None:
    code, _, told = typed("schedule", job, "--chart", "pegs.gif")
    assert code == 2
    assert "end its name in .svg or .png" in " ".join(told.split())


def test_nobody_ever_there_and_an_unknown_zone_are_refused(typed, job: Path) -> None:
    days = "".join(f"{day} = []\n" for day in Weekday)
    job.write_text(JOB.replace('time_zone = "UTC"\n', 'time_zone = "UTC"\n' + days), encoding="utf-8")
    code, _, told = typed("schedule", job, "--begin", "2027-03-01", "--processes", 1)
    assert code == 2
    assert "nobody is in the workshop" in told
    job.write_text(JOB.replace('"UTC"', '"Tide/Pool"'), encoding="utf-8")
    code, _, told = typed("schedule", job, "--begin", "2027-03-01", "--processes", 1)
    assert code == 2
    assert "Tide/Pool" in told


def test_hours_follow_the_clock_over_the_change_to_summer_time() -> None:
    """EU directive 2000/84/EC: the clock goes from 2:00 to 3:00 on the last Sunday of March, 2027-03-28."""
    from firstpour.schedule.hours_ahead import calendar_from, first_moment
    from firstpour.workshop.hours import Hours, windows_from

    hours = Hours(week={day: windows_from("09:00-17:00") for day in Weekday}, time_zone="Europe/Berlin")
    calendar = calendar_from(first_moment(date(2027, 3, 27), hours), hours, days=3)
    assert [start * calendar.step_min / 60 for start, _ in calendar.windows] == [9, 32, 56]
