"""The route that a part takes: what its maker fixed, else what the job prefers."""

from dataclasses import dataclass

from firstpour.job.job import Making, Preference
from firstpour.routes.compare import Route, picked
from firstpour.routes.recipe import Way
from firstpour.routes.refused import Refused, nearest_of
from firstpour.routes.routes import PartRoutes
from firstpour.routes.told import break_even_words, telling_routes

WAYS = {Making.PRINT: Way.PRINTED, Making.CAST: Way.CAST}


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The route taken, by which preference, and why, in a sentence. `making`: what the maker fixed of it.

    `among`: the routes between which one decides, the taken one with them; `break_evens`: where one overtakes
    another.
    """

    route: Route
    preference: Preference
    making: Making | None
    why: str
    among: tuple[Route, ...]
    break_evens: tuple[str, ...]


def taken(
    part: PartRoutes,
    *,
    making: Making | None,
    prefer: Preference | None,
    print_in: str | None = None,
    settled: bool = False,
) -> Taken | Refused:
    """The route by the preference, or by the money where none is stated, of those that the maker allows.

    `settled`: the maker fixed mould and materials, so that only the casting that was planned is one, moulds included.
    """
    preference = prefer or Preference.CHEAPEST
    allowed = tuple(
        one
        for one in part.routes
        if (making is None or one.recipe.way is WAYS[making])
        and (print_in is None or one.recipe.material_id == print_in)
        and (not settled or one.recipe.planned)
    )
    pick = picked(allowed, preference)
    route = None if pick is None else part.named(pick.route)
    if pick is None or route is None:
        return _nothing_left(part, making)
    why = pick.why if making is None else f"the job asks for it: {making.value}; of these {pick.why}"
    guess = " Its mould was not worked out when it was picked." if route.recipe.estimated else ""
    telling = telling_routes(part)
    return Taken(
        route=route,
        preference=preference,
        making=making,
        why=f"{why}{guess}",
        among=tuple(one for one in part.routes if one in telling or one is route),
        break_evens=break_even_words(part),
    )


def _nothing_left(part: PartRoutes, making: Making | None) -> Refused:
    """No route may be taken: the nearest of those refused says why."""
    words = "" if making is None else f"{WAYS[making].value} in "
    against = [one for one in part.refused if one.name.startswith(words)] or list(part.refused)
    nearest = nearest_of(against)
    name = "no route" if making is None else f"“{making.value}”"
    if nearest is None:
        return Refused(name=name, reason="no material of the shelf will do", remedy="ask for another hardness")
    return Refused(
        name=name,
        reason=f"nearest is {nearest.name}: {nearest.reason}",
        remedy=nearest.remedy or "leave the route open, or ask for another hardness",
        by_points=nearest.by_points,
    )
