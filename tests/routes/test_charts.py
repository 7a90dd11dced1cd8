"""The charts: deterministic, in both formats, every drawn route named, the crossing where it is."""

from firstpour.job.job import Preference
from firstpour.pictures.route_chart import ChartKind, crossings, route_chart
from firstpour.routes.money import Rates
from firstpour.routes.recipe import Way
from firstpour.routes.routes import curves_of, drawn_routes
from routes_shapes import SHELF, hub_routes


def test_the_chart_names_every_route_that_it_draws_and_is_the_same_each_time() -> None:
    made = hub_routes()
    curves = curves_of(made, SHELF, rates=Rates(), counts=(1, 2, 5, 10))
    chart = route_chart(made, curves, ChartKind.SVG)
    assert chart == route_chart(made, curves, ChartKind.SVG)
    assert {one.name for one in curves} == {one.recipe.name for one in drawn_routes(made)}
    assert route_chart(made, curves, ChartKind.PNG).startswith(b"\x89PNG")


def test_a_curve_goes_through_what_the_table_says() -> None:
    made = hub_routes()
    for curve in curves_of(made, SHELF, rates=Rates(), counts=(made.copies,)):
        route = made.named(curve.name)
        assert route is not None
        assert abs(curve.money[0] - route.outcome.money) < 1e-9
        assert curve.days[0] == route.outcome.days


def test_prints_and_castings_are_both_drawn_and_the_soonest_casting_among_them() -> None:
    made = hub_routes(Preference.SOONEST)
    drawn = drawn_routes(made)
    assert {one.recipe.way for one in drawn} == set(Way)
    castings = [one for one in made.routes if one.recipe.way is Way.CAST]
    assert min(one.outcome.days for one in castings) in [one.outcome.days for one in drawn]


def test_a_curve_that_comes_back_up_has_not_crossed() -> None:
    assert crossings([2, 2, 2, 2], [3, 1, 3, 1]) == 3
    assert crossings([2, 2, 2], [3, 1, 3]) is None
