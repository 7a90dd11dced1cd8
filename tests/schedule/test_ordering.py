"""How many moulds, the last step in time, hours that cannot be; on plans cut down to what is asked."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest

from firstpour.errors import BadRequest
from firstpour.schedule.hours_ahead import calendar_from
from firstpour.schedule.ordering import in_time, last_step, moment_at
from firstpour.schedule.other_hours import with_extra_hour
from firstpour.schedule.ways import ways_of, worn_out
from firstpour.workshop.hours import Hours, Weekday, Window, windows_from

START = datetime(2027, 3, 1, tzinfo=UTC)


def part(*, shots, life, moulds=1, cavities=1):
    choice = SimpleNamespace(
        pours=shots, mould_life=None if life is None else SimpleNamespace(low=life, high=2 * life)
    )
    return SimpleNamespace(
        request=SimpleNamespace(name="star", moulds=moulds), choice=choice, mould=SimpleNamespace(cavities=cavities)
    )


@pytest.mark.parametrize(
    ("shots", "life", "cavities", "moulds"),
    [(15, 20, 1, 1), (20, 20, 1, 1), (21, 20, 1, 2), (61, 20, 1, 4), (61, 20, 4, 1), (5, None, 1, 1)],
)
def test_a_mould_that_wears_out_before_its_shots_is_made_again(shots, life, cavities, moulds):
    one = part(shots=shots, life=life, cavities=cavities)
    assert worn_out(one) == moulds
    assert ways_of(one).moulds == moulds


def test_more_moulds_than_wear_out_are_made_where_they_are_asked_for():
    assert ways_of(part(shots=21, life=20, moulds=3)).moulds == 3


def test_the_last_step_of_the_due_day_is_the_last_that_is_in_time():
    hours = Hours(time_zone="Europe/Berlin")
    start = datetime(2027, 3, 26, 23, tzinfo=UTC)
    due = date(2027, 3, 28)  # 23 hours long: EU directive 2000/84/EC
    step = last_step(due, start, hours)
    assert in_time(moment_at(start, step, hours), due)
    assert not in_time(moment_at(start, step + 1, hours), due)
    assert step == 47 * 12 - 1


@pytest.mark.parametrize(
    ("windows", "told"),
    [
        ((Window(start_min=600, end_min=540),), "ends before it begins"),
        ((Window(start_min=540, end_min=700), Window(start_min=660, end_min=800)), "overlap"),
    ],
)
def test_windows_turned_round_or_one_over_the_other_are_refused(windows, told):
    hours = Hours(week={Weekday.MONDAY: windows}, time_zone="UTC")
    with pytest.raises(BadRequest, match=told):
        calendar_from(START, hours)


def test_an_extra_hour_goes_before_where_the_day_ends():
    late = Hours(week={Weekday.MONDAY: windows_from("18:00-23:30")})
    assert [str(one) for one in with_extra_hour(late).week[Weekday.MONDAY]] == ["17:30-24:00"]
    full = Hours(week={Weekday.MONDAY: windows_from("0:00-24:00")})
    assert with_extra_hour(full).week[Weekday.MONDAY] == full.week[Weekday.MONDAY]
