"""Routes in words: a short name for each, which ones one decides between, and where one overtakes another."""

from firstpour.choosing.counts import rounds_words
from firstpour.routes.compare import MOST_BY_DAYS, MOST_COPIES, BreakEven, Measure, Route
from firstpour.routes.printed import PRINTED_IN
from firstpour.routes.recipe import Way, goes_of
from firstpour.routes.refused import Refused, nearest_of
from firstpour.routes.routes import PartRoutes
from firstpour.units import count_words
from firstpour.workshop.hours import HOUR_MIN


def telling_routes(part: PartRoutes) -> tuple[Route, ...]:
    """The routes one decides between, in their order: those of the shortlist."""
    names = {one.route for one in part.shortlist.kept}
    return tuple(one for one in part.routes if one.recipe.name in names)


def short_name(one: Route, *, with_materials: bool = False) -> str:
    """The way in a few words; the materials of a casting stand elsewhere, if they are not asked for."""
    recipe = one.recipe
    if recipe.way is Way.PRINTED:
        return f"print, {recipe.material}{', sanded' if recipe.sanded else ''}"
    moulds = count_words(one.outcome.moulds, "mould", "moulds")
    cavities = "" if recipe.a_mould == 1 else f" of {recipe.a_mould} cavities"
    quick = recipe.accelerator_ratio or recipe.silicone_accelerator_ratio
    made_of = f", {recipe.material} in {recipe.silicone}" if with_materials else ""
    return f"cast, {recipe.kind}, {moulds}{cavities}{', accelerated' if quick else ''}{made_of}"


def rounds_told(one: Route) -> str:
    """Shots in rounds, or prints on plates, in words."""
    what, printed = one.outcome, one.recipe.way is Way.PRINTED
    tries = count_words(what.tries, *(("print", "prints") if printed else ("shot", "shots")))
    goes = count_words(what.goes, *(("plate", "plates") if printed else ("round", "rounds")))
    words = "" if printed else rounds_words(goes_of(one.recipe, what.tries))
    return f"{tries} {'on' if printed else 'in'} {goes}{f' ({words})' if words else ''}"


def break_even_words(part: PartRoutes) -> tuple[str, ...]:
    """For each print in money, hands and days: who is ahead for the copies asked for, and where that changes.

    Only castings as fine as the print count, whichever takes least; prints that none is as fine as are left out.
    """
    short = {one.recipe.name: short_name(one) for one in part.routes}
    by_print: dict[str, list[BreakEven]] = {}
    for one in part.breaks:
        by_print.setdefault(one.print, []).append(one)
    copies = "one copy" if part.copies == 1 else f"{part.copies} copies"
    return tuple(
        f"“{short[name]}” against casting, {copies}: {'; '.join(_against(one) for one in found)}"
        for name, found in by_print.items()
    )


def _against(one: BreakEven) -> str:
    """What the print takes, what casting does, and from when on casting takes less."""
    measure, (own, cast) = one.measure, _values(one)
    head = f"{measure.value} {own} against {cast}"
    if one.copies is None and one.cast_value < one.print_value:
        return f"{head}, casting is ahead here, though not at every larger number"
    if one.copies is None:
        most = MOST_BY_DAYS if measure is Measure.DAYS else MOST_COPIES
        return f"{head}, printing stays ahead to {most} copies"
    first = "the first copy" if one.copies == 1 else f"{one.copies} copies"
    return f"{head}, casting is ahead from {first} on"


def _values(one: BreakEven) -> tuple[str, str]:
    values = (one.print_value, one.cast_value)
    if one.measure is Measure.MONEY:
        return f"{values[0]:.2f}", f"{values[1]:.2f}"
    if one.measure is Measure.HANDS:
        return f"{values[0] / HOUR_MIN:.1f} h", f"{values[1] / HOUR_MIN:.1f} h"
    return f"{values[0]:.1f}", f"{values[1]:.1f}"


def not_printed(part: PartRoutes) -> Refused | None:
    """Where nothing prints the copies: the material of the shelf that comes nearest, and by how much it misses."""
    if any(one.recipe.way is Way.PRINTED for one in part.routes):
        return None
    nearest = nearest_of(one for one in part.refused if one.name.startswith(PRINTED_IN))
    if nearest is None:
        return None
    what = nearest.name.removeprefix(PRINTED_IN)
    reason = f"The shelf prints in nothing that does; nearest is {what}: {nearest.reason}"
    return Refused(name="print directly", reason=reason, remedy=nearest.remedy, by_points=nearest.by_points)


def lead_words(part: PartRoutes) -> tuple[str, ...]:
    """For each measure which of the routes shown takes least, from how many copies on."""
    short = {one.recipe.name: short_name(one, with_materials=True) for one in telling_routes(part)}
    lines = []
    for measure in Measure:
        own = [one for one in part.leads if one.measure is measure]
        if own:
            row = [f"from {count_words(one.copies, 'copy', 'copies')} on “{short[one.route]}”" for one in own[1:]]
            lines.append(f"least {measure.value}: {', '.join([f'“{short[own[0].route]}”', *row])}")
    return tuple(lines)
