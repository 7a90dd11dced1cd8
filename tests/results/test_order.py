"""The order of work within a plan: the very schedule that the job has by itself, and its files."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from icalendar import Calendar

from demo_plan import TODAY
from firstpour.demo.tide_pool import tide_pool_job
from firstpour.errors import BadJob
from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import job_from_text
from firstpour.files.plan_json import PlanEntry
from firstpour.plan.values import Plan
from firstpour.results import SavedPlan
from firstpour.results.order import CALENDAR_FILE, Order, order_files, order_of
from firstpour.schedule.entries import schedule_entry
from firstpour.schedule.hours_ahead import first_moment
from firstpour.schedule.make import schedule_plan
from firstpour.schedule.values import Schedule
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.hours import Hours
from firstpour.workshop.workshop import Workshop
from ics_checks import ics_faults
from schedule_checks import faults

SHOP = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)


def quiet(*_: object) -> None:
    """Tell nothing."""


def order(plan: Plan, workshop: Workshop | None = SHOP) -> Order:
    return order_of(plan, workshop, progress=quiet, kept=None)


def test_plan_and_schedule_tell_the_same_order_to_the_minute(demo: SavedPlan) -> None:
    job = demo.plan.job
    start = first_moment(job.first_day(TODAY), job.equipment.hours)
    alone = schedule_entry(schedule_plan(demo.plan, start=start, progress=quiet, workshop=SHOP))
    assert demo.entry.schedule is not None
    assert alone.options
    assert demo.entry.schedule == alone.model_copy(update={"options": []})
    assert start.date() == job.begin == date(2027, 3, 1)


def test_the_order_of_the_plan_can_be_worked(demo: SavedPlan) -> None:
    made = demo.order.made
    assert made is not None
    origin = made.start.astimezone(UTC)

    def step_at(moment: datetime) -> int:
        return round((moment.astimezone(UTC) - origin).total_seconds() / 60.0 / made.calendar.step_min)

    starts = {one.task.id: step_at(one.start) for one in made.tasks}
    ends = {one.task.id: step_at(one.end) for one in made.tasks}
    assert faults(made.network, made.calendar, Schedule(starts=starts, ends=ends, proved=made.proved)) == []


def test_the_calendar_holds_every_task_that_needs_hands_and_the_chart_is_there(
    demo: SavedPlan, tmp_path: Path
) -> None:
    made = demo.order.made
    assert made is not None
    files = order_files(made, name="Tide pool", today=TODAY)
    assert set(files) == {CALENDAR_FILE, "pictures/order-of-work.svg"}
    assert set(files) <= set(demo.entry.files)
    assert ics_faults(files[CALENDAR_FILE]) == []
    events = list(Calendar.from_ical(files[CALENDAR_FILE]).walk("VEVENT"))
    told = sorted((one.decoded("dtstart"), one.decoded("dtend")) for one in events)
    assert demo.entry.schedule is not None
    attended = [one for one in demo.entry.schedule.tasks if one.hands]
    assert told == sorted((one.start.astimezone(UTC), one.end.astimezone(UTC)) for one in attended)
    assert files == order_files(made, name="Tide pool", today=TODAY)


def test_a_missed_date_is_told_alike_by_plan_and_schedule_with_what_helps(demo: SavedPlan) -> None:
    plan = replace(demo.plan, job=replace(demo.plan.job, due=date(2027, 3, 12)))
    found = order(plan)
    start = first_moment(plan.job.first_day(TODAY), plan.job.equipment.hours)
    alone = schedule_plan(plan, start=start, progress=quiet, workshop=SHOP)
    assert [one.code for one in found.findings] == ["date-missed"]
    assert found.findings == alone.findings
    assert found.with_those_of(plan)[0].code == "date-missed"
    assert found.made is not None
    assert found.made.options == alone.options


def test_without_hours_the_plan_stands_and_says_why_there_is_no_order(demo: SavedPlan) -> None:
    hours = Hours(week={})
    equipment = replace(demo.plan.job.equipment, hours=hours)
    found = order(replace(demo.plan, job=replace(demo.plan.job, equipment=equipment)))
    assert found.made is None
    (said,) = found.findings
    assert said.code == "no-order"
    assert "nobody is in the workshop" in said.what
    assert said.remedy


def test_a_part_without_casting_material_is_left_out_and_the_others_are_put_in_order(demo: SavedPlan) -> None:
    first, *others = demo.plan.parts
    assert first.choice is not None
    missing = replace(first, choice=replace(first.choice, casting=None))
    found = order(replace(demo.plan, parts=(missing, *others)))
    said = next(one for one in found.findings if one.where == first.request.name)
    assert said.code == "left-out-of-order"
    assert found.made is not None
    assert {one.task.part for one in found.made.tasks} == {one.request.name for one in others}


def test_where_no_part_has_its_materials_there_is_no_order(demo: SavedPlan) -> None:
    first = demo.plan.parts[0]
    assert first.choice is not None
    missing = replace(first, choice=replace(first.choice, casting=None))
    found = order(replace(demo.plan, parts=(missing,)))
    (said,) = found.findings
    assert (found.made, said.code) == (None, "no-order")
    assert first.request.name in said.what


def test_without_a_shelf_or_a_hardness_there_is_no_order_and_nothing_to_say(demo: SavedPlan) -> None:
    bare = replace(demo.plan, parts=tuple(replace(one, choice=None) for one in demo.plan.parts))
    for plan, shop in ((demo.plan, None), (bare, SHOP)):
        found = order(plan, shop)
        assert found.made is None
        assert found.findings == ()


def test_an_older_plan_without_an_order_is_still_read(demo: SavedPlan) -> None:
    told = demo.entry.model_dump(mode="json", exclude={"schedule"})
    assert PlanEntry.model_validate(told).schedule is None


def test_the_work_begins_on_the_day_of_the_job_or_tomorrow() -> None:
    job = tide_pool_job()
    assert job.first_day(date(2027, 2, 1)) == date(2027, 3, 1)
    assert replace(job, begin=None).first_day(date(2027, 2, 28)) == date(2027, 3, 1)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ("begin = 2027-03-01\ndue = 2027-02-28", "it is due on 2027-02-28, before it begins on 2027-03-01"),
        ("begin = 0001-01-01", "begin"),
        ("due = 9999-12-31", "due"),
        ('begin = "soon"', "begin"),
    ],
)
def test_days_that_cannot_be_meant_are_refused(keys: str, told: str) -> None:
    text = f'[job]\n{keys}\n[[part]]\nsample = "limpet"\n'
    with pytest.raises(BadJob) as caught:
        job_from_text(text, folder=Path())
    assert told in caught.value.problem
    assert caught.value.remedy
