"""Routes against each other: which are beaten in everything, where one overtakes another, what a loser would need."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from firstpour.job.job import Preference
from firstpour.routes.curves import days_curve, hands_curve, money_curve
from firstpour.routes.lesser import shown_mm
from firstpour.routes.money import Rates
from firstpour.routes.outcome import Outcome, outcome
from firstpour.routes.recipe import Recipe, Way
from firstpour.routes.work import Presence
from firstpour.values import FloatArray

MOST_COPIES = 1000
"""Break-evens are looked for up to so many copies."""
COUNTS = range(1, MOST_COPIES + 1)
MOST_BY_DAYS = 200
"""Those in days up to so many, as they are drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A recipe with what it comes to for the copies asked for. `undominated`: no other is as good in everything."""

    recipe: Recipe
    outcome: Outcome
    undominated: bool = True
    would_win: str = ""
    """What would have to change for it to be the cheapest; empty for the cheapest itself."""


class Measure(StrEnum):
    """What break-evens are looked for in."""

    MONEY = "money"
    HANDS = "hands"
    DAYS = "days"


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """From so many copies on casting takes less of it than this print, whichever casting is best at each number.

    Only castings as fine as the print count. 1: from the first copy on; None: not up to 1,000 copies, or 200 by days.
    """

    measure: Measure
    print: str
    copies: int | None
    print_value: float = 0.0
    """What the copies asked for take of it: money, minutes of hands or days."""
    cast_value: float = 0.0
    cast: str = ""
    """The casting that takes least of it for the copies asked for."""
    cast_from: str | None = None
    """The one that takes least at the break-even."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """The route that a preference chooses, and why, in a sentence."""

    preference: Preference
    route: str
    why: str


MEASURES = 8
"""So many figures `measures` gives."""


def measures(one: Route) -> tuple[float, ...]:
    """What one wants little of.

    Money, days, hands, fits missed, steps and seam that show, off the feel, chance to fall short.
    """
    what, recipe = one.outcome, one.recipe
    seen = (recipe.fit_miss_mm, shown_mm(recipe), recipe.seam_mm, abs(recipe.off_points or 0.0))
    return (what.money, what.days, what.hands_min, *seen, 1.0 - what.chance)


def is_beaten(values: FloatArray, others: FloatArray) -> bool:
    """Whether one of the others (n, k) is nowhere worse than the values (k,) and somewhere better.

    >>> two = np.array([2.0, 2.0])
    >>> is_beaten(two, np.array([[1.0, 2.0]])), is_beaten(two, np.array([[2.0, 2.0], [1.0, 3.0]]))
    (True, False)
    """
    return bool(((others <= values).all(axis=1) & (others < values).any(axis=1)).any())


def overtakes_at(first: Sequence[float], second: Sequence[float]) -> int | None:
    """The least number of copies from which `second` (money for 1, 2, … copies) stays below `first`; None if never.

    >>> overtakes_at([1, 2, 3, 4], [2.5, 2.6, 2.7, 2.8]), overtakes_at([1, 2], [3, 4])
    (3, None)
    """
    if second[-1] >= first[-1]:
        return None
    last = max((n for n, (a, b) in enumerate(zip(first, second, strict=True)) if b >= a), default=-1)
    return last + 2


def break_evens(routes: Sequence[Route], rates: Rates, presence: Presence) -> tuple[BreakEven, ...]:
    """For each print and measure, who is ahead for the copies asked for, and from which number on casting is."""
    prints = [one for one in routes if one.recipe.way is Way.PRINTED]
    castings = [one for one in routes if one.recipe.way is Way.CAST]
    return tuple(
        found
        for measure in Measure
        for found in _breaks_in(measure, prints, _drawn(castings, measure, rates, presence), rates, presence)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Drawn:
    """A casting and its curve; None where another as fine is never later."""

    route: Route
    curve: list[float] | None


def _drawn(castings: Sequence[Route], measure: Measure, rates: Rates, presence: Presence) -> list[_Drawn]:
    recipes = [one.recipe for one in castings]
    worth = {id(one) for one in (_never_later(recipes) if measure is Measure.DAYS else recipes)}
    return [
        _Drawn(
            route=one,
            curve=curve_in(measure, one.recipe, rates, presence) if id(one.recipe) in worth else None,
        )
        for one in castings
    ]


def _breaks_in(
    measure: Measure, prints: Sequence[Route], castings: Sequence[_Drawn], rates: Rates, presence: Presence
) -> Iterator[BreakEven]:
    """Those of one measure."""
    for print_ in prints:
        fine = [one for one in castings if shown_mm(one.route.recipe) <= shown_mm(print_.recipe)]
        if not fine:
            continue
        drawn = [(one.route.recipe, one.curve) for one in fine if one.curve is not None]
        least = [min(values) for values in zip(*(curve for _, curve in drawn), strict=True)]
        at = overtakes_at(curve_in(measure, print_.recipe, rates, presence), least)
        now = min((one.route for one in fine), key=lambda one: value_of(one, measure))
        then = None if at is None else min(drawn, key=lambda one: one[1][at - 1])[0]
        yield BreakEven(
            measure=measure,
            print=print_.recipe.name,
            copies=at,
            print_value=value_of(print_, measure),
            cast_value=value_of(now, measure),
            cast=now.recipe.name,
            cast_from=None if then is None else then.name,
        )


def value_of(one: Route, measure: Measure) -> float:
    """What of that measure the copies asked for take: money, minutes of hands, or days."""
    values = {
        Measure.MONEY: one.outcome.money,
        Measure.HANDS: one.outcome.hands_min,
        Measure.DAYS: one.outcome.days,
    }
    return values[measure]


def _never_later(castings: Sequence[Recipe]) -> list[Recipe]:
    """The castings without those that another as fine beats in every piece of work: these are sooner at no number."""
    rows: dict[tuple[int, int, int, bool], list[tuple[Recipe, FloatArray]]] = {}
    for one in castings:
        values = _labour_min(one)
        key = (one.moulds, one.life_shots or 0, len(values), shown_mm(one) > 0.0)
        same = rows.setdefault(key, [])
        if any(np.all(other <= values) for _, other in same):
            continue
        same[:] = [(kept, other) for kept, other in same if not np.all(values <= other)]
        same.append((one, values))
    return [one for same in rows.values() for one, _ in same]


def _labour_min(recipe: Recipe) -> FloatArray:
    """Every minute of its work in its order, and the steps that show, as one row."""
    works = (*recipe.once, *recipe.each_mould, *recipe.each_go, *recipe.now_and_then, *recipe.each_good)
    minutes = [(one.hands_min, one.wait_min, one.hands_each_min, one.wait_each_min, -one.again_each) for one in works]
    return np.array([shown_mm(recipe), *(value for row in minutes for value in row)])


def curve_in(measure: Measure, recipe: Recipe, rates: Rates, presence: Presence) -> list[float]:
    """What 1, 2, … copies take of that measure, to 1,000 or in days to 200."""
    if measure is Measure.MONEY:
        return money_curve(recipe, COUNTS, rates)
    if measure is Measure.DAYS:
        return days_curve(recipe, COUNTS[:MOST_BY_DAYS], presence)
    return hands_curve(recipe, COUNTS)


def side_by_side(recipes: Sequence[Recipe], copies: int, *, presence: Presence, rates: Rates) -> tuple[Route, ...]:
    """Every recipe for so many copies, the cheapest first, and what it would need to be the cheapest."""
    routes = [Route(recipe=one, outcome=outcome(one, copies, presence=presence, rates=rates)) for one in recipes]
    routes.sort(key=lambda one: (one.outcome.money, one.outcome.days, one.recipe.name))
    values = np.array([measures(one) for one in routes])
    return tuple(
        Route(
            recipe=one.recipe,
            outcome=one.outcome,
            undominated=not is_beaten(values[n], values),
            would_win="" if n == 0 else _would_win(one, routes[0]),
        )
        for n, one in enumerate(routes)
    )


def _would_win(loser: Route, winner: Route) -> str:
    """What of its money would have to fall, and by how much, for the route to cost what the cheapest does."""
    gap = loser.outcome.money - winner.outcome.money
    costs = sorted(loser.outcome.costs, key=lambda one: -one.money)
    if gap <= 0.0 or not costs:
        return "costs the same as the cheapest"
    for one in costs:
        if one.money > gap:
            return f"{one.what} at {1.0 - gap / one.money:.0%} of its price would make it as cheap as the cheapest"
    return f"{gap:.2f} dearer than the cheapest: no one price makes up for it"


def _key(preference: Preference, one: Route) -> tuple[float, ...]:
    """What the preference wants little of."""
    keys = {
        Preference.CHEAPEST: (one.outcome.money,),
        Preference.SOONEST: (one.outcome.days,),
        Preference.FINISH: (one.recipe.fit_miss_mm, shown_mm(one.recipe), one.recipe.seam_mm),
        Preference.HANDS: (one.outcome.hands_min,),
    }
    return keys[preference]


def picked(routes: Sequence[Route], preference: Preference) -> Pick | None:
    """The route that the preference chooses; money, then days decide between equals. None where there is none."""
    if not routes:
        return None
    order = sorted(
        routes, key=lambda one: (_key(preference, one), one.outcome.money, one.outcome.days, one.recipe.name)
    )
    best = order[0]
    other = next((one for one in order[1:] if one.recipe.way is not best.recipe.way), None)
    return Pick(preference=preference, route=best.recipe.name, why=_why(preference, best, other))


def _why(preference: Preference, best: Route, other: Route | None) -> str:
    against = "" if other is None else f"; {other.recipe.name}: {_said(preference, other)}"
    copies = "one copy" if best.outcome.copies == 1 else f"{best.outcome.copies} copies"
    return f"{preference.value} for {copies}: {best.recipe.name}, {_said(preference, best)}{against}."


def _said(preference: Preference, one: Route) -> str:
    """What the preference looks at, in words."""
    if preference is Preference.CHEAPEST:
        return f"{one.outcome.money:.2f} in your currency"
    if preference is Preference.SOONEST:
        return f"{one.outcome.days:.1f} days"
    if preference is Preference.HANDS:
        return f"{one.outcome.hands_min / 60.0:.1f} h of hands"
    return one.recipe.finish
