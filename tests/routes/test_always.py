"""What must hold of the routes of the shipped shelf: dearer is never cheaper, more copies are never less."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.materials.catalogue import Catalogue
from firstpour.materials.material import SILICONES, Kind, Material
from firstpour.routes.compare import Measure
from firstpour.routes.money import Rates
from firstpour.routes.recipe import Way
from firstpour.routes.routes import PartRoutes, part_routes
from firstpour.workshop.workshop import Workshop
from routes_shapes import HUB, SHELF, asked

MODEST = settings(max_examples=8, deadline=None)
"""Each example reckons all routes of the hub twice."""
RATES = Rates(hands_per_h=20.0)


def priced(factor: float, kinds: frozenset[Kind]) -> Workshop:
    """The shelf with every pack of these kinds so many times as dear."""

    def dearer(one: Material) -> Material:
        if one.kind not in kinds:
            return one
        packs = tuple(replace(pack, price=None if pack.price is None else factor * pack.price) for pack in one.packs)
        return replace(one, packs=packs)

    materials = {key: dearer(one) for key, one in SHELF.catalogue.materials.items()}
    return replace(SHELF, catalogue=Catalogue(materials=materials), stock=())


def least(made: PartRoutes, way: Way) -> float:
    return min(one.outcome.money for one in made.routes if one.recipe.way is way)


@MODEST
@given(factor=st.floats(1.0, 4.0))
def test_dearer_silicone_never_makes_casting_cheaper_nor_its_break_even_earlier(factor: float) -> None:
    plain, dear = (part_routes(asked(HUB), priced(each, frozenset(SILICONES)), rates=RATES) for each in (1.0, factor))
    assert least(dear, Way.CAST) >= least(plain, Way.CAST) - 1e-9
    assert least(dear, Way.PRINTED) == pytest.approx(least(plain, Way.PRINTED))
    before, after = ({(b.print, b.measure): b.copies for b in one.breaks} for one in (plain, dear))
    for key, copies in before.items():
        if key[1] is Measure.MONEY:
            assert (after[key] or 1001) >= (copies or 1001)


@MODEST
@given(factor=st.floats(1.0, 4.0))
def test_dearer_filament_never_makes_prints_cheaper(factor: float) -> None:
    plain, dear = (
        part_routes(asked(HUB), priced(each, frozenset({Kind.FILAMENT})), rates=RATES) for each in (1.0, factor)
    )
    assert least(dear, Way.PRINTED) >= least(plain, Way.PRINTED) - 1e-9


@MODEST
@given(copies=st.integers(1, 60), more=st.integers(1, 40))
def test_more_copies_never_cost_less_take_less_hands_or_are_there_sooner_by_the_best_route(
    copies: int, more: int
) -> None:
    few, many = (part_routes(asked(replace(HUB, copies=n)), SHELF, rates=RATES) for n in (copies, copies + more))
    for way in Way:
        assert least(many, way) >= least(few, way) - 1e-9
    for value in (lambda one: one.outcome.hands_min, lambda one: one.outcome.days):
        assert min(map(value, many.routes)) >= min(map(value, few.routes)) - 1e-9


@MODEST
@given(rate=st.floats(0.0, 60.0))
def test_dearer_hands_never_make_a_route_cheaper(rate: float) -> None:
    cheap, dear = (part_routes(asked(HUB), SHELF, rates=Rates(hands_per_h=each)) for each in (0.0, rate))
    before = {one.recipe.name: one.outcome.money for one in cheap.routes}
    for one in dear.routes:
        if one.recipe.name in before:
            assert one.outcome.money >= before[one.recipe.name] - 1e-9


def test_every_candidate_is_shown_or_counted_and_every_refusal_has_its_reason() -> None:
    made = part_routes(asked(HUB), SHELF, rates=RATES)
    shown = {one.route for one in made.shortlist.kept}
    assert shown <= {one.recipe.name for one in made.routes}
    assert made.shortlist.candidates == len(shown) + sum(one.count for one in made.shortlist.left_out)
    assert all(one.reason and one.count > 0 for one in made.shortlist.left_out)
    assert all(no.reason for no in made.refused)
    assert len({(no.name, no.reason) for no in made.refused}) == len(made.refused)
