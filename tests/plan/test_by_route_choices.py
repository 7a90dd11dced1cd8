"""Which parts are planned again by their routes, printed, or left out: plans and routes are stand-ins."""

from dataclasses import replace
from types import SimpleNamespace as Some

import pytest

from firstpour.errors import WorkshopError
from firstpour.job.job import Job, Making, PartRequest, Preference
from firstpour.parting.values import MouldKind
from firstpour.plan import by_route
from firstpour.plan.by_route import plan_by_route
from firstpour.plan.values import Plan
from firstpour.routes.recipe import Way
from firstpour.routes.refused import Refused
from firstpour.routes.taken import Taken
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped
from stand_in_plans import failed, part_plan

SHELF = Workshop(catalogue=shipped(), stock=(), today=TODAY)
SHELL = PartRequest(name="shell", hardness="D 75")
STAR = PartRequest(name="star", hardness="A 20")


def taken(way=Way.CAST, **recipe):
    known = {
        "way": way, "planned": False, "kind": "trays", "silicone_id": "soft-silicone", "material_id": "hard-plastic",
        "moulds": 2, "a_mould": 4, "accelerator_ratio": None, "silicone_accelerator_ratio": None,
    }  # fmt: skip
    return Taken(
        route=Some(recipe=Some(**{**known, **recipe}), outcome=Some(tries=4)),
        preference=Preference.CHEAPEST, making=None, why="why", among=(), break_evens=(),
    )  # fmt: skip


PRINTED = taken(Way.PRINTED, material_id="filament-rigid", stands=Some(grams=12.5))
REFUSED = Refused(name="“print directly”", reason="nothing is that soft", remedy="cast it")


class Planner:
    """Stands for the planning of moulds and the picking of routes."""

    def __init__(self, monkeypatch, routes, *, fails=lambda _: False):
        self.asked, self.looked, self.routes, self.fails = [], [], routes, fails
        monkeypatch.setattr(by_route, "plan_by_date", self.make)
        monkeypatch.setattr(by_route, "route_taken", self.route)

    def make(self, job, **_):
        self.asked.append(job.parts)
        self.last = Plan(
            job=job,
            parts=tuple(part_plan(one) for one in job.parts if not self.fails(one)),
            failed=tuple(failed(one.name) for one in job.parts if self.fails(one)),
            shelf="all that is needed",
        )
        return self.last

    def route(self, one, *_, **__):
        self.looked.append(one.request.name)
        return self.routes[one.request.name]


def plan(*parts, prefer=Preference.CHEAPEST, workshop=SHELF):
    return plan_by_route(Job(name="pool", parts=parts, prefer=prefer), progress=lambda *_: None, workshop=workshop)


def names(parts):
    return [one.request.name for one in parts]


PRINT, CAST = Making.PRINT, Making.CAST


@pytest.mark.parametrize(
    ("hardness", "prefer", "route", "asks"),
    [
        ("D 75", Preference.SOONEST, None, True), ("D 75", Preference.SOONEST, CAST, True),
        ("D 75", None, PRINT, True), ("D 75", None, None, False), ("D 75", None, CAST, False),
        (None, Preference.SOONEST, None, False), (None, None, None, False),
    ],
)  # fmt: skip
def test_routes_are_asked_of_parts_with_a_hardness_where_the_job_prefers_or_a_print_is_fixed(
    monkeypatch, hardness, prefer, route, asks
):
    planner = Planner(monkeypatch, {"shell": taken(planned=True)})
    made = plan(replace(SHELL, hardness=hardness, route=route), prefer=prefer)
    assert planner.looked == ["shell"] * asks
    assert (made is planner.last) is not asks


def test_without_a_workshop_there_are_no_routes(monkeypatch):
    planner = Planner(monkeypatch, {"shell": PRINTED})
    assert plan(SHELL, workshop=None) is planner.last
    assert planner.looked == []


def test_what_is_printed_leaves_the_moulds_and_the_others_are_planned_without_it(monkeypatch):
    planner = Planner(monkeypatch, {"shell": PRINTED, "star": taken(planned=True)})
    made = plan(SHELL, STAR)
    assert planner.asked == [(SHELL, STAR), (STAR,)]
    assert (names(made.printed), names(made.parts)) == (["shell"], ["star"])
    assert made.printed[0].taken is PRINTED
    assert made.parts[0].taken is planner.routes["star"]
    assert made.job.parts == (SHELL, STAR)


def test_what_is_printed_needs_its_grams_for_every_try_together_of_one_material(monkeypatch):
    """Four tries of 12.5 g each of two parts."""
    Planner(monkeypatch, {"shell": PRINTED, "star": PRINTED})
    (line,) = plan(SHELL, STAR).prints_stock
    assert (line.material_id, line.need.a_g, line.enough) == ("filament-rigid", pytest.approx(100.0), False)


def test_where_all_is_printed_nothing_is_cast_and_nothing_of_the_shelf_is_poured(monkeypatch):
    planner = Planner(monkeypatch, {"shell": PRINTED})
    made = plan(SHELL)
    assert (names(made.printed), made.parts, made.failed, made.shelf) == (["shell"], (), (), None)
    assert len(planner.asked) == 1


def test_a_part_that_keeps_mould_and_materials_is_not_planned_again(monkeypatch):
    planner = Planner(monkeypatch, {"shell": taken(planned=True), "star": REFUSED})
    made = plan(SHELL, STAR)
    assert planner.asked == [(SHELL, STAR)]
    assert [one.taken for one in made.parts] == [planner.routes["shell"], None]
    assert made.failed == ()


def test_a_print_that_is_fixed_and_not_possible_fails_and_another_part_without_a_route_is_cast(monkeypatch):
    planner = Planner(monkeypatch, {"shell": taken(planned=True), "star": REFUSED})
    made = plan(replace(STAR, route=PRINT), SHELL)
    assert names(made.parts) == ["shell"]
    (lost,) = made.failed
    assert (lost.name, lost.problem, lost.remedy) == (
        "star", "“print directly” is not possible: nothing is that soft", "cast it",
    )  # fmt: skip
    assert planner.asked[1:] == [(SHELL,)]


def test_what_failed_is_told_in_the_order_of_the_job(monkeypatch):
    knob = PartRequest(name="knob")
    Planner(monkeypatch, {"shell": taken(), "star": REFUSED}, fails=lambda one: one.name == "knob")
    made = plan(knob, replace(STAR, route=PRINT), SHELL)
    assert [one.name for one in made.failed] == ["knob", "star"]


def test_where_no_part_is_left_the_first_failure_is_the_answer(monkeypatch):
    Planner(monkeypatch, {"shell": replace(REFUSED, reason="too fine"), "star": REFUSED})
    with pytest.raises(WorkshopError, match=r"^shell: “print directly” is not possible: too fine") as refused:
        plan(replace(SHELL, route=PRINT), replace(STAR, route=PRINT))
    assert refused.value.remedy == "cast it"


def test_a_part_is_planned_again_with_mould_materials_cavities_and_moulds_of_its_route(monkeypatch):
    planner = Planner(monkeypatch, {"shell": taken(accelerator_ratio=0.02, silicone_accelerator_ratio=0.03)})
    made = plan(replace(SHELL, accelerator_ratio=0.01, silicone_accelerator_ratio=0.04))
    (again,) = planner.asked[1]
    assert (again.kind, again.silicone, again.casting) == (MouldKind.TRAYS, "soft-silicone", "hard-plastic")
    assert (again.moulds, again.cavities) == (2, 4)
    assert (again.accelerator_ratio, again.silicone_accelerator_ratio) == (0.02, 0.03)
    assert names(made.parts) == ["shell"]


def test_what_the_maker_fixed_stays_where_the_route_leaves_it_open(monkeypatch):
    asked = replace(SHELL, cavities=2, accelerator_ratio=0.01, silicone_accelerator_ratio=0.04)
    planner = Planner(monkeypatch, {"shell": taken(kind=None)})
    plan(asked)
    (again,) = planner.asked[1]
    assert (again.kind, again.cavities) == (None, 2)
    assert (again.accelerator_ratio, again.silicone_accelerator_ratio) == (0.01, 0.04)


def test_a_part_whose_mould_does_not_come_out_by_its_route_stays_as_it_was_and_the_others_follow(monkeypatch):
    planner = Planner(
        monkeypatch, {"shell": taken(), "star": taken(moulds=3)}, fails=lambda one: one.name == "shell" and one.kind
    )
    made = plan(SHELL, STAR)
    assert len(planner.asked) == 3
    old, new = planner.asked[2]
    assert old == SHELL
    assert new.moulds == 3
    assert [one.taken for one in made.parts] == [None, planner.routes["star"]]
    assert made.failed == ()
