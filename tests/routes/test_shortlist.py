"""The handful: what is bound to stand stands, what is left out is counted with its reason, and nothing is lost."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.job.job import Preference
from firstpour.materials.feel import wanted_hardness
from firstpour.routes.cast import cast_routes
from firstpour.routes.compare import Pick, Route, is_beaten, measures
from firstpour.routes.lesser import Lesser
from firstpour.routes.money import Cost, Rates
from firstpour.routes.outcome import Outcome
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.routes import part_routes
from firstpour.routes.shortlist import HANDFUL, NEARNESS, near_to, shortlist
from routes_shapes import HUB, SHELF, asked


def route(
    name: str, money: float, days: float, hands: float, *, kind: str = "trays", chance: float = 0.9, off: float = 0.0
) -> Route:
    what = Outcome(
        copies=8,
        tries=9,
        goes=9,
        moulds=1,
        hands_min=hands,
        printer_min=0.0,
        first_proof_min=0.0,
        first_copy_min=0.0,
        all_copies_min=0.0,
        days=days,
        first_days=0.0,
        costs=(Cost(what="all", amount=money, unit="", each=1.0),),
        chance=chance,
    )
    return Route(recipe=Recipe(name=name, way=Way.CAST, material="plastic", kind=kind, off_points=off), outcome=what)


def judged(routes: list[Route]) -> tuple[Route, ...]:
    routes = sorted(routes, key=lambda one: one.outcome.money)
    values = np.array([measures(one) for one in routes])
    return tuple(replace(one, undominated=not is_beaten(values[n], values)) for n, one in enumerate(routes))


SIX = [
    # name, money, days, hands; the cheapest stands, so does the cheapest block and what is picked
    route("cheap", 10.0, 20.0, 300.0),
    route("as cheap", 10.4, 20.0, 290.0),  # 3 % fewer hands than “cheap”: near
    route("quick", 30.0, 5.0, 300.0),  # nothing as quick is near in money
    route("quick too", 31.0, 4.9, 300.0),  # 2 % sooner than “quick”: near
    route("beaten", 31.0, 21.0, 310.0),
    route("block", 40.0, 30.0, 400.0, kind="block"),  # beaten, but the only block
]


def test_six_routes_leave_three_as_is_seen_by_hand() -> None:
    picks = [Pick(preference=Preference.CHEAPEST, route="cheap", why="")]
    found = shortlist(judged(SIX), picks, [Lesser(name="worse", than="cheap", count=4)])
    assert {one.route: one.whys for one in found.kept} == {
        "cheap": ("cheapest", "cheapest casting in a trays mould"),
        "quick": ("no other is as good in everything",),
        "block": ("cheapest casting in a block mould",),
    }
    counts = {one.reason.split(",")[0]: (one.count, one.example, one.instead) for one in found.left_out}
    assert counts == {
        "better in nothing": (4, "worse", "cheap"),
        "another is nowhere worse and somewhere better": (1, "beaten", "cheap"),
        "better than one that is shown by at most 5% of money": (2, "as cheap", "cheap"),
    }
    assert found.candidates == 10


def test_what_the_plan_follows_stands_though_it_is_beaten() -> None:
    routes = [replace(one, recipe=replace(one.recipe, planned=one.recipe.name == "beaten")) for one in SIX]
    kept = {one.route: one.whys for one in shortlist(judged(routes), [], []).kept}
    assert kept["beaten"] == ("the plan's",)


figures = st.tuples(st.floats(1, 100), st.floats(0.5, 30), st.floats(10, 600), st.floats(0.5, 1.0))


@given(rows=st.lists(figures, min_size=1, max_size=60))
def test_every_route_that_nothing_beats_has_one_near_to_it_and_all_are_counted(
    rows: list[tuple[float, float, float, float]],
) -> None:
    routes = judged([route(f"r{n}", *row[:3], chance=row[3]) for n, row in enumerate(rows)])
    found = shortlist(routes, [], [])
    assert found.candidates == len(routes)
    places = {one.recipe.name: n for n, one in enumerate(routes)}
    values = np.array([measures(one) for one in routes])
    shown = values[[places[one.route] for one in found.kept]]
    free = values[[one.undominated for one in routes]]
    assert near_to(shown, free, NEARNESS[-1]).any(axis=0).all()
    if len(found.kept) <= HANDFUL:
        return
    assert len(found.kept) <= len(free) + 1


@pytest.mark.parametrize("hardness", ["D 75", "A 30", "A 60"])
def test_of_the_hub_a_handful_is_shown_and_each_pick_is_in_it(hardness: str) -> None:
    made = part_routes(asked(replace(HUB, hardness=hardness)), SHELF, rates=Rates(hands_per_h=20.0))
    names = {one.route for one in made.shortlist.kept}
    assert len(names) <= HANDFUL
    assert {pick.route for pick in made.picks} <= names
    assert made.shortlist.candidates >= len(made.routes)


def test_every_dose_of_a_silicones_accelerator_is_a_route_or_has_a_reason_not_to_be() -> None:
    """The table of the accelerator lists 1, 2 and 4 %: each is shown, refused, or better in nothing than another."""
    need = replace(HUB, hardness="A 30")
    found = cast_routes(asked(need).moulds, wanted_hardness("A 30"), SHELF)
    silicone = "Middling addition-cure silicone, A 25"
    for dose in (1, 2, 4):
        words = f"mould of {silicone} with {dose} % accelerator"
        told = [one.name for one in (*found.recipes, *found.refused, *found.lesser)]
        assert any(words in name for name in told), dose
    plain = [one for one in found.recipes if one.silicone == silicone and one.silicone_accelerator_ratio is None]
    quick = [one for one in found.recipes if one.silicone == silicone and one.silicone_accelerator_ratio]
    assert plain
    for one in quick:
        words = f"{silicone} with {100 * (one.silicone_accelerator_ratio or 0.0):.2g} % accelerator"
        same = next(each for each in plain if one.name.replace(words, silicone) == each.name)
        assert sum(cost.money for cost in one.money_mould) > sum(cost.money for cost in same.money_mould)
        assert cure_min(one) < cure_min(same)


def cure_min(recipe: Recipe) -> float:
    return next(one.wait_min for one in recipe.each_mould if one.what == "silicone cures")


def test_what_the_job_says_of_the_silicones_accelerator_is_kept() -> None:
    need = replace(HUB, silicone_accelerator_ratio=0.01)
    found = cast_routes(asked(need).moulds, wanted_hardness(need.hardness), SHELF)
    assert found.recipes
    assert not any(one.silicone_accelerator_ratio for one in found.recipes)
    free = cast_routes(asked(HUB).moulds, wanted_hardness(HUB.hardness), SHELF)
    cure = {one.name: cure_min(one) for one in free.recipes}
    for one in found.recipes:
        if one.name in cure and "addition" in str(one.silicone):
            assert cure_min(one) < cure[one.name]
