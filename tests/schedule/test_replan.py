"""The schedule from the present state: what is done stands, what runs keeps running, the rest can be worked."""

from datetime import UTC, datetime, timedelta

import pytest

from firstpour.errors import BadRequest
from firstpour.schedule.dispatch import waits_of
from firstpour.schedule.replan import Present, Stretch, replan
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Doing, Hold, Network, Task
from firstpour.workshop.hours import Hours, Weekday, windows_from
from schedule_checks import faults

MONDAY = datetime(2027, 3, 1, tzinfo=UTC)
EVENINGS = Hours(week={day: windows_from("18:00-22:00") for day in Weekday}, time_zone="UTC")
QUICK = Effort(last=0.5, proofs=0.2, visits=0.2, tidy=0.2)


def at(day, hour, minute=0):
    return MONDAY + timedelta(days=day, hours=hour, minutes=minute)


def stretch(day, hour, minutes):
    return Stretch(start=at(day, hour), end=at(day, hour) + timedelta(minutes=minutes))


def task(name, minutes, **more):
    return Task(id=name, name=name, part="limpet", doing=Doing.WORK, minutes=minutes, **more)


JOB = Network(
    tasks=(
        task("start", 5, attended=True),
        task("prints", 300, at_once="start"),
        task("off", 5, attended=True, after=("prints",)),
        task("pour", 20, attended=True, after=("off",)),
        task("cure", 1440, at_once="pour"),
        task("open", 10, attended=True, after=("cure",)),
        task("other start", 5, attended=True),
        task("other prints", 300, at_once="other start"),
        task("other off", 5, attended=True, after=("other prints",)),
    ),
    holds=(
        Hold(machine="printer", first="start", last="off"),
        Hold(machine="printer", first="other start", last="other off"),
    ),
    proofs=("open",),
)


def starts(made):
    return {one.task.id: one.start for one in made.tasks}


def test_nothing_done_is_the_schedule_from_the_beginning():
    made = replan(JOB, Present(at=at(0, 0)), hours=EVENINGS, effort=QUICK)
    assert starts(made)["start"] == at(0, 18)
    assert made.done == made.running == frozenset()
    assert faults(made.left, made.calendar, made.found) == []


def test_a_cure_runs_on_from_what_was_poured_without_being_named():
    present = Present(at=at(1, 12), done={"pour": stretch(0, 18, 25)})
    made = replan(JOB, present, hours=EVENINGS, effort=QUICK)
    assert made.done == {"start", "prints", "off", "pour"}
    assert made.running == {"cure"}
    when = {one.task.id: one for one in made.tasks}
    assert (when["cure"].start, when["cure"].end) == (at(0, 18, 25), at(1, 18, 25))
    assert when["open"].start == at(1, 18, 25)
    assert made.first_proof_at == at(1, 18, 35)


def test_a_running_print_keeps_its_printer_until_it_is_taken_off():
    present = Present(at=at(0, 20), running={"prints": Stretch(start=at(0, 18, 5), end=at(1, 3))})
    made = replan(JOB, present, hours=EVENINGS, effort=QUICK)
    assert starts(made)["off"] == at(1, 18)
    assert starts(made)["other start"] >= at(1, 18, 5)
    assert faults(made.left, made.calendar, made.found) == []


def test_a_cure_that_is_over_is_done_and_work_at_hand_goes_on_out_of_hours():
    present = Present(at=at(2, 9), done={"pour": stretch(0, 18, 20)}, running={"open": stretch(2, 8, 80)})
    made = replan(JOB, present, hours=EVENINGS, effort=QUICK)
    assert {"cure", "pour"} <= made.done
    when = {one.task.id: one for one in made.tasks}
    assert (when["open"].start, when["open"].end) == (at(2, 8), at(2, 9, 20))
    assert starts(made)["other start"] == at(2, 18)


def test_all_done_needs_nothing_more():
    present = Present(at=at(5, 9), done={"open": stretch(1, 19, 10), "other off": stretch(1, 19, 5)})
    made = replan(JOB, present, hours=EVENINGS, effort=QUICK)
    assert made.left.tasks == ()
    assert made.first_proof_at is None
    assert made.all_done_at == at(1, 19, 10)


def test_wherever_one_stops_the_rest_can_be_worked_and_does_not_end_later():
    made = replan(JOB, Present(at=at(0, 0)), hours=EVENINGS, effort=QUICK)
    for hours_on in range(0, 60, 5):
        now = at(0, hours_on)
        done = {one.task.id: Stretch(start=one.start, end=one.end) for one in made.tasks if one.end <= now}
        runs = {one.task.id: Stretch(start=one.start, end=one.end) for one in made.tasks if one.start < now < one.end}
        later = replan(JOB, Present(at=now, done=done, running=runs), hours=EVENINGS, effort=QUICK)
        assert faults(later.left, later.calendar, later.found) == []
        assert later.all_done_at == made.all_done_at
        ends = {one.task.id: one.end for one in later.tasks}
        assert all(ends[name] <= starts(later)[one.id] for one in JOB.tasks for name in waits_of(one))


@pytest.mark.parametrize(
    ("present", "told"),
    [
        ({"done": {"paint": stretch(0, 18, 5)}}, "no task of this job is “paint”"),
        ({"running": {"open": stretch(0, 18, 5), "other start": stretch(0, 18, 5)}}, "at once"),
        ({"running": {"prints": stretch(0, 18, 300), "other prints": stretch(0, 18, 300)}}, "printer is taken by"),
        ({"running": {"open": stretch(0, 18, 5)}, "done": {"open": stretch(0, 18, 5)}}, "is done and runs"),
    ],
)
def test_a_present_that_cannot_be_is_refused(present, told):
    with pytest.raises(BadRequest, match=told):
        replan(JOB, Present(at=at(0, 19), **present), hours=EVENINGS, effort=QUICK)


def test_times_without_a_zone_or_turned_round_are_refused():
    with pytest.raises(BadRequest, match="no time zone"):
        Present(at=datetime(2027, 3, 1))
    with pytest.raises(BadRequest, match="no stretch"):
        Stretch(start=at(0, 2), end=at(0, 1))
