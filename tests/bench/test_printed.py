"""A part that is printed directly at the bench: plates, washing and curing, each copy looked at, the finish."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from bench_walk import NOON, at_kind, walk
from firstpour.bench.defects import Defect, DefectKind
from firstpour.bench.doing import advance, measure, new_mould, record_outcome
from firstpour.bench.facts import diagnose
from firstpour.bench.kept import Bench, keep_plan
from firstpour.bench.plates import copies_on
from firstpour.bench.sessions import start, state
from firstpour.bench.steps import StepKind
from firstpour.errors import BadRequest
from firstpour.files.catalogue import load_catalogue
from firstpour.files.plan_json import PlanEntry
from firstpour.job.job import Job, Making, PartRequest
from firstpour.results import SavedPlan, plan_into
from firstpour.samples.samples import Sample
from firstpour.sheets.run_sheet import run_sheet
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.learned import PRINT, learned_in
from firstpour.store.place import store_in
from firstpour.store.runs import ClockKind
from firstpour.workshop.workshop import Workshop
from shelf_samples import TODAY, shipped

BOLLARD = PartRequest(name="bollard", sample=Sample.BOLLARD, copies=3, hardness="D 75", route=Making.PRINT)
WARPED = Defect(kind=DefectKind.MISMATCH)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> tuple[SavedPlan, Path]:
    folder = tmp_path_factory.mktemp("printed") / "out"
    job = Job(name="posts", parts=(BOLLARD,))
    shelf = Workshop(catalogue=shipped(), stock=demo_stock(today=TODAY), today=TODAY)
    return plan_into(job, folder, progress=lambda *_: None, workshop=shelf), folder


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(store=store_in(tmp_path / "store"), catalogue=load_catalogue(None))


def test_plates_are_printed_until_all_copies_are_good_and_each_is_worked_on(
    bench: Bench, printed: tuple[SavedPlan, Path]
) -> None:
    saved, folder = printed
    (entry,) = saved.entry.printed
    plan = keep_plan(bench, folder, at=NOON)
    now = start(bench, plan=plan, part="bollard", at=NOON)
    assert (now.stage, now.step_number, now.moulds) == ("plate 1", 1, ())
    assert now.step is not None
    assert now.step.cautions
    assert entry.file in now.step.items[0]
    run_min = sum(one.wait_min + entry.on_plates[0] * one.wait_each_min for one in entry.plate_work if one.printing)
    now = advance(bench, now.session, at=NOON)
    assert [(one.kind, one.left_s / 60) for one in now.clocks] == [(ClockKind.PRINT, pytest.approx(run_min))]
    assert [one.code for one in now.findings] == ["not-yet"]
    measure(bench, now.session, at=NOON, what=PRINT, value=1.2 * run_min, unit="min")
    assert learned_in(bench.store).prints[entry.process].times == 1
    now, at = walk(bench, now, at=NOON, until=at_kind(StepKind.OUTCOME))
    done = [one.step for one in now.log if one.step.startswith("round-1/") and one.kind.value == "done"]
    own = [one for one in entry.plate_work if not one.printing]
    assert len(done) == 2 + len(own) + sum(one.wait_min + one.wait_each_min > 0 for one in own)
    for good in range(entry.on_plates[0]):
        defects = [WARPED] if good == 0 else []
        assert now.step is not None
        now = record_outcome(bench, now.session, at=at, defects=defects, step=now.step.id)
    assert (now.good, now.spoiled) == (entry.on_plates[0] - 1, 1)
    last, _ = walk(bench, now, at=at)
    assert (last.done, last.stage, last.good >= 3) == (True, "all copies are there", True)
    assert last.moulds == ()


def test_a_plate_more_holds_what_is_missing_and_no_more_than_finds_room(printed: tuple[SavedPlan, Path]) -> None:
    (entry,) = printed[0].entry.printed
    planned = len(entry.on_plates)
    assert [copies_on(entry, n, 1) for n in range(1, planned + 1)] == entry.on_plates
    assert copies_on(entry, planned + 1, 2) == min(2, entry.most_on_plate)
    assert copies_on(entry, planned + 1, 10_000) == entry.most_on_plate


def test_a_print_that_fails_wholly_is_printed_again(bench: Bench, printed: tuple[SavedPlan, Path]) -> None:
    plan = keep_plan(bench, printed[1], at=NOON)
    now = start(bench, plan=plan, part="bollard", at=NOON)
    now, at = walk(bench, now, at=NOON, spoiled={1: [WARPED]}, until=lambda one: one.round == 2)
    assert (now.stage, now.good) == ("plate 2", 0)
    last, end = walk(bench, now, at=at)
    assert last.done
    assert last.good == 3
    assert end - at > timedelta(minutes=printed[0].entry.printed[0].print_min / 2)


def test_what_a_print_has_not_is_refused(bench: Bench, printed: tuple[SavedPlan, Path]) -> None:
    plan = keep_plan(bench, printed[1], at=NOON)
    now = start(bench, plan=plan, part="bollard", at=NOON)
    with pytest.raises(BadRequest, match="has no mould"):
        new_mould(bench, now.session, at=NOON, instead_of=1)
    walk(bench, now, at=NOON, spoiled={1: [WARPED]}, until=lambda one: one.round == 2)
    with pytest.raises(BadRequest, match="causes that are known here are those of casts"):
        diagnose(bench, now.session)
    assert state(bench, now.session, at=datetime(2027, 1, 5, tzinfo=NOON.tzinfo)).spoiled >= 1


def test_every_copy_that_is_sanded_is_a_step_at_the_end(
    bench: Bench, tmp_path: Path, printed: tuple[SavedPlan, Path]
) -> None:
    content = printed[0].entry.model_dump_json()
    plan = PlanEntry.model_validate_json(content)
    sand = {"what": "sand and prime every copy", "text": "Sand it wet.", "printing": False, "hands_min": 20.0}
    more = plan.printed[0].model_copy(
        update={
            "afterwards": [
                type(plan.printed[0].plate_work[0])(**sand, wait_min=60.0, hands_each_min=0.0, wait_each_min=0.0)
            ]
        }
    )
    (tmp_path / "plan.json").write_text(plan.model_copy(update={"printed": [more]}).model_dump_json())
    number = keep_plan(bench, tmp_path, at=NOON)
    now, at = walk(
        bench, start(bench, plan=number, part="bollard", at=NOON), at=NOON, until=lambda one: one.stage == "finishing"
    )
    assert now.step is not None
    assert now.step.items == ("Sand it wet. Wait 1 h.",)
    last, _ = walk(bench, now, at=at)
    assert last.done


def test_its_page_of_the_run_sheet_has_plates_cautions_and_a_log(printed: tuple[SavedPlan, Path]) -> None:
    plan = printed[0].entry
    page = run_sheet(plan).pages[-1]
    assert page.title == "bollard: print"
    kinds = [block.kind for block in page.blocks]
    assert kinds[0] == "cautions"
    tables = [block for block in page.blocks if block.kind == "table"]
    assert [row[2] for row in tables[0].rows] == [str(n) for n in plan.printed[0].on_plates]  # type: ignore[union-attr]
    assert tables[-1].title.startswith("Log")  # type: ignore[union-attr]
