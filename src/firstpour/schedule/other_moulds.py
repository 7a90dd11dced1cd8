"""Moulds made otherwise: another one, one with another number of cavities, trays in place of a bedding."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from firstpour.cavities.table import CavityRow
from firstpour.materials.feel import wanted_hardness
from firstpour.parting.values import MouldKind
from firstpour.plan.route_basis import asked_of
from firstpour.plan.values import PartPlan
from firstpour.routes.cast import cast_routes
from firstpour.routes.fixed import Fixed, fixing
from firstpour.routes.money import Rates
from firstpour.routes.outcome import outcome
from firstpour.routes.recipe import Recipe
from firstpour.routes.work import Presence
from firstpour.schedule.alternative import Alternative
from firstpour.schedule.ordering import Asked, network_of
from firstpour.schedule.other_materials import price_of_mixes
from firstpour.schedule.round_tasks import POT
from firstpour.schedule.ways import Cavities, Ways, worn_out
from firstpour.sheets.words import listed


def another_mould(asked: Asked, one: PartPlan) -> Alternative:
    name = one.request.name
    more = replace(asked.ways[name], moulds=asked.ways[name].moulds + 1, ready=())
    silicone = None if one.choice is None else one.choice.silicone
    money = None
    if silicone is not None and asked.workshop is not None:
        whole = price_of_mixes(silicone.mixes, asked.workshop)
        money = None if whole is None else whole / max(1, one.request.moulds)
    return Alternative(name=f"another mould of {name}", ways={**asked.ways, name: more}, money=money)


def other_cavities(asked: Asked, one: PartPlan) -> list[Alternative]:
    """The part's mould with every other number of cavities that its table has."""
    made = next((row for row in one.cavities if row.made), None)
    if made is None:
        return []
    return [_with_cavities(asked, one, made, row) for row in one.cavities if not row.made]


def _with_cavities(asked: Asked, one: PartPlan, made: CavityRow, row: CavityRow) -> Alternative:
    """Prints and silicone grow as the table says; a larger silicone is reckoned in as many mixes more."""
    name = one.request.name
    cavities = Cavities(
        count=row.cavities,
        print_ratio=row.print_min / made.print_min if made.print_min > 0.0 else 1.0,
        silicone_ratio=row.silicone_ml / made.silicone_ml,
        in_one_mix=bool(row.in_one_mix),
    )
    moulds = max(one.request.moulds, worn_out(one, row.cavities))
    way = replace(asked.ways[name], moulds=moulds, cavities=cavities, ready=())
    kind = "one cavity" if row.cavities == 1 else f"{row.cavities} cavities"
    words = f"{kind} in the mould of {name} instead of {made.cavities}"
    money = _more_money(asked, one, made, row, moulds)
    return Alternative(name=words, ways={**asked.ways, name: way}, money=money, kind=f"cavities of {name}")


def _more_money(asked: Asked, one: PartPlan, made: CavityRow, row: CavityRow, moulds: int) -> float | None:
    """Silicone for the larger or smaller mould, and what the castings waste more or less."""
    choice, workshop = one.choice, asked.workshop
    if workshop is None or choice is None or choice.silicone is None or choice.casting is None:
        return None
    silicone = price_of_mixes(choice.silicone.mixes, workshop)
    casting = price_of_mixes(choice.casting.mixes, workshop)
    if silicone is None or casting is None or made.waste_g is None or row.waste_g is None:
        return None
    mixed_g = sum(one_mix.mix.total_g for one_mix in choice.casting.mixes)
    each = silicone / max(1, one.request.moulds)
    before = asked.ways[one.request.name].moulds * each
    return (
        moulds * each * row.silicone_ml / made.silicone_ml - before + casting / mixed_g * (row.waste_g - made.waste_g)
    )


def trays(asked: Asked) -> Alternative | None:
    """Both halves poured in one go in place of one after the other."""
    names = [one.request.name for one in asked.plan.parts if one.mould.kind is MouldKind.BEDDING]
    if not names:
        return None
    ways = {
        name: replace(way, halves_at_once=True, ready=()) if name in names else way
        for name, way in asked.ways.items()
    }
    more = [_money_of_trays(asked, one) for one in asked.plan.parts if one.request.name in names]
    money = None if None in more else sum(one for one in more if one is not None)
    return Alternative(name=f"trays instead of a bedding for {listed(names)}", ways=ways, money=money)


def _money_of_trays(asked: Asked, one: PartPlan) -> float | None:
    """What the part costs more by the route in trays of the same materials, as the routes reckon it; no hours."""
    if asked.workshop is None:
        return None
    job = asked.plan.job
    free = replace(one, request=replace(one.request, kind=None))
    found = asked_of(free, job, begins=asked.start.date())
    recipes = cast_routes(
        found.moulds, wanted_hardness(found.need.hardness), asked.workshop, planned=found.planned
    ).recipes
    own = next((recipe for recipe in recipes if recipe.planned), None)
    if own is None:
        return None
    in_trays = next(
        (each for each in recipes if each.kind == MouldKind.TRAYS and _but_kind(each) == _but_kind(own)), None
    )
    if in_trays is None:
        return None
    presence = Presence.of(job.equipment.hours, begins=asked.start.date())
    now, then = (outcome(each, one.request.copies, presence=presence, rates=Rates()) for each in (own, in_trays))
    return None if now.unpriced != then.unpriced else then.money - now.money


def _but_kind(one: Recipe) -> Fixed:
    """What fixes a route, its kind of mould aside."""
    return replace(fixing(one), kind=None)


def shared_pot(asked: Asked) -> Alternative | None:
    """Several things in the pressure pot at once, where it is used at all."""
    network = network_of(asked.plan, asked.ways, asked.calendar)
    if not any(hold.machine == POT for hold in network.holds):
        return None
    ways = _with(asked.ways, lambda way: replace(way, pot=False))
    return Alternative(name="several things in the pressure pot at once", ways=ways, money=0.0)


def _with(ways: Mapping[str, Ways], change: Callable[[Ways], Ways]) -> dict[str, Ways]:
    return {name: replace(change(way), ready=()) for name, way in ways.items()}
