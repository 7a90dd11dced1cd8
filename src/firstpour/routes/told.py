"""Routes in words: a short name for each, which ones one decides between, and where one overtakes another."""

from firstpour.routes.compare import MOST_COPIES, BreakEven, Measure, Route
from firstpour.routes.recipe import Way
from firstpour.routes.routes import PartRoutes

LESS = {
    Measure.MONEY: "costs less",
    Measure.HANDS: "takes less hands",
    Measure.DAYS: "is done sooner",
}


def telling_routes(part: PartRoutes) -> tuple[Route, ...]:
    """The routes one decides between, in their order.

    Every print, the plan's own, what each preference picks, and of the castings the cheapest of each kind of mould
    and the soonest.
    """
    names = {pick.route for pick in part.picks}
    castings = [one for one in part.routes if one.recipe.way is Way.CAST]
    kinds: set[str | None] = set()
    for one in castings:
        if one.recipe.kind not in kinds:
            kinds.add(one.recipe.kind)
            names.add(one.recipe.name)
    if castings:
        names.add(min(castings, key=lambda one: (one.outcome.days, one.outcome.money)).recipe.name)
    return tuple(
        one for one in part.routes if one.recipe.way is Way.PRINTED or one.recipe.planned or one.recipe.name in names
    )


def short_name(one: Route) -> str:
    """The way in a few words; materials stand elsewhere."""
    recipe = one.recipe
    if recipe.way is Way.PRINTED:
        return f"print, {recipe.material}{', sanded' if recipe.flaw_mm == 0.0 else ''}"
    moulds = "1 mould" if one.outcome.moulds == 1 else f"{one.outcome.moulds} moulds"
    return f"cast, {recipe.kind}, {moulds}"


def break_even_words(part: PartRoutes) -> tuple[str, ...]:
    """For each print that casting overtakes, from which number of copies on; one line for those it never does."""
    short = {one.recipe.name: short_name(one) for one in part.routes}
    by_print: dict[str, list[BreakEven]] = {}
    for one in part.breaks:
        by_print.setdefault(one.print, []).append(one)
    lines, never = [], []
    for name, found in by_print.items():
        told = [_overtakes(one.measure, one.copies) for one in found if one.copies is not None]
        if told:
            lines.append(f"casting {' and '.join(told)} than “{short[name]}”")
        else:
            never.append(f"“{short[name]}”")
    if never:
        lines.append(
            f"up to {MOST_COPIES} copies no casting as fine costs less, works less or is done sooner than "
            f"{', '.join(never)}"
        )
    return tuple(lines)


def _overtakes(measure: Measure, copies: int) -> str:
    return f"{LESS[measure]} from {copies} {'copy' if copies == 1 else 'copies'} on"
