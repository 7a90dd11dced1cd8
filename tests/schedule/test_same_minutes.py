"""Plan, routes and schedule tell the same minutes of the same work, each in its own way."""

from dataclasses import replace

import pytest

from demo_plan import TODAY
from firstpour.choosing.counts import rounds_of
from firstpour.choosing.filling import filling_min, work_min
from firstpour.materials.feel import wanted_hardness
from firstpour.materials.steps import step
from firstpour.parting.values import MouldKind
from firstpour.plan.elapsed import elapsed_of, recipe_of
from firstpour.plan.route_basis import asked_of
from firstpour.plan.values import PartPlan
from firstpour.results import SavedPlan
from firstpour.routes.cast import cast_routes
from firstpour.routes.course import works_for
from firstpour.routes.labour import readies
from firstpour.routes.money import Rates
from firstpour.routes.outcome import outcome
from firstpour.routes.recipe import Recipe, goes_of, repeats_of
from firstpour.routes.work import Presence, minutes_of
from firstpour.schedule.part_tasks import part_tasks
from firstpour.schedule.round_tasks import rounds_in
from firstpour.schedule.values import Doing, Network
from firstpour.schedule.ways import Ways
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop
from shelf_samples import shipped

PARTS = ("sea star", "limpet", "porthole ring", "bollard")


def part_of(demo: SavedPlan, name: str) -> PartPlan:
    return next(one for one in demo.plan.parts if one.request.name == name)


def planned_route(one: PartPlan, demo: SavedPlan) -> Recipe:
    """The route that the plan follows, from the same shelf."""
    shelf = Workshop(
        catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY, equipment=demo.plan.job.equipment
    )
    asked = asked_of(one, demo.plan.job, begins=TODAY)
    found = cast_routes(asked.moulds, wanted_hardness(asked.need.hardness), shelf, planned=asked.planned)
    return next(recipe for recipe in found.recipes if recipe.planned)


def hands_min(network: Network) -> float:
    return sum(task.minutes for task in network.tasks if task.attended)


def in_a_row_min(network: Network, one: PartPlan) -> float:
    """Every task one after the other; halves that cure at once count once."""
    total = sum(task.minutes for task in network.tasks)
    if one.mould.kind is MouldKind.BEDDING or one.choice is None or one.choice.silicone is None:
        return total
    cures = [task.minutes for task in network.tasks if task.doing is Doing.WAIT and task.alike == "silicone"]
    return total - sum(cures) + max(cures)


@pytest.mark.parametrize("name", PARTS)
def test_plan_route_and_schedule_tell_the_same_minutes(demo: SavedPlan, name: str) -> None:
    one = part_of(demo, name)
    recipe, route = recipe_of(one), planned_route(one, demo)
    network = part_tasks(one, Ways(moulds=1))
    assert recipe is not None
    plan, of_route = (minutes_of(works_for(each, one.request.copies)) for each in (recipe, route))
    assert plan.hands_min == pytest.approx(of_route.hands_min)
    assert plan.elapsed_min == pytest.approx(of_route.elapsed_min)
    assert hands_min(network) == pytest.approx(plan.hands_min)
    assert in_a_row_min(network, one) == pytest.approx(plan.elapsed_min)
    told = elapsed_of(one)
    assert told.all_copies_min == pytest.approx(plan.elapsed_min)
    week = Presence(days=7, day_min=1440.0)
    assert told.first_copy_min == pytest.approx(
        outcome(route, one.request.copies, presence=week, rates=Rates()).first_proof_min
    )


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize("moulds", [1, 2, 3])
def test_plan_route_and_schedule_tell_the_same_rounds(demo: SavedPlan, name: str, moulds: int) -> None:
    """The order of work may find its moulds ready sooner: then the plan tells its rounds, see below."""
    one = part_of(demo, name)
    assert one.choice is not None
    asked = asked_of(one, demo.plan.job, begins=TODAY)
    need = replace(asked.need, moulds=moulds)
    route = replace(planned_route(one, demo), moulds=moulds, a_go=moulds)
    assert rounds_of(need) == goes_of(route, one.choice.pours)
    assert rounds_of(need) == rounds_in(part_tasks(one, Ways(moulds=moulds)))[name]
    told = outcome(route, one.request.copies, presence=Presence(days=7, day_min=1440.0), rates=Rates())
    assert (told.tries, told.goes) == (one.choice.pours, len(rounds_of(need)))


def test_the_plan_tells_the_rounds_of_its_order_of_work(demo: SavedPlan) -> None:
    order = demo.order.made
    assert order is not None
    in_order = rounds_in(order.network)
    for one, entry in zip(demo.plan.parts, demo.entry.parts, strict=True):
        assert one.choice is not None
        assert entry.materials is not None
        assert one.choice.round_copies == in_order[one.request.name]
        assert tuple(entry.materials.round_copies) == in_order[one.request.name]
        assert entry.materials.rounds == len(in_order[one.request.name])


def test_every_shot_is_closed_opened_and_trimmed_by_the_table(demo: SavedPlan) -> None:
    """Own arithmetic: the hands of 12 more copies are those of 12 copies' shots, fillings and the release between."""
    one = part_of(demo, "sea star")
    assert one.choice is not None
    casting, recipe = one.choice.casting, recipe_of(one)
    assert casting is not None
    assert recipe is not None
    shots = one.choice.pours
    works = works_for(recipe, one.request.copies)
    by_name = {what: sum(work.hands_min for work in works if work.what == what) for what in {w.what for w in works}}
    ready = step(readies(open_face=one.mould.kind is MouldKind.OPEN_FACE))
    assert by_name[ready.name] == pytest.approx(2.0 * shots)
    assert by_name[step("demould-copy").name] == pytest.approx(8.0 * shots)
    assert by_name["cast"] == pytest.approx(work_min(casting.fit) * shots)
    assert by_name[step("set-up-pour").name] == 10.0
    assert by_name[step("open-mould").name] == 10.0
    assert repeats_of(shots) == (shots - 1) // 5


def test_a_filling_of_more_moulds_than_a_mix_takes_is_mixed_again(demo: SavedPlan) -> None:
    """Route and schedule: weighing and mixing twice, pouring for each mould."""
    one = part_of(demo, "limpet")
    assert one.choice is not None
    assert one.choice.casting is not None
    small = replace(one.choice.casting, at_once=1)
    fit, alone = small.fit, filling_min(small.fit, openings=1, cavities=1, at_once=1)
    assert alone == pytest.approx(work_min(fit))
    assert filling_min(fit, openings=1, cavities=2, at_once=1) == pytest.approx(2.0 * work_min(fit))
    assert filling_min(fit, openings=1, cavities=2, at_once=2) < 2.0 * work_min(fit)
    two = replace(one, choice=replace(one.choice, casting=small), request=replace(one.request, moulds=2))
    recipe = recipe_of(two)
    assert recipe is not None
    go = next(work.of(2) for work in recipe.each_go if work.what == "cast")
    poured = [
        task for task in part_tasks(two, Ways(moulds=2)).tasks if task.good_copies == 0 and "2 moulds" in task.name
    ]
    cast = next(task for task in poured if task.doing is Doing.POUR)
    assert go.hands_min + 2 * 2.0 == pytest.approx(cast.minutes)
