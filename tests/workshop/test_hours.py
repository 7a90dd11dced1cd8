"""When somebody is in the workshop."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.workshop.hours import TYPICAL_WEEK, Hours, Weekday, Window, windows_from

MONDAY = date(2027, 4, 12)
"""A Monday: 12 April 2027 (ISO 8601 week date 2027-W15-1)."""


def test_the_days_of_the_week_are_those_of_the_calendar() -> None:
    assert MONDAY.isocalendar() == (2027, 15, 1)
    hours = Hours(week={Weekday.MONDAY: (Window(start_min=60, end_min=120),)})
    open_on = [bool(hours.windows_on(MONDAY + timedelta(days=k))) for k in range(7)]
    assert open_on == [True, False, False, False, False, False, False]


def test_nobody_is_there_on_a_day_off() -> None:
    hours = Hours(days_off=(MONDAY,))
    assert hours.windows_on(MONDAY) == ()
    assert hours.windows_on(MONDAY + timedelta(days=7)) == TYPICAL_WEEK[Weekday.MONDAY]


@given(st.lists(st.integers(0, 1440), min_size=2, max_size=8, unique=True).filter(lambda ends: len(ends) % 2 == 0))
def test_stretches_that_do_not_overlap_are_read_in_order_however_they_are_written(ends: list[int]) -> None:
    ends = sorted(ends)
    windows = [Window(start_min=a, end_min=b) for a, b in zip(ends[::2], ends[1::2], strict=True)]
    assert windows_from(", ".join(str(one) for one in reversed(windows))) == tuple(windows)


@pytest.mark.parametrize(
    "words",
    [
        "9-17",
        "09:00-09:00",
        "17:00-09:00",
        "09:60-10:00",
        "09:00-24:01",
        "25:00-26:00",
        "9:00-12:00, 11:59-13:00",
        "٩:00-10:00",
    ],
)
def test_what_is_no_stretch_of_a_day_is_refused(words: str) -> None:
    with pytest.raises(BadRequest) as refused:
        windows_from(words)
    assert refused.value.remedy


def test_a_day_may_end_at_midnight() -> None:
    assert str(windows_from("18:00-24:00")[0]) == "18:00-24:00"
