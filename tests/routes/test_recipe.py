"""What copies come to by a route: hand reckonings (own arithmetic, kept as tables) and what must always hold."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.choosing.counts import round_sizes, shots_for
from firstpour.routes.compare import overtakes_at
from firstpour.routes.course import works_for
from firstpour.routes.curves import days_curve, hands_curve, money_curve
from firstpour.routes.money import Rates
from firstpour.routes.outcome import outcome
from firstpour.routes.recipe import Recipe, Way, goes_of, moulds_for, tries_for
from firstpour.routes.work import Presence, Work, end_of, minutes_of
from firstpour.workshop.hours import Hours
from routes_shapes import CASTING, PRINTING, money

WEEK = Presence(days=5, day_min=480)
NO_RATES = Rates()

HAND = [
    # copies, moulds, money, hands, waits: once 5+600; a mould 20+240; a shot 15+30
    (1, 1, 15.9, 40, 870),
    (8, 1, 22.2, 145, 1080),
    (25, 1, 37.5, 400, 1590),
    (26, 2, 50.4, 435, 1860),
]


@pytest.mark.parametrize(("copies", "moulds", "costs", "hands_min", "wait_min"), HAND)
def test_a_small_casting_comes_to_what_is_reckoned_by_hand(
    copies: int, moulds: int, costs: float, hands_min: float, wait_min: float
) -> None:
    what = outcome(CASTING, copies, presence=WEEK, rates=NO_RATES)
    assert (what.moulds, what.hands_min) == (moulds, hands_min)
    assert what.money == pytest.approx(costs)
    assert what.all_copies_min == hands_min + wait_min
    assert what.first_proof_min == 40 + 870
    assert what.printer_min == 600


def test_a_plate_of_prints_comes_to_what_is_reckoned_by_hand() -> None:
    """Eight prints, six on a plate: two plates, 2·5 min of hands, 2·10 + 8·50 min on the printer."""
    what = outcome(PRINTING, 8, presence=WEEK, rates=NO_RATES)
    assert (what.goes, what.hands_min, what.printer_min) == (2, 10, 420)
    assert what.money == pytest.approx(13.6)


def test_hours_are_paid_where_they_have_a_rate() -> None:
    """8 copies: 145 min of hands at 30, 600 min of printer at 2: 72.5 + 20 on top of 22.2."""
    what = outcome(CASTING, 8, presence=WEEK, rates=Rates(hands_per_h=30, printer_per_h=2))
    assert what.money == pytest.approx(22.2 + 72.5 + 20.0)


def test_a_price_that_is_not_known_is_told_and_not_made_up() -> None:
    what = outcome(replace(CASTING, money_try=(money(0.9, each=None, what="dye"),)), 8, presence=WEEK, rates=NO_RATES)
    assert what.unpriced == ("dye",)
    assert what.money == pytest.approx(15.0)


def test_break_even_is_that_of_the_closed_form() -> None:
    """F + c·n below p·n from n > F/(p − c) on: 15/(1.7 − 0.9) = 18.75, so from 19 copies while one mould lasts."""
    lasting = replace(CASTING, life_shots=None)
    counts = range(1, 101)
    assert overtakes_at(money_curve(PRINTING, counts, NO_RATES), money_curve(lasting, counts, NO_RATES)) == 19


def test_a_second_mould_shifts_the_break_even() -> None:
    """With 25 shots a mould: at 26 a new mould costs more than it saves, 27 + 0.9·n < 1.7·n from n > 33.75 on;
    at 51 the third: 39 + 0.9·n < 1.7·n from n > 48.75 on, so it holds from 34 on."""
    counts = range(1, 1001)
    assert overtakes_at(money_curve(PRINTING, counts, NO_RATES), money_curve(CASTING, counts, NO_RATES)) == 34


DAYS = [
    # works, minutes on the calendar: a day is open for 480 of 1440, five days a week
    ([Work(what="pour", hands_min=30, wait_min=960), Work(what="open", hands_min=5)], 1440 + 5),
    ([Work(what="pour", hands_min=30, wait_min=60), Work(what="open", hands_min=5)], 95),
    ([Work(what="long", hands_min=470), Work(what="pour", hands_min=30)], 1440 + 30),
    ([Work(what="sand", hands_min=600)], 1440 + 120),
    ([Work(what="sand twelve", hands_min=12 * 60, portions=12)], 1440 + 240),
    ([Work(what="long", hands_min=450), Work(what="open five", hands_min=5 * 20, portions=5)], 1440 + 80),
    ([Work(what="cure", hands_min=10, wait_min=4 * 1440), Work(what="open", hands_min=5)], 4 * 1440 + 15),
    ([Work(what="cure", hands_min=10, wait_min=5 * 1440), Work(what="open", hands_min=5)], 7 * 1440 + 5),
]


@pytest.mark.parametrize(("works", "minutes"), DAYS)
def test_hands_work_only_while_somebody_is_there(works: list[Work], minutes: float) -> None:
    assert end_of(works, WEEK) == minutes


def test_the_presence_is_that_of_the_hours() -> None:
    assert Presence.of(Hours(), begins=date(2027, 1, 4)) == WEEK


def test_a_weekend_comes_sooner_where_work_begins_on_a_thursday() -> None:
    """Begun on Thursday: a pour, two days of cure, and the copy is opened on Monday, not on Saturday."""
    works = [Work(what="pour", hands_min=10, wait_min=2 * 1440), Work(what="open", hands_min=5)]
    thursday = Presence.of(Hours(), begins=date(2027, 1, 7))
    assert end_of(works, WEEK) == 2 * 1440 + 15
    assert end_of(works, thursday) == 4 * 1440 + 5
    assert end_of([Work(what="pour", hands_min=10)], Presence.of(Hours(), begins=date(2027, 1, 9))) == 2 * 1440 + 10


SEVERAL = [
    # moulds, copies, goes, hands, waits; a mould 20+240, a go 10+30 and 5 a copy, once 5+600
    (2, 3, (1, 1, 1), 5 + 40 + 30 + 15, 600 + 240 + 30 + 240 + 30),
    (3, 4, (1, 1, 2), 5 + 60 + 30 + 20, 600 + 240 + 30 + 240 + 240),
    (3, 8, (1, 1, 2, 3, 1), 5 + 60 + 50 + 40, 600 + 240 + 30 + 240 + 240 + 30 + 30),
    (2, 2, (1, 1), 5 + 40 + 20 + 10, 600 + 240 + 30 + 240),
]
"""Own arithmetic: mould 2 cures beside the second go, mould 3 beside the third; the longer wait counts."""


@pytest.mark.parametrize(("moulds", "copies", "goes", "hands_min", "wait_min"), SEVERAL)
def test_moulds_are_made_beside_the_goes_as_is_reckoned_by_hand(
    moulds: int, copies: int, goes: tuple[int, ...], hands_min: float, wait_min: float
) -> None:
    recipe = replace(CASTING, moulds=moulds, a_go=moulds)
    what = outcome(recipe, copies, presence=WEEK, rates=NO_RATES)
    assert goes_of(recipe, copies) == goes
    assert (what.goes, what.moulds, what.hands_min) == (len(goes), moulds, hands_min)
    assert what.all_copies_min == hands_min + wait_min


def test_the_first_mould_is_proved_before_the_others_are_made() -> None:
    three = replace(CASTING, moulds=3, a_go=3)
    hands = [(one.what, one.hands_min) for one in works_for(three, 4) if one.hands_min]
    assert [what for what, _ in hands] == ["print", "silicone", "pour", "open", *(["silicone", "pour", "open"] * 2)]
    assert hands[-2:] == [("pour", 10), ("open", 10)]


recipes = st.builds(
    Recipe,
    name=st.just("any"),
    way=st.just(Way.CAST),
    material=st.just("plastic"),
    once=st.just(CASTING.once),
    each_mould=st.just(CASTING.each_mould),
    each_go=st.just(CASTING.each_go),
    now_and_then=st.just((Work(what="release", hands_each_min=4, wait_min=10),)),
    each_good=st.just((Work(what="paint", hands_min=4, wait_min=100),)),
    moulds=st.integers(1, 4),
    life_shots=st.one_of(st.none(), st.integers(1, 60)),
    yield_ratio=st.floats(0.5, 1.0),
    money_once=st.just(CASTING.money_once),
    money_mould=st.floats(0, 50).map(lambda each: (money(1.0, each=each),)),
    money_now_and_then=st.floats(0, 2).map(lambda each: (money(1.0, each=each),)),
    money_try=st.floats(0, 5).map(lambda each: (money(1.0, each=each),)),
)
recipes = st.builds(
    lambda one, cavities: replace(one, a_mould=cavities, a_go=cavities * one.moulds), recipes, st.integers(1, 4)
)
rates = st.builds(Rates, hands_per_h=st.one_of(st.none(), st.floats(0, 100)), printer_per_h=st.floats(0, 10))


@given(recipe=recipes, copies=st.integers(1, 300), rate=rates)
def test_more_copies_never_cost_less_in_all(recipe: Recipe, copies: int, rate: Rates) -> None:
    assert outcome(recipe, copies, presence=WEEK, rates=rate).money == pytest.approx(
        money_curve(recipe, (copies,), rate)[0]
    )
    fewer, more = money_curve(recipe, (copies, copies + 1), rate)
    assert more >= fewer - 1e-9


@given(recipe=recipes, copies=st.integers(1, 200), dearer=st.floats(1.0, 5.0))
def test_dearer_silicone_never_makes_casting_cheaper(recipe: Recipe, copies: int, dearer: float) -> None:
    raised = replace(recipe, money_mould=tuple(one.times(dearer) for one in recipe.money_mould))
    assert money_curve(raised, (copies,), NO_RATES)[0] >= money_curve(recipe, (copies,), NO_RATES)[0] - 1e-9


@given(recipe=recipes, copies=st.integers(1, 200))
def test_the_sums_are_those_of_the_work_laid_out(recipe: Recipe, copies: int) -> None:
    laid_out = minutes_of(works_for(recipe, copies))
    assert hands_curve(recipe, (copies,))[0] == pytest.approx(laid_out.hands_min)
    bare, hour = (money_curve(recipe, (copies,), Rates(printer_per_h=each))[0] for each in (None, 60.0))
    assert hour - bare == pytest.approx(laid_out.printer_min)


@given(recipe=recipes, copies=st.integers(1, 200))
def test_the_goes_hold_every_try_and_the_moulds_last(recipe: Recipe, copies: int) -> None:
    tries = tries_for(recipe, copies)
    assert sum(goes_of(recipe, tries)) == tries
    if recipe.life_shots is not None:
        assert moulds_for(recipe, tries) * recipe.life_shots >= tries


@given(recipe=recipes, copies=st.integers(1, 60))
def test_nine_times_in_ten_there_are_enough(recipe: Recipe, copies: int) -> None:
    assert outcome(recipe, copies, presence=WEEK, rates=NO_RATES).chance >= 0.9 - 1e-9


@given(recipe=recipes, copies=st.integers(1, 60))
def test_days_by_shared_goes_are_those_of_the_whole_work(recipe: Recipe, copies: int) -> None:
    counts = range(1, copies + 1)
    curve = days_curve(recipe, counts, WEEK)
    assert curve[-1] == pytest.approx(end_of(works_for(recipe, copies), WEEK) / 1440.0)


@given(fixed=st.floats(0.5, 60), cast=st.floats(0.05, 2), more=st.floats(0.1, 3))
def test_any_break_even_is_that_of_the_closed_form(fixed: float, cast: float, more: float) -> None:
    """F + c·n below p·n from n > F/(p − c) on: the first whole number above it; own arithmetic."""
    casting = replace(
        CASTING, life_shots=None, money_once=(money(fixed),), money_mould=(), money_try=(money(1.0, each=cast),)
    )
    printing = replace(PRINTING, money_try=(money(1.0, each=cast + more),))
    counts = range(1, 1001)
    found = overtakes_at(money_curve(printing, counts, NO_RATES), money_curve(casting, counts, NO_RATES))
    exact = fixed / more
    assert found is not None
    assert exact - 1e-6 < found <= exact + 1 + 1e-6


@given(recipe=recipes, copies=st.integers(1, 120))
def test_more_copies_never_take_less_hands_and_are_never_there_sooner(recipe: Recipe, copies: int) -> None:
    few, more = hands_curve(recipe, (copies, copies + 1))
    assert more >= few - 1e-9
    # while moulds are made that so few copies never fill, one more copy may find one cured
    all_filled = len(round_sizes(tries_for(recipe, copies), moulds=recipe.moulds, cavities=recipe.a_mould))
    if recipe.moulds == 1 or all_filled > recipe.moulds:
        days = days_curve(recipe, (copies, copies + 1), WEEK)
        assert days[1] >= days[0] - 1e-9


@given(recipe=recipes, copies=st.integers(1, 60), longer=st.floats(1.0, 4.0))
def test_a_cure_that_takes_longer_is_never_sooner(recipe: Recipe, copies: int, longer: float) -> None:
    slow = replace(
        recipe, each_mould=tuple(replace(one, wait_min=longer * one.wait_min) for one in recipe.each_mould)
    )
    assert days_curve(slow, (copies,), WEEK)[0] >= days_curve(recipe, (copies,), WEEK)[0] - 1e-9


@given(shots=st.integers(1, 400), moulds=st.integers(1, 8), cavities=st.integers(1, 8))
def test_more_moulds_or_cavities_never_take_more_rounds(shots: int, moulds: int, cavities: int) -> None:
    sizes = round_sizes(shots, moulds=moulds, cavities=cavities)
    assert sum(sizes) == shots
    assert sizes[0] == min(shots, cavities)
    assert max(sizes) <= moulds * cavities
    assert len(round_sizes(shots, moulds=moulds + 1, cavities=cavities)) <= len(sizes)
    assert len(round_sizes(shots, moulds=moulds, cavities=cavities + 1)) <= len(sizes)


@given(copies=st.integers(1, 300), good=st.integers(0, 60), spoiled=st.integers(0, 60))
def test_a_spoiled_shot_that_was_seen_never_lessens_the_shots_to_come(copies: int, good: int, spoiled: int) -> None:
    seen = shots_for(copies, yield_ratio=0.9, seen_good=good, seen_shots=good + spoiled)
    worse = shots_for(copies, yield_ratio=0.9, seen_good=good, seen_shots=good + spoiled + 1)
    assert worse >= seen >= copies
