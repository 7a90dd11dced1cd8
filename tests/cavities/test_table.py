"""Copies a day and the best number of cavities, by hand."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from firstpour.cavities.table import CavityRow, best_row, copies_a_day

ROW = CavityRow(
    cavities=1, block_mm=(10.0, 10.0, 10.0), silicone_ml=50.0, print_min=100.0, waste_g=1.0, pour_min=5.0, rounds=3,
    copies_a_day=1.0, days=5.5, cost=20.0, in_one_mix=True, in_time=None, made=True,
)  # fmt: skip


def test_a_cure_overnight_gives_one_round_a_day():
    assert copies_a_day(4, hands_min=30, cure_min=16 * 60, open_min=8 * 60) == 4.0


def test_short_cures_give_rounds_while_somebody_is_there():
    """08:00, 10:30, 13:00 and 15:30 are begun in eight hours of a cycle of 2.5 h: four rounds."""
    assert copies_a_day(2, hands_min=30, cure_min=120, open_min=8 * 60) == 8.0


def test_a_cure_of_forty_hours_takes_two_days():
    assert copies_a_day(6, hands_min=30, cure_min=40 * 60, open_min=8 * 60) == 3.0


@given(
    count=st.integers(1, 40),
    hands_min=st.floats(1, 600),
    cure_min=st.floats(10, 5000),
    open_min=st.floats(0, 1440),
)
def test_a_longer_cure_or_more_hands_never_give_more(count, hands_min, cure_min, open_min):
    given_day = copies_a_day(count, hands_min=hands_min, cure_min=cure_min, open_min=open_min)
    assert copies_a_day(count, hands_min=hands_min, cure_min=2 * cure_min, open_min=open_min) <= given_day
    assert copies_a_day(count + 1, hands_min=hands_min, cure_min=cure_min, open_min=open_min) > given_day


def test_the_fewest_that_meet_the_date_are_the_best():
    rows = (
        replace(ROW, in_time=False, days=9.0),
        replace(ROW, cavities=2, days=6.0, in_time=True),
        replace(ROW, cavities=4, days=4.0, in_time=True, silicone_ml=100.0),
    )
    assert best_row(rows) is rows[1]


def test_without_a_date_the_soonest_and_of_equal_days_the_least_silicone():
    rows = (
        ROW,
        replace(ROW, cavities=4, days=3.2, silicone_ml=90.0),
        replace(ROW, cavities=8, days=3.1, silicone_ml=170.0),
    )
    assert best_row(rows) is rows[1]
    assert best_row(()) is None
    assert best_row((replace(ROW, days=None),)) is None
