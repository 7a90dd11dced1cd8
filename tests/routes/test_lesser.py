"""What is better in nothing is left out, and then wins at no number of copies, whatever the hours and the rates."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.routes.curves import days_curve, hands_curve, money_curve
from firstpour.routes.lesser import never_better
from firstpour.routes.money import Cost, Rates
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.work import Presence, Work

WEEK = Presence(days=5, day_min=480)


def casting(
    name: str,
    *,
    cure: float = 240,
    mix: float = 10,
    sets: float = 60,
    silicone: float | None = 12,
    shot: float = 1,
    life: int | None = 25,
    moulds: int = 1,
    off: float = 0.0,
) -> Recipe:
    return Recipe(
        name=name,
        way=Way.CAST,
        material="plastic",
        off_points=off,
        once=(Work(what="print", hands_min=5, wait_min=600, printing=True),),
        each_mould=(Work(what="pour silicone", hands_min=20), Work(what="it cures", wait_min=cure)),
        each_go=(
            Work(what="pour", hands_min=mix),
            Work(what="it sets", wait_min=sets),
            Work(what="open", hands_each_min=5),
        ),
        moulds=moulds,
        a_go=moulds,
        life_shots=life,
        money_mould=(Cost(what="silicone", amount=1, unit="g", each=silicone),),
        money_try=(Cost(what="casting", amount=1, unit="g", each=shot),),
    )


HAND = [
    # what another is beside the first, and whether it is never better
    (casting("dearer", silicone=13), True),
    (casting("slower", cure=241), True),
    (casting("the same"), True),
    (casting("worn sooner", life=24), True),
    (casting("off the feel", off=-2.0), True),
    (casting("dearer and quicker", silicone=13, cure=239), False),
    (casting("cheaper and worn sooner", silicone=11, life=24), False),
    (casting("of no known price", silicone=None, cure=300), False),
    (casting("in two moulds", moulds=2, silicone=20), False),
]


@pytest.mark.parametrize(("other", "lesser"), HAND, ids=lambda one: one.name if isinstance(one, Recipe) else "")
def test_what_is_worse_in_one_thing_and_better_in_none_gives_way(other: Recipe, lesser: bool) -> None:
    kept, found = never_better([casting("first"), other])
    assert (other not in kept) is lesser
    assert [(one.name, one.than, one.count) for one in found] == ([(other.name, "first", 1)] if lesser else [])


def test_what_the_plan_follows_always_stands() -> None:
    planned = replace(casting("planned", silicone=50), planned=True)
    kept, _ = never_better([casting("first"), planned])
    assert planned in kept


castings = st.builds(
    casting,
    st.text("abc", min_size=4, max_size=8),
    cure=st.sampled_from([30, 240, 960]),
    mix=st.sampled_from([8, 10, 15]),
    sets=st.sampled_from([30, 60, 1000]),
    silicone=st.sampled_from([5, 12, 20]),
    shot=st.sampled_from([0.5, 1, 2]),
    life=st.sampled_from([None, 10, 25]),
    moulds=st.integers(1, 3),
)


@given(
    recipes=st.lists(castings, min_size=2, max_size=8, unique_by=lambda one: one.name),
    copies=st.integers(1, 60),
    rates=st.builds(Rates, hands_per_h=st.floats(0, 50), printer_per_h=st.floats(0, 5)),
)
def test_nothing_that_gave_way_would_have_won(recipes: list[Recipe], copies: int, rates: Rates) -> None:
    kept, found = never_better(recipes)
    by_name = {one.name: one for one in recipes}
    assert len(kept) + len(found) == len(recipes)
    for one in found:
        worse, better = by_name[one.name], by_name[one.than]
        assert better in kept
        for curve in (
            lambda recipe: money_curve(recipe, (copies,), rates)[0],
            lambda recipe: hands_curve(recipe, (copies,))[0],
            lambda recipe: days_curve(recipe, (copies,), WEEK)[0],
        ):
            assert curve(better) <= curve(worse) + 1e-9
