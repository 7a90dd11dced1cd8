"""What would buy time, on the tide pool: what each way changes in the tasks, and the orders that come of them.

Minutes and money are our own arithmetic from the plan's figures; every order is checked by the independent checker.
"""

from dataclasses import replace

import pytest

from firstpour.cavities.table import CavityRow
from firstpour.choosing.choice import PlannedStep
from firstpour.materials.steps import step
from firstpour.plan.route_basis import routes_of
from firstpour.results import SavedPlan
from firstpour.schedule.hours_ahead import STEP_MIN
from firstpour.schedule.options import alternatives, compare
from firstpour.schedule.ordering import network_of
from firstpour.schedule.other_materials import accelerator, faster_silicone, price_of_mixes
from firstpour.schedule.other_moulds import another_mould, other_cavities, shared_pot, trays
from firstpour.schedule.part_tasks import part_tasks
from firstpour.schedule.solve import Effort, solve
from firstpour.schedule.solver import Solver
from firstpour.schedule.values import Calendar, Doing, Network, Schedule
from firstpour.schedule.ways import Cavities, Ways, ways_of
from firstpour.workshop.hours import DAY_MIN
from schedule_asked import LITTLE, SHOP, asked_of, part_of, with_part
from schedule_checks import faults


class Watched(Solver):
    """A solver that keeps what it was asked and what it found."""

    def __init__(self) -> None:
        super().__init__()
        self.solved: list[tuple[Network, Calendar, Schedule]] = []

    def solve(self, network: Network, calendar: Calendar, *, effort: Effort | None = None) -> Schedule:
        found = solve(network, calendar, effort=LITTLE)
        self.solved.append((network, calendar, found))
        return found


def row(cavities: int, *, made: bool, silicone_ml: float, print_min: float, waste_g: float) -> CavityRow:
    return CavityRow(
        cavities=cavities, block_mm=(1.0, 1.0, 1.0), silicone_ml=silicone_ml, print_min=print_min, waste_g=waste_g,
        pour_min=1.0, rounds=1, copies_a_day=1.0, days=1.0, cost=1.0, in_one_mix=True, in_time=None, made=made,
    )  # fmt: skip


def test_another_mould_costs_one_mould_of_silicone(demo: SavedPlan) -> None:
    asked, one = asked_of(demo.plan), part_of(demo, "limpet")
    other = another_mould(asked, one)
    assert other.ways["limpet"].moulds == asked.ways["limpet"].moulds + 1
    assert {name: way for name, way in other.ways.items() if name != "limpet"} == {
        name: way for name, way in asked.ways.items() if name != "limpet"
    }
    assert one.choice is not None
    assert one.choice.silicone is not None
    assert other.money == pytest.approx(price_of_mixes(one.choice.silicone.mixes, SHOP))
    pours = [task for task in part_tasks(one, other.ways["limpet"]).tasks if "pour silicone" in task.id]
    assert len(pours) == 4


def test_another_number_of_cavities_changes_rounds_prints_and_silicone(demo: SavedPlan) -> None:
    """Two cavities: half the rounds of 10 shots, prints twice as long; 100 ml instead of 50 cost as much again."""
    rows = (
        row(1, made=True, silicone_ml=50.0, print_min=100.0, waste_g=10.0),
        row(2, made=False, silicone_ml=100.0, print_min=200.0, waste_g=30.0),
    )
    one = replace(part_of(demo, "limpet"), cavities=rows)
    assert one.choice is not None
    assert one.choice.silicone is not None
    assert one.choice.casting is not None
    (other,) = other_cavities(asked_of(with_part(demo, one)), one)
    assert other.kind
    assert other.name == "2 cavities in the mould of limpet instead of 1"
    before, now = part_tasks(one, ways_of(one)), part_tasks(one, other.ways["limpet"])

    def rounds(network: Network) -> int:
        return sum(task.doing is Doing.DEMOULD for task in network.tasks)

    def runs_min(network: Network) -> list[float]:
        return [task.minutes for task in network.tasks if task.id.endswith(" run")]

    assert (rounds(before), rounds(now)) == (one.choice.pours, one.choice.pours // 2)
    assert sum(task.good_copies for task in now.tasks) == sum(task.good_copies for task in before.tasks)
    runs = [piece.plan.printer.run_min(2.0 * piece.plan.print_min) for piece in one.printing.pieces]
    assert runs_min(now) == pytest.approx(runs)
    silicone, casting = (price_of_mixes(chosen.mixes, SHOP) for chosen in (one.choice.silicone, one.choice.casting))
    mixed_g = sum(mix.mix.total_g for mix in one.choice.casting.mixes)
    assert other.money == pytest.approx(silicone + 20.0 * casting / mixed_g)


def test_a_mould_of_fewer_cavities_takes_no_fewer_copies_and_more_rounds(demo: SavedPlan) -> None:
    one = part_of(demo, "bollard")
    several = Ways(moulds=1, cavities=Cavities(count=3, print_ratio=1.0, silicone_ratio=2.5, in_one_mix=True))
    assert one.choice is not None
    outs = [task.good_copies for task in part_tasks(one, several).tasks if task.doing is Doing.DEMOULD]
    assert outs == [3, one.choice.pours - 3]


def test_trays_take_the_turning_over_out(demo: SavedPlan) -> None:
    other = trays(asked_of(demo.plan))
    assert other is not None
    ring = part_of(demo, "porthole ring")
    turned = [task for task in part_tasks(ring, ways_of(ring)).tasks if "turn" in task.id]
    assert turned
    assert not [task for task in part_tasks(ring, other.ways["porthole ring"]).tasks if "turn" in task.id]
    assert trays(asked_of(replace(demo.plan, parts=(part_of(demo, "limpet"),)))) is None


def test_trays_cost_more_or_less_as_the_routes_reckon_them(demo: SavedPlan) -> None:
    """Two trays are printed in the stead of bedding, box and master; the rubber and its losses stay the same."""
    other = trays(asked_of(demo.plan))
    assert other is not None
    assert other.money is not None
    ring = part_of(demo, "porthole ring")
    free = replace(ring, request=replace(ring.request, kind=None))
    (routes,) = routes_of(replace(demo.plan, parts=(free,), printed=()), SHOP)
    planned = next(one for one in routes.routes if one.recipe.planned)
    same = (planned.recipe.material, planned.recipe.silicone, planned.recipe.moulds)
    in_trays = next(
        one
        for one in routes.routes
        if one.recipe.kind == "trays" and (one.recipe.material, one.recipe.silicone, one.recipe.moulds) == same
    )
    assert other.money == pytest.approx(in_trays.outcome.money - planned.outcome.money, abs=0.01)
    assert 0.0 < abs(other.money) < 0.5 * planned.outcome.money


def test_the_pot_is_shared_only_where_it_is_used(demo: SavedPlan) -> None:
    assert shared_pot(asked_of(demo.plan)) is None
    one = part_of(demo, "limpet")
    assert one.choice is not None
    assert one.choice.casting is not None
    in_pot = PlannedStep(before="casting", step=step("pot-hold"), reason="bubbles")
    casting = replace(one.choice.casting, steps=(*one.choice.casting.steps, in_pot))
    changed = replace(one, choice=replace(one.choice, casting=casting))
    asked = asked_of(with_part(demo, changed))
    other = shared_pot(asked)
    assert other is not None
    assert (
        network_of(asked.plan, asked.ways, asked.calendar).holds
        != network_of(asked.plan, other.ways, asked.calendar).holds
    )
    assert not any(
        hold.machine == "pressure pot" for hold in network_of(asked.plan, other.ways, asked.calendar).holds
    )


def test_materials_that_set_sooner_are_told_with_their_parts_and_cost(demo: SavedPlan) -> None:
    asked = asked_of(demo.plan)
    for make, key in ((faster_silicone, "silicone_cure_ratio"), (accelerator, "casting_cure_ratio")):
        other = make(asked)
        assert other is not None
        changed = {name for name, way in other.ways.items() if getattr(way, key) < 1.0}
        assert changed
        assert all(name in other.name for name in changed)
        assert all(getattr(other.ways[name], key) <= 0.95 for name in changed)
        assert other.money is not None
        assert make(replace(asked, workshop=None)) is None


def test_every_option_is_an_order_that_can_be_worked_and_stands_by_its_end(demo: SavedPlan) -> None:
    watched = Watched()
    asked = asked_of(demo.plan, solver=watched)
    stands = solve(network_of(asked.plan, asked.ways, asked.calendar), asked.calendar, effort=LITTLE)
    others = alternatives(asked)
    told: list[str] = []
    options = compare(
        asked, stands, others, progress=lambda _, __, what: told.append(what), done=0, total=len(others)
    )
    assert len(watched.solved) == len(others)
    assert told == [*(one.name for one in others), "done"]
    for network, calendar, found in watched.solved:
        assert faults(network, calendar, found) == []
    ends = {one.name: found.last for one, (_, _, found) in zip(others, watched.solved, strict=True)}
    for option in options:
        assert option.sooner_days == pytest.approx((stands.last - ends[option.name]) * STEP_MIN / DAY_MIN)
    assert [one.all_done_at for one in options] == sorted(one.all_done_at for one in options)


def test_of_the_cavities_of_a_part_only_the_best_number_is_told(demo: SavedPlan) -> None:
    rows = tuple(
        row(count, made=count == 1, silicone_ml=50.0 * count, print_min=100.0, waste_g=10.0) for count in (1, 2, 3, 4)
    )
    one = replace(part_of(demo, "limpet"), cavities=rows)
    watched = Watched()
    asked = asked_of(replace(demo.plan, parts=(one,), printed=()), solver=watched)
    stands = solve(network_of(asked.plan, asked.ways, asked.calendar), asked.calendar, effort=LITTLE)
    others = other_cavities(asked, one)
    (best,) = compare(asked, stands, others, progress=lambda *_: None, done=0, total=3)
    ends = [found.last for _, _, found in watched.solved]
    assert len(ends) == 3
    assert best.sooner_days == pytest.approx((stands.last - min(ends)) * STEP_MIN / DAY_MIN)


def test_an_hour_in_the_morning_gives_two_rounds_a_day_to_a_day_job_with_an_eight_hour_cure(demo: SavedPlan) -> None:
    """Common practice, no source: on evenings 16 h and 8 h cures both give one copy a day."""
    one = part_of(demo, "sea star")
    assert one.choice is not None
    assert one.choice.casting is not None
    plan = replace(demo.plan, parts=(one,), printed=())
    a_day: dict[float, str] = {}
    for hours_of_cure in (16.0, 8.0):
        ratio = hours_of_cure * 60.0 / one.choice.casting.demould_min
        watched = Watched()
        asked = asked_of(plan, {"sea star": replace(ways_of(one), casting_cure_ratio=ratio)}, solver=watched)
        stands = watched.solve(network_of(asked.plan, asked.ways, asked.calendar), asked.calendar)
        outs = [
            stands.ends[task.id] * STEP_MIN // DAY_MIN
            for task in network_of(asked.plan, asked.ways, asked.calendar).tasks
            if task.doing is Doing.DEMOULD
        ]
        assert max(outs.count(day) for day in outs) == 1
        (morning,) = (
            each
            for each in compare(
                asked, stands, [each for each in alternatives(asked) if "in the morning" in each.name],
                progress=lambda *_: None, done=0, total=1,
            )
        )  # fmt: skip
        a_day[hours_of_cure] = morning.note
    assert a_day == {16.0: "", 8.0: "2 rounds a day of sea star"}
