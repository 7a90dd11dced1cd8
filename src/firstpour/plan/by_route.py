"""The plan by the route that each part takes: the job's preference, or what its maker fixed, followed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from firstpour.errors import WorkshopError
from firstpour.job.job import Job, Making, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.plan.by_date import plan_by_date
from firstpour.plan.crew import Crew
from firstpour.plan.route_basis import route_taken
from firstpour.plan.values import FailedPart, PartPlan, Plan, PrintedPart, Progress
from firstpour.routes.recipe import Way
from firstpour.routes.refused import Refused
from firstpour.routes.taken import Taken
from firstpour.stock.stock import Amount, StockLine, stock_lines
from firstpour.workshop.workshop import Workshop


def plan_by_route(
    job: Job,
    *,
    progress: Progress,
    workshop: Workshop | None = None,
    crew: Crew | None = None,
    kept: Path | None = None,
) -> Plan:
    """The plan of the job; where it prefers something, or fixes a route, by the routes that it takes.

    The moulds are planned first as they would be without: routes are reckoned from them. A part whose route has
    another mould or other materials is planned again, one that is printed directly leaves the moulds.

    Raises
    ------
    WorkshopError
        As `plan_by_date`.
    """
    plan = plan_by_date(job, progress=progress, workshop=workshop, crew=crew, kept=kept)
    asking = [one for one in plan.parts if _asks(one.request, job)]
    if workshop is None or not asking:
        return plan
    here = replace(workshop, equipment=job.equipment)
    routes: dict[str, Taken] = {}
    failed = list(plan.failed)
    for one in asking:
        found = route_taken(one, job, here, kept=kept)
        if isinstance(found, Taken):
            routes[one.request.name] = found
        elif one.request.route is Making.PRINT:
            failed.append(_not_taken(one, found))
    lost = {one.name for one in failed}
    cast = [one.request for one in plan.parts if one.request.name not in lost and not _is_print(one, routes)]
    prints = [one for one in plan.parts if one.request.name not in lost and _is_print(one, routes)]
    if not cast and not prints:
        raise _none_left(failed)
    made = _cast_again(job, plan, cast, routes, progress=progress, workshop=workshop, crew=crew, kept=kept)
    order = [one.name for one in job.parts]
    printed = tuple(_printed(one, routes[one.request.name]) for one in prints)
    return replace(
        made,
        job=job,
        failed=tuple(sorted((*failed, *made.failed), key=lambda one: order.index(one.name))),
        printed=printed,
        prints_stock=_prints_stock(printed, here),
    )


def _asks(request: PartRequest, job: Job) -> bool:
    """Whether the part leaves its route to the routes."""
    return request.hardness is not None and (job.prefer is not None or request.route is Making.PRINT)


def _is_print(one: PartPlan, routes: Mapping[str, Taken]) -> bool:
    found = routes.get(one.request.name)
    return found is not None and found.route.recipe.way is Way.PRINTED


def _cast_again(
    job: Job,
    plan: Plan,
    cast: list[PartRequest],
    routes: Mapping[str, Taken],
    *,
    progress: Progress,
    workshop: Workshop,
    crew: Crew | None,
    kept: Path | None,
) -> Plan:
    """The parts that are cast, by their routes; one whose mould does not come out that way stays as it was."""
    if not cast:
        return replace(plan, parts=(), failed=(), shelf=None)

    def planned(requests: list[PartRequest]) -> Plan:
        if tuple(requests) == plan.job.parts:
            return replace(plan, failed=())
        return plan_by_date(
            replace(job, parts=tuple(requests)), progress=progress, workshop=workshop, crew=crew, kept=kept
        )

    wished = [_by_route(one, routes.get(one.name)) for one in cast]
    made = planned(wished)
    kept_back = {one.name for one in made.failed}
    if kept_back:
        made = planned([old if old.name in kept_back else new for old, new in zip(cast, wished, strict=True)])
    return replace(
        made,
        parts=tuple(
            replace(one, taken=None if one.request.name in kept_back else routes.get(one.request.name))
            for one in made.parts
        ),
    )


def _by_route(request: PartRequest, found: Taken | None) -> PartRequest:
    """The part with mould, materials, cavities and number of moulds of its route."""
    if found is None or found.route.recipe.planned:
        return request
    recipe = found.route.recipe
    return replace(
        request,
        kind=None if recipe.kind is None else MouldKind(recipe.kind),
        silicone=recipe.silicone_id,
        casting=recipe.material_id,
        moulds=recipe.moulds,
        cavities=recipe.a_mould if request.cavities == 1 else request.cavities,
        accelerator_ratio=recipe.accelerator_ratio or request.accelerator_ratio,
        silicone_accelerator_ratio=recipe.silicone_accelerator_ratio or request.silicone_accelerator_ratio,
    )


def _printed(one: PartPlan, found: Taken) -> PrintedPart:
    return PrintedPart(request=one.request, part=one.part, measures=one.measures, taken=found)


def _prints_stock(printed: Sequence[PrintedPart], workshop: Workshop) -> tuple[StockLine, ...]:
    """What all copies that are printed directly need, spoiled ones too, a line for each material."""
    needed: dict[str, Amount] = {}
    for one in printed:
        route = one.taken.route
        assert route.recipe.stands is not None
        used = Amount(a_g=route.recipe.stands.grams * route.outcome.tries)
        needed[route.recipe.material_id] = needed.get(route.recipe.material_id, Amount()) + used
    return stock_lines(workshop.stock, needed, catalogue=workshop.catalogue, today=workshop.today)


def _not_taken(one: PartPlan, why: Refused) -> FailedPart:
    """A part that cannot be made as its maker fixed it."""
    return FailedPart(
        name=one.request.name,
        problem=f"{why.name} is not possible: {why.reason}",
        remedy=why.remedy,
        code=WorkshopError.code,
    )


def _none_left(failed: list[FailedPart]) -> WorkshopError:
    first = failed[0]
    return WorkshopError(f"{first.name}: {first.problem}", remedy=first.remedy)
