"""Every way to make one part's copies, side by side: candidates, what was refused, comparison and pick."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from firstpour.choosing.need import PartNeed
from firstpour.job.job import Job, Preference
from firstpour.materials.feel import Hardness, wanted_hardness
from firstpour.routes.cast import Planned, cast_routes
from firstpour.routes.cast_recipe import MouldWay
from firstpour.routes.compare import BreakEven, Pick, Route, break_evens, picked, side_by_side
from firstpour.routes.curves import days_curve, money_curve
from firstpour.routes.leads import Lead, leads
from firstpour.routes.money import Rates
from firstpour.routes.printed import PrintWay, print_routes
from firstpour.routes.recipe import Way
from firstpour.routes.refused import Refused
from firstpour.routes.shortlist import Shortlist, shortlist
from firstpour.routes.work import Presence
from firstpour.workshop.workshop import Workshop


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRoutes:
    """The routes of one part, the cheapest first. `picks`: what each preference chooses; `pick`: the stated one's.

    `notes` say what the figures leave out.
    """

    name: str
    copies: int
    begins: date
    wanted: Hardness
    routes: tuple[Route, ...]
    refused: tuple[Refused, ...]
    breaks: tuple[BreakEven, ...]
    picks: tuple[Pick, ...]
    pick: Pick | None
    notes: tuple[str, ...]
    shortlist: Shortlist
    """The few that one decides between, and what was left out."""
    leads: tuple[Lead, ...]
    """Which of these takes least at each number of copies."""

    def named(self, name: str) -> Route | None:
        """The route of that name."""
        return next((one for one in self.routes if one.recipe.name == name), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is known of a part before its routes: its need, the ways to print it and the moulds it allows."""

    need: PartNeed
    prints: tuple[PrintWay, ...]
    moulds: tuple[MouldWay, ...]
    refused: tuple[Refused, ...]
    """Kinds of mould that the part does not allow."""
    begins: date
    """The day on which the work begins."""
    planned: Planned | None = None
    """What the plan follows."""


def rates_of(job: Job) -> Rates:
    """What an hour costs in that job."""
    return Rates(hands_per_h=job.hands_per_h, printer_per_h=job.printer_per_h)


def part_routes(asked: Asked, workshop: Workshop, *, rates: Rates, prefer: Preference | None = None) -> PartRoutes:
    """All routes of a part.

    Raises
    ------
    BadRequest
        If its hardness cannot be read.
    """
    need = asked.need
    wanted = wanted_hardness(need.hardness)
    printed, not_printed = print_routes(need, wanted, asked.prints, workshop)
    cast = cast_routes(asked.moulds, wanted, workshop, planned=asked.planned)
    recipes = (*printed, *cast.recipes)
    presence = Presence.of(workshop.equipment.hours, begins=asked.begins)
    routes = side_by_side(recipes, need.copies, presence=presence, rates=rates)
    picks = tuple(pick for one in Preference if (pick := picked(routes, one)) is not None)
    few = shortlist(routes, picks, cast.lesser)
    shown_names = {one.route for one in few.kept}
    shown = [one.recipe for one in routes if one.recipe.name in shown_names]
    return PartRoutes(
        name=need.name,
        copies=need.copies,
        begins=asked.begins,
        wanted=wanted,
        routes=routes,
        refused=(*asked.refused, *not_printed, *cast.refused),
        breaks=break_evens(routes, rates, presence),
        picks=picks,
        pick=next((one for one in picks if one.preference is prefer), None),
        notes=_notes(routes, rates),
        shortlist=few,
        leads=leads(shown, rates, presence),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Money and days of one route against the number of copies."""

    name: str
    way: Way
    copies: tuple[int, ...]
    money: tuple[float, ...]
    days: tuple[float, ...]


def curves_of(part: PartRoutes, workshop: Workshop, *, rates: Rates, counts: Sequence[int]) -> tuple[Curve, ...]:
    """The routes worth drawing: the prints, the plan's own, the casting that is cheapest now, and the soonest."""
    presence = Presence.of(workshop.equipment.hours, begins=part.begins)
    return tuple(
        Curve(
            name=one.recipe.name,
            way=one.recipe.way,
            copies=tuple(counts),
            money=tuple(money_curve(one.recipe, counts, rates)),
            days=tuple(days_curve(one.recipe, counts, presence)),
        )
        for one in drawn_routes(part)
    )


def drawn_routes(part: PartRoutes, *, prints: int = 4) -> tuple[Route, ...]:
    """The cheapest prints, the plan's own route, the casting that is cheapest and the one that is soonest."""
    castings = [one for one in part.routes if one.recipe.way is Way.CAST]
    chosen = [one for one in part.routes if one.recipe.way is Way.PRINTED][:prints]
    chosen += [one for one in castings if one.recipe.planned]
    if castings:
        chosen += [castings[0], min(castings, key=lambda one: (one.outcome.days, one.outcome.money))]
    return tuple({one.recipe.name: one for one in chosen}.values())


def _notes(routes: Sequence[Route], rates: Rates) -> tuple[str, ...]:
    notes = []
    if rates.hands_per_h is None:
        notes.append("Your own hours are not in the money: no rate is given.")
    if rates.printer_per_h is None:
        notes.append("Printer hours are not in the money: no rate is given.")
    if any(cost.typical for one in routes for cost in one.outcome.costs):
        notes.append("Prices are typical of their class: enter what you pay for your own packs.")
    unpriced = sorted({what for one in routes for what in one.outcome.unpriced})
    if unpriced:
        notes.append(f"No price is known of {', '.join(unpriced)}: not in the money.")
    notes.append("Cups, gloves, sticks and power are not in the money.")
    notes.append(
        "Days are a quick estimate by the hours of your week, each part by itself; yields, 0.95 of prints and the "
        "yield of pours, are estimates too."
    )
    return tuple(notes)
