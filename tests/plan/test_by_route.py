"""A plan follows the route that the job prefers or fixes, and says why."""

from dataclasses import replace
from pathlib import Path

import pytest
from scipy.stats import betanbinom

from firstpour.cli.plan_shown import show_plan
from firstpour.cli.show import Shown, amount
from firstpour.errors import BadJob, WorkshopError
from firstpour.files.job_toml import job_from_text
from firstpour.files.stl import read_stl
from firstpour.job.job import Job, Making, PartRequest, Preference
from firstpour.parting.values import MouldKind
from firstpour.plan import plan_by_date, plan_by_route
from firstpour.plan.route_basis import routes_of
from firstpour.printing.allowance import FIT_IN_DOUBT, Fit, FitKind
from firstpour.results import plan_into
from firstpour.routes.fixed import fixing
from firstpour.routes.recipe import Way
from firstpour.samples.samples import Sample
from firstpour.schedule.chances import PRINT_YIELD
from firstpour.schedule.printed_tasks import printed_tasks
from firstpour.schedule.risk import risk_of
from firstpour.schedule.values import Calendar
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

SHELF = Workshop(catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY)
ALWAYS = Calendar(windows=((0, 100_000),), end=100_000, step_min=1.0)
BOLLARD = PartRequest(name="bollard", sample=Sample.BOLLARD, copies=3, hardness="D 75")


FLANGE_MM = 44.0
"""Across the flange of the bollard."""


def job(*parts: PartRequest, prefer: Preference | None = None) -> Job:
    return Job(name="a job", parts=parts, prefer=prefer, hands_per_h=20.0)


def quiet(*_: object) -> None:
    """Nobody looks on."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Stages of this module are worked out once."""
    folder: Path = tmp_path_factory.mktemp("kept")
    return folder


def test_a_rigid_part_that_is_cheapest_printed_has_no_mould_and_says_why(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = job(BOLLARD, prefer=Preference.CHEAPEST)
    saved = plan_into(asked, tmp_path / "out", progress=quiet, workshop=SHELF, kept=kept)
    assert saved.plan.parts == ()
    entry = saved.entry.printed[0]
    assert entry.route.why.startswith("cheapest for 3 copies: printed in ")
    assert "cast in" in entry.route.why
    assert entry.prints >= 3
    assert entry.costs
    corners = read_stl(tmp_path / "out" / entry.file).reshape(-1, 3)
    assert corners.min(axis=0) == pytest.approx([0.0, 0.0, 0.0], abs=1e-6)
    assert corners.max(axis=0) == pytest.approx(entry.size_mm)
    assert entry.file in saved.entry.files
    # every place tells the same: the prints of the log, what they use, what the shelf must hold
    used_g = entry.prints * entry.material_g
    (line,) = saved.entry.to_have
    assert line.name == entry.material
    assert line.need_a_g == pytest.approx(used_g)
    assert used_g == pytest.approx(sum(cost.amount for cost in entry.costs if cost.what == entry.material))
    assert saved.entry.totals.print_ml == pytest.approx(entry.prints * entry.material_ml)
    show_plan(saved.entry, Shown.DETAILS)
    said = " ".join(capsys.readouterr().out.split())
    assert f"{entry.prints} in one plate, spoiled ones reckoned in, {amount(used_g, 'g')} with supports" in said
    assert f"In all: {amount(entry.prints * entry.material_ml, 'ml')} to print." in said
    assert "of silicone" not in said.partition("In all:")[2]
    for caution in entry.cautions:
        assert caution.text in said


def test_two_parts_printed_in_one_material_are_bought_for_together(kept: Path) -> None:
    """Each alone has enough in one spool of 1000 g, or neither; together they need what both need."""
    two = [replace(BOLLARD, name=name, copies=copies) for name, copies in (("few", 3), ("many", 40))]
    plan = plan_by_route(job(*two, prefer=Preference.CHEAPEST), progress=quiet, workshop=SHELF, kept=kept)
    (line,) = plan.prints_stock
    routes = [one.taken.route for one in plan.printed]
    grams = [one.recipe.stands.grams * one.outcome.tries for one in routes if one.recipe.stands is not None]
    assert line.need.a_g == pytest.approx(sum(grams))
    assert [one.what for one in plan.findings if one.code == "buy"] == [one.what for one in line.findings]


def test_a_fit_that_a_print_may_not_keep_is_a_finding_as_it_is_of_a_mould(kept: Path) -> None:
    """The flange of the bollard within a hundredth: no filament printer keeps that (common practice, no source)."""
    flange = Fit(kind=FitKind.SHAFT, nominal_mm=FLANGE_MM, tolerance_mm=0.01)
    wished = replace(BOLLARD, route=Making.PRINT, fits=(flange,))
    plan = plan_by_route(job(wished), progress=quiet, workshop=SHELF, kept=kept)
    doubts = [one for one in plan.findings if one.code == FIT_IN_DOUBT]
    assert doubts
    assert all(one.where is not None and one.where.startswith("bollard") for one in doubts)
    assert f"{FLANGE_MM:g} ± 0.01 mm is expected at" in doubts[0].what


def test_the_tasks_of_a_print_take_the_minutes_of_its_route(kept: Path) -> None:
    one = plan_by_route(job(BOLLARD, prefer=Preference.CHEAPEST), progress=quiet, workshop=SHELF, kept=kept).printed[
        0
    ]
    tasks, what = printed_tasks(one), one.taken.route.outcome
    assert sum(task.minutes for task in tasks.tasks if task.attended) == pytest.approx(what.hands_min)
    assert sum(task.minutes for task in tasks.tasks) == pytest.approx(what.all_copies_min)
    assert len(tasks.holds) == what.goes


def test_prints_enough_for_bad_luck_are_plates_that_a_run_does_as_far_as_it_needs(kept: Path) -> None:
    one = plan_by_route(job(BOLLARD, prefer=Preference.CHEAPEST), progress=quiet, workshop=SHELF, kept=kept).printed[
        0
    ]
    planned, on_a_plate = one.taken.route.outcome.tries, one.taken.route.recipe.a_go
    assert planned < on_a_plate
    network = printed_tasks(one, tries=planned + 2 * on_a_plate)
    offs = [task for task in network.tasks if task.good_copies]
    assert [task.good_copies for task in offs] == [planned, on_a_plate, on_a_plate]
    assert [task.round for task in offs] == [1, 2, 3]
    assert {task.round for task in network.tasks if "/plate 1 " in task.id} == {1}
    # as many good ones are asked for as the plan prints: its plate is enough, and ends with it, if none of it fails
    made = risk_of(network, ALWAYS, {"bollard": planned}, runs=4000, printed={"bollard"})
    alone = printed_tasks(one)
    assert made.lasts[0] == pytest.approx(sum(task.minutes for task in alone.tasks), abs=len(alone.tasks))
    none_fails = betanbinom(planned, PRINT_YIELD.good, PRINT_YIELD.spoiled).cdf(0)
    assert made.chance_by(float(made.lasts[0])) == pytest.approx(none_fails, abs=0.03)


def test_a_part_that_is_to_be_cast_is_cast_the_way_that_is_preferred(kept: Path) -> None:
    wished = replace(BOLLARD, route=Making.CAST)
    plan = plan_by_route(job(wished, prefer=Preference.SOONEST), progress=quiet, workshop=SHELF, kept=kept)
    assert plan.printed == ()
    one = plan.parts[0]
    assert one.taken is not None
    recipe = one.taken.route.recipe
    assert one.taken.why.startswith("the job asks for it: cast; of these soonest for 3 copies")
    assert (one.mould.kind.value, one.request.moulds) == (recipe.kind, recipe.moulds)
    assert one.choice is not None
    assert one.choice.silicone is not None
    assert one.choice.casting is not None
    assert (one.choice.silicone.material.id, one.choice.casting.material.id) == (
        recipe.silicone_id, recipe.material_id,
    )  # fmt: skip


def test_a_named_kind_of_mould_is_kept_by_the_preference(kept: Path) -> None:
    wished = replace(BOLLARD, route=Making.CAST, kind=MouldKind.BLOCK)
    plan = plan_by_route(job(wished, prefer=Preference.CHEAPEST), progress=quiet, workshop=SHELF, kept=kept)
    assert plan.parts[0].mould.kind is MouldKind.BLOCK


def test_what_fixes_a_route_leaves_nothing_to_the_preference(kept: Path) -> None:
    plan = plan_by_route(job(BOLLARD, prefer=Preference.SOONEST), progress=quiet, workshop=SHELF, kept=kept)
    routes = routes_of(plan_by_date(job(BOLLARD), progress=quiet, workshop=SHELF, kept=kept), SHELF, kept=kept)[0]
    other = next(one.recipe for one in routes.routes if one.recipe.kind == "bedding" and one.recipe.moulds == 1)
    fixed = fixing(other)
    wished = replace(
        BOLLARD,
        route=fixed.route,
        kind=MouldKind(str(fixed.kind)),
        silicone=fixed.silicone,
        casting=fixed.casting,
        moulds=fixed.moulds or 1,
        cavities=fixed.cavities or 1,
        accelerator_ratio=fixed.accelerator_ratio or 0.0,
        silicone_accelerator_ratio=fixed.silicone_accelerator_ratio or 0.0,
    )
    one = plan_by_route(job(wished, prefer=Preference.SOONEST), progress=quiet, workshop=SHELF, kept=kept).parts[0]
    assert (one.mould.kind.value, one.request.moulds) == ("bedding", 1)
    assert one.taken is not None
    assert (one.taken.route.recipe.silicone_id, one.taken.route.recipe.material_id) == (fixed.silicone, fixed.casting)
    assert one.taken.route.recipe.name == other.name
    assert plan.printed[0].taken.route.recipe.way is Way.PRINTED
    assert fixing(plan.printed[0].taken.route.recipe).route is Making.PRINT


def test_without_a_preference_the_plan_is_as_it_was(kept: Path) -> None:
    plan = plan_by_route(job(BOLLARD), progress=quiet, workshop=SHELF, kept=kept)
    assert plan.printed == ()
    assert [one.taken for one in plan.parts] == [None]


def test_a_soft_part_cannot_be_printed_and_is_told_by_how_much_it_misses(kept: Path) -> None:
    soft = replace(BOLLARD, hardness="A 20", route=Making.PRINT)
    with pytest.raises(WorkshopError, match=r"nearest is printed in .*A 50 is 30 points too hard for A 20"):
        plan_by_route(job(soft), progress=quiet, workshop=SHELF, kept=kept)
    both = plan_by_route(job(replace(soft, name="soft"), BOLLARD), progress=quiet, workshop=SHELF, kept=kept)
    assert [one.request.name for one in both.parts] == ["bollard"]
    assert [one.name for one in both.failed] == ["soft"]


PART = '[[part]]\nsample = "bollard"\n'
CONTRADICTIONS = [
    ('hardness = "D 75"\nroute = "print directly"\nkind = "trays"', "kind: a print has no mould"),
    ('hardness = "D 75"\nroute = "print directly"\nmoulds = 2', "moulds: a print has no mould"),
    ('route = "print directly"', "without a hardness"),
    ('hardness = "D 75"\nprint_in = "filament-rigid"', "print_in without route"),
    ('kind = "open-face"\n[[part.gate]]\nat_mm = [0, 0, 1]', "poured through its open back"),
    ('hardness = "D 75"\nclear = true\npaint = "flexible-paint"', "clear no more"),
]


@pytest.mark.parametrize(("keys", "told"), CONTRADICTIONS)
def test_wishes_that_contradict_each_other_are_refused_by_name(keys: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(BadJob, match=told) as refused:
        job_from_text(PART + keys, folder=tmp_path)
    assert refused.value.remedy


def test_numbers_of_cavities_are_routes_and_the_plan_makes_the_one_that_is_taken(kept: Path) -> None:
    """Twelve limpets: about 1, 2, 4 … of the table of cavities, in one tray each; the least hands take several."""
    limpet = PartRequest(name="limpet", sample=Sample.LIMPET, copies=12, hardness="D 75", route=Making.CAST)
    before = plan_by_date(job(limpet), progress=quiet, workshop=SHELF, kept=kept)
    known = {one.cavities for one in before.parts[0].cavity_options}
    made = routes_of(before, SHELF, kept=kept)[0]
    castings = [one.recipe for one in made.routes if one.recipe.way is Way.CAST]
    assert {one.a_mould for one in castings} <= known
    assert len({one.a_mould for one in castings}) > 1
    for recipe in castings:
        assert (f"{recipe.a_mould} cavities" in recipe.name) is (recipe.a_mould > 1)
        assert recipe.a_go == recipe.a_mould * recipe.moulds
    plan = plan_by_route(job(limpet, prefer=Preference.HANDS), progress=quiet, workshop=SHELF, kept=kept)
    one = plan.parts[0]
    assert one.taken is not None
    assert one.taken.route.recipe.a_mould == one.mould.cavities > 1
    asked = replace(limpet, cavities=2)
    fixed = routes_of(plan_by_date(job(asked), progress=quiet, workshop=SHELF, kept=kept), SHELF, kept=kept)[0]
    own = [route.recipe for route in fixed.routes if route.recipe.kind == one.mould.kind.value]
    assert {recipe.a_mould for recipe in own} == {2}
    assert "The job asks for cavities = 2." in {no.reason for no in fixed.refused}


def test_the_silicones_accelerator_that_the_job_asks_for_is_in_its_mixes_and_shortens_its_cure(kept: Path) -> None:
    """Own arithmetic from the table of the accelerator: 1 g to 100 g cures in 0.7 of the time, its warmth aside."""
    plain = replace(BOLLARD, silicone="addition-silicone-a25-middling", route=Making.CAST)
    quick = replace(plain, silicone_accelerator_ratio=0.01)
    chosen = []
    for one in (plain, quick):
        choice = plan_by_date(job(one), progress=quiet, workshop=SHELF, kept=kept).parts[0].choice
        assert choice is not None
        assert choice.silicone is not None
        chosen.append(choice.silicone)
    assert chosen[1].demould_min == pytest.approx(0.7 * chosen[0].demould_min, rel=1e-3)
    assert [one.material.id for one in chosen[1].additives] == ["addition-silicone-accelerator"]
    mix = chosen[1].mixes[0].mix
    assert sum(one.mass_g for one in mix.additives) == pytest.approx(0.01 * (mix.part_a_g + mix.part_b_g))
