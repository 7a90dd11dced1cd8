"""Break-evens in money, hands and days against tables reckoned by hand (own arithmetic)."""

from dataclasses import replace

import pytest

from firstpour.routes.compare import Measure, break_evens, side_by_side, value_of
from firstpour.routes.leads import leads
from firstpour.routes.money import Rates
from firstpour.routes.told import lead_words
from firstpour.routes.work import Presence, Work
from routes_shapes import CASTING, hub_routes
from routes_shapes import PRINTING as PRINTED

ALWAYS = Presence(days=7, day_min=1e9)
"""No evening comes: days are minutes one after the other."""
PRINTING = replace(PRINTED, each_good=(Work(what="sand", hands_min=20),))
TABLE = [
    # of n copies, m = ⌈n/25⌉ moulds, p = ⌈n/6⌉ plates: printed, cast; so from which n on casting takes less
    # money 1.7·n against 3 + 12·m + 0.9·n: at 34 with two moulds, and at 51 still with three
    (Measure.MONEY, 13.6, 22.2, 34),
    # hands 20·n + 5·p against 5 + 20·m + 15·n: 85 both at 4, 105 against 100 at 5
    (Measure.HANDS, 170.0, 145.0, 5),
    # days of 1440 min: 70·n + 15·p against 605 + 260·m + 45·n: 25·n + 15·p above 1125 from 41 on, two moulds
    (Measure.DAYS, (560 + 30) / 1440, (605 + 260 + 360) / 1440, 41),
]


@pytest.mark.parametrize(("measure", "printed", "cast", "copies"), TABLE)
def test_a_break_even_in_each_measure_is_that_reckoned_by_hand(
    measure: Measure, printed: float, cast: float, copies: int
) -> None:
    routes = side_by_side([CASTING, PRINTING], 8, presence=ALWAYS, rates=Rates())
    found = {one.measure: one for one in break_evens(routes, Rates(), ALWAYS)}[measure]
    assert (found.print_value, found.cast_value) == (pytest.approx(printed), pytest.approx(cast))
    assert (found.copies, found.cast, found.cast_from) == (copies, "cast", "cast")
    for count, ahead in ((copies - 1, "print"), (copies, "cast"), (copies + 1, "cast")):
        two = side_by_side([CASTING, PRINTING], count, presence=ALWAYS, rates=Rates())
        by_name = {one.recipe.name: value_of(one, measure) for one in two}
        assert (by_name["cast"] < by_name["print"]) is (ahead == "cast"), count


def test_a_casting_that_shows_more_does_not_count() -> None:
    """Its master's steps are copied: the print beside it is sanded."""
    rough = replace(CASTING, flaw_mm=0.1)
    routes = side_by_side([rough, PRINTING], 8, presence=ALWAYS, rates=Rates())
    assert break_evens(routes, Rates(), ALWAYS) == ()


def test_the_casting_that_is_best_at_each_number_counts() -> None:
    """Two moulds are filled from one mix: 20 min more for the mould, 10 min less for each round that is saved."""
    two = replace(CASTING, name="cast in two", moulds=2, a_go=2, life_shots=None)
    routes = side_by_side([replace(CASTING, life_shots=None), two, PRINTING], 8, presence=ALWAYS, rates=Rates())
    found = {one.measure: one for one in break_evens(routes, Rates(), ALWAYS)}
    # 8 copies: one mould 25 + 120 = 145; two moulds 45 + 40 + 10·(1, 1, 2, 2, 2 → 5 rounds) = 135
    assert (found[Measure.HANDS].cast, found[Measure.HANDS].cast_value) == ("cast in two", 135.0)
    assert found[Measure.HANDS].cast_from == "cast"
    # minutes: one mould 865 + 8·45 = 1225; two 865 + 45, then 20 + 10 + 240 + 5, then thrice 10 + 30 + 10: 1335
    assert (found[Measure.DAYS].cast, found[Measure.DAYS].cast_value) == ("cast", pytest.approx(1225 / 1440))
    by_name = {one.recipe.name: one.outcome for one in routes}
    assert by_name["cast in two"].days == pytest.approx(1335 / 1440)


LEADS = [
    # a mould lasts 25 shots: casting leads from 19 (32.1 against 32.3), not at 26 (50.4 against 44.2), again from 34
    (Measure.MONEY, [(1, "print"), (19, "cast"), (26, "print"), (34, "cast")]),
    # 85 both at 4
    (Measure.HANDS, [(1, "print"), (5, "cast")]),
    (Measure.DAYS, [(1, "print"), (41, "cast")]),
]


@pytest.mark.parametrize(("measure", "found"), LEADS)
def test_who_takes_least_at_each_number_is_that_reckoned_by_hand(
    measure: Measure, found: list[tuple[int, str]]
) -> None:
    made = leads([PRINTING, CASTING], Rates(), ALWAYS)
    assert [(one.copies, one.route) for one in made if one.measure is measure] == found


def test_of_the_hub_each_measure_begins_with_a_lead_of_a_route_that_is_shown() -> None:
    made = hub_routes()
    shown = {one.route for one in made.shortlist.kept}
    assert {one.route for one in made.leads} <= shown
    assert [one.measure for one in made.leads if one.copies == 1] == list(Measure)
    assert len(lead_words(made)) == len(Measure)
