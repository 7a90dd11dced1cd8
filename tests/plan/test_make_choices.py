"""What each stage of the straight way is given and what is kept of it: the stages themselves are stand-ins."""

from dataclasses import dataclass, replace
from datetime import date
from types import SimpleNamespace as Some

import pytest

from firstpour.errors import BadRequest, UnknownMaterial, WorkshopError
from firstpour.job.job import Job, PartRequest
from firstpour.parting.values import MouldKind
from firstpour.plan import make as module
from firstpour.plan.make import make_plan
from firstpour.plan.tasks import Task
from firstpour.store.learned import MadeAs
from firstpour.values import Finding, Severity
from firstpour.workshop.equipment import Equipment, Room
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

CUBE = PartRequest(name="cube", hardness="A 20")
RING = PartRequest(name="ring", hardness="D 75")
BARE = PartRequest(name="bare")
SHELF = Workshop(catalogue=shipped(), stock=(), today=TODAY)
BETTER = Finding(severity=Severity.INFO, code="other-cavities", what="w", remedy="r")


@dataclass(frozen=True)
class Pour:
    """A pour, as far as its bubbles go."""

    what: str
    bubble_mm: float | None = None


def picked(name):
    return Some(material=Some(id=name), additives=())


BOTH = Some(casting=picked("plastic"), silicone=picked("rubber"))


class Learned:
    """What was seen before; keeps what it was asked for."""

    def __init__(self):
        self.asked = []

    def seen(self, made):
        self.asked.append(made)
        return f"seen of {made.part}"


class Stages:
    """Stands for the stages; `breaks` says at which of them a part fails."""

    def __init__(self, monkeypatch, *, breaks=None, decisions=None, fill_s=90.0, flow=True, **worked):
        self.breaks, self.worked, self.decisions = breaks or {}, worked, decisions or {}
        self.flow = Some(fill_s=fill_s, smallest_left_mm=0.2, findings=()) if flow else None
        self.looked, self.works, self.needs, self.decided, self.poured = [], {}, [], [], {}
        self.told, self.learned, self.rooms, self.provided = [], Learned(), {}, []
        stand_ins = {
            "look_task": self.look_task, "work_out_task": self.work_task, "need_of": self.need,
            "sized_by_block": lambda looked, settings: "by its block", "sized_by_mould": lambda mould: "by its mould",
            "decide_materials": self.decide, "provide_materials": self.provide, "poured_of": self.pour,
            "casting_trial": lambda need, shop, material, additives: self.trial("casting", material),
            "silicone_trial": lambda need, shop, material, *, casting: self.trial("silicone", material),
            "cavity_room": self.room, "cavity_table": lambda *_: ("row",), "table_findings": lambda rows: (BETTER,),
            "around_findings": lambda *_: (), "flow_of": lambda *_: self.flow,
        }  # fmt: skip
        for name, stand_in in stand_ins.items():
            monkeypatch.setattr(module, name, stand_in)

    def look_task(self, request, _settings):
        self._break(request.name, "begin")
        return Task(part=request.name, name=f"look at {request.name}", make=self.look, given=(request.name,))

    def look(self, name):
        self._break(name, "look")
        self.looked.append(name)
        return Some(part=f"part {name}", measures="measures", draws=())

    def work_task(self, looked, looked_name, request, settings, materials, printers, mix, room):
        self.works[request.name] = (looked, looked_name, materials, mix, room)
        return Task(part=request.name, name=f"work out {request.name}", make=self.work, given=(request.name,))

    def work(self, name):
        self._break(name, "work")
        known = {
            "laid": None, "members": (), "fill": "fill", "inserts": (), "cavity_options": (),
            "mould": Some(kind=MouldKind.TRAYS), "pours": (Pour("upper"), Pour("lower"), Pour("cast")),
            "printing": Some(printer=Some(process="filament"), steps=("sand",)),
        }  # fmt: skip
        return Some(**{**known, **self.worked})

    def _break(self, name, stage):
        if self.breaks.get(name) == stage:
            raise BadRequest(f"no {stage}", remedy="mend it")

    def need(self, looked, request, sized, **more):
        self.needs.append((request.name, sized, more))
        return Some(name=request.name, sized=sized)

    def decide(self, needs, workshop):
        self.decided.append(([need.name for need in needs], workshop))
        return Some(of=lambda name: {need.name: self.decisions.get(need.name) for need in needs}[name])

    def trial(self, what, material):
        return f"{what} of {material.id}"

    def pour(self, request, decision, casting, silicone):
        self.poured[request.name] = (decision, casting, silicone)
        return Some(materials="materials", mix="mix", silicone_bubble_mm=0.3, findings=())

    def room(self, request, need, decision, workshop):
        self.rooms[request.name] = (None if need is None else need.sized, decision)
        return "room"

    def provide(self, needs, decisions, workshop):
        self.provided.append([(need.name, need.sized) for need in needs])
        return Some(parts=[Some(name=need.name) for need in reversed(needs)], findings=())

    def plan(self, *parts, workshop=SHELF, kept=None, **job):
        self.told = []
        if workshop is not None:
            workshop = replace(workshop, learned=self.learned)
        return make_plan(
            Job(name="pool", parts=parts, **job), progress=lambda *words: self.told.append(words), workshop=workshop,
            kept=kept,
        )  # fmt: skip


def names(parts):
    return [one.request.name for one in parts]


# --- steps, and what fails -----------------------------------------------------------------------------


def test_each_part_is_a_step_looked_at_and_a_step_worked_out_of_three(monkeypatch):
    """The third is writing, which comes later."""
    stages = Stages(monkeypatch)
    assert names(stages.plan(CUBE, RING).parts) == ["cube", "ring"]
    assert [(done, total) for done, total, _ in stages.told] == [(0, 6), (1, 6), (2, 6), (2, 6), (3, 6), (4, 6)]
    assert stages.told[0][2] == "cube, ring"
    assert stages.told[1][2] == "cube: read, measured, draw chosen"
    assert stages.told[5][2] == "ring: mould worked out"


def test_what_was_worked_out_before_is_taken_as_it_was_and_told_alike(monkeypatch, tmp_path):
    stages = Stages(monkeypatch)
    stages.plan(CUBE, kept=tmp_path)
    before = stages.told
    again = stages.plan(CUBE, RING, kept=tmp_path)
    assert stages.looked == ["cube", "ring"]
    assert names(again.parts) == ["cube", "ring"]
    assert {words for _, _, words in before[1:2]} <= {words for _, _, words in stages.told}
    assert [done for done, *_ in stages.told] == [0, 1, 2, 2, 3, 4]


def test_a_part_that_fails_at_any_stage_is_left_out_and_told_in_the_order_of_the_job(monkeypatch):
    parts = [PartRequest(name=name) for name in ("works not", "good", "looks not", "begins not")]
    stages = Stages(monkeypatch, breaks={"begins not": "begin", "looks not": "look", "works not": "work"})
    plan = stages.plan(*parts)
    assert names(plan.parts) == ["good"]
    assert [(one.name, one.problem, one.remedy) for one in plan.failed] == [
        (f"{stage}s not", f"no {stage}", "mend it") for stage in ("work", "look", "begin")
    ]
    assert "looks not is left out: no look" in {words for *_, words in stages.told}
    assert [done for done, *_ in stages.told] == [1, 1, 2, 3, 4, 4, 5, 6]


def test_where_all_parts_fail_the_job_is_refused_with_what_each_lacks(monkeypatch):
    stages = Stages(monkeypatch, breaks={"cube": "look", "ring": "work"})
    with pytest.raises(WorkshopError, match=r"^no look$") as alone:
        stages.plan(CUBE)
    assert (alone.value.code, alone.value.remedy) == (BadRequest.code, "mend it")
    with pytest.raises(WorkshopError, match=r"^cube: no look; ring: no work$") as both:
        stages.plan(CUBE, RING)
    assert (both.value.code, both.value.remedy) == (BadRequest.code, "mend it")


# --- materials -----------------------------------------------------------------------------------------


def test_materials_are_decided_for_the_parts_that_have_a_hardness_and_could_be_looked_at(monkeypatch):
    stages = Stages(monkeypatch, breaks={"ring": "look"})
    plan = stages.plan(CUBE, RING, BARE)
    ((decided, _),) = stages.decided
    assert decided == ["cube"]
    assert stages.provided == [[("cube", "by its mould")]]
    assert [one.choice and one.choice.name for one in plan.parts] == ["cube", None]
    assert plan.shelf is not None
    assert stages.rooms == {"cube": ("by its block", None), "bare": (None, None)}


def test_each_part_has_its_own_choice_whatever_the_order_on_the_shelf(monkeypatch):
    plan = Stages(monkeypatch).plan(CUBE, RING)
    assert [one.choice.name for one in plan.parts] == ["cube", "ring"]


@pytest.mark.parametrize(("parts", "workshop"), [((CUBE,), None), ((BARE,), SHELF), ((BARE,), None)])
def test_without_a_shelf_or_a_hardness_nothing_is_decided(monkeypatch, parts, workshop):
    stages = Stages(monkeypatch)
    plan = stages.plan(*parts, workshop=workshop)
    assert (stages.decided, stages.provided, plan.shelf) == ([], [], None)
    assert stages.poured == {parts[0].name: (None, None, None)}
    assert plan.parts[0].choice is None


def test_a_part_with_a_hardness_that_cannot_be_worked_out_needs_nothing(monkeypatch):
    stages = Stages(monkeypatch, breaks={"cube": "work"})
    plan = stages.plan(CUBE, BARE)
    assert (len(stages.decided), stages.provided, plan.shelf) == (1, [], None)


@pytest.mark.parametrize(
    ("decision", "casting", "silicone"),
    [
        (BOTH, "casting of plastic", "silicone of rubber"),
        (Some(casting=None, silicone=picked("rubber")), None, "silicone of rubber"),
        (Some(casting=picked("plastic"), silicone=None), "casting of plastic", None),
        (None, None, None),
    ],
)
def test_the_mould_is_worked_out_with_what_was_decided(monkeypatch, decision, casting, silicone):
    stages = Stages(monkeypatch, decisions={"cube": decision})
    stages.plan(CUBE)
    assert stages.poured["cube"] == (decision, casting, silicone)
    looked, looked_name, *others = stages.works["cube"]
    assert (looked.part, looked_name, others) == ("part cube", "look at cube", ["materials", "mix", "room"])


@pytest.mark.parametrize(
    ("begin", "due", "today", "due_min"),
    [
        (None, None, TODAY, None),
        (None, date(2026, 3, 12), TODAY, 10 * 24 * 60.0),
        (date(2026, 3, 5), date(2026, 3, 12), date(2026, 3, 5), 7 * 24 * 60.0),
    ],
)
def test_what_is_out_of_date_on_the_first_day_is_not_in_stock_and_days_count_from_it(
    monkeypatch, begin, due, today, due_min
):
    """The shelf is looked at on 2 March 2026, or on the day on which the work begins, in the workshop of the job."""
    stages, cold = Stages(monkeypatch), Equipment(room=Room(temperature_c=15.0))
    stages.plan(CUBE, begin=begin, due=due, equipment=cold)
    ((_, shop),) = stages.decided
    assert (shop.today, shop.equipment) == (today, cold)
    assert stages.needs[0][1:] == ("by its block", {"due_min": due_min, "seen": "seen of cube"})


@pytest.mark.parametrize(("flow", "fill_s", "pour_min"), [(True, 90.0, 1.5), (True, None, None), (False, 90.0, None)])
def test_the_shelf_is_asked_again_with_the_mould_its_print_and_the_minutes_of_its_gate(
    monkeypatch, flow, fill_s, pour_min
):
    stages = Stages(monkeypatch, flow=flow, fill_s=fill_s)
    (one,) = stages.plan(CUBE).parts
    _, sized, more = stages.needs[-1]
    assert sized == "by its mould"
    assert more == {"master": "filament", "master_steps": ("sand",), "pour_min": pour_min, "seen": "seen of cube"}
    assert [pour.bubble_mm for pour in one.pours] == [0.3, 0.3, 0.2 if flow else None]


@pytest.mark.parametrize(
    ("part", "decision", "material"),
    [
        (CUBE, BOTH, "plastic"),
        (CUBE, Some(casting=None, silicone=None), None),
        (CUBE, None, None),
        (BARE, None, None),
    ],
)
def test_what_was_seen_of_shots_made_alike_is_kept_with_the_part(monkeypatch, part, decision, material):
    stages = Stages(monkeypatch, decisions={"cube": decision})
    (one,) = stages.plan(part).parts
    assert stages.learned.asked[-1] == MadeAs(part=part.name, way="trays", material=material)
    assert one.seen == f"seen of {part.name}"


def test_without_a_workshop_nothing_was_seen(monkeypatch):
    (one,) = Stages(monkeypatch).plan(CUBE, workshop=None).parts
    assert (one.seen.shots, one.seen.good) == (0, 0)


@pytest.mark.parametrize("key", ["silicone", "casting", "paint", "print_in"])
def test_a_material_that_the_shelf_does_not_know_is_told_with_its_part_before_any_work(monkeypatch, key):
    stages = Stages(monkeypatch)
    with pytest.raises(UnknownMaterial, match="no-such") as refused:
        stages.plan(replace(CUBE, **{key: "no-such"}))
    assert refused.value.problem.startswith("cube: ")
    assert (stages.told, stages.looked) == ([], [])
    stages.plan(replace(CUBE, **{key: "rigid-plastic-d75-middling"}))


# --- the part as it is planned -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "cavities", "compared"), [(("option",), 2, True), (("option",), 1, False), ((), 2, False)]
)
def test_numbers_of_cavities_are_compared_where_several_were_asked_for_and_are_possible(
    monkeypatch, options, cavities, compared
):
    (one,) = Stages(monkeypatch, cavity_options=options).plan(replace(CUBE, cavities=cavities)).parts
    assert one.cavities == (("row",) if compared else ())
    assert one.said == ((BETTER,) if compared else ())
    assert one.cavity_options == options


def test_a_part_laid_for_its_mould_stands_in_the_plan_as_it_was_laid(monkeypatch):
    laid = Some(part="as it was laid", measures="anew", draws=("draw",))
    (one,) = Stages(monkeypatch, laid=laid).plan(BARE).parts
    assert (one.part, one.measures, one.draws) == ("as it was laid", "anew", ("draw",))
    (plain,) = Stages(monkeypatch).plan(BARE).parts
    assert plain.part == "part bare"


def test_parts_together_in_one_mould_fill_each_in_its_turn(monkeypatch):
    flow_of_all = Some(fill_s=None, smallest_left_mm=0.7, findings=())
    stages = Stages(monkeypatch, members=("member",))
    monkeypatch.setattr(module, "flow_of_all", lambda members, poured: flow_of_all)
    (one,) = stages.plan(BARE).parts
    assert one.flow is flow_of_all
    assert one.members == ("member",)
    assert one.pours[-1].bubble_mm == 0.7
