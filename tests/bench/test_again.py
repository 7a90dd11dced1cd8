"""The days that are left after two failures: what is done stands, missing copies are made up for."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bench_walk import at_kind, walk
from firstpour.bench.again import put_in_order_again
from firstpour.bench.dates import dates_now
from firstpour.bench.defects import Defect, DefectKind
from firstpour.bench.doing import new_mould
from firstpour.bench.kept import Bench, keep_plan
from firstpour.bench.sessions import start, undo
from firstpour.bench.steps import StepKind
from firstpour.errors import BadRequest
from firstpour.files.plan_json import PlanEntry
from firstpour.formulas.yields import pours_for_good_seen
from firstpour.schedule.solve import Effort

MORNING = datetime(2027, 1, 5, 9, tzinfo=UTC)
LITTLE = Effort(last=0.2, proofs=0.1, visits=0.0, tidy=0.1)
FLASH = [Defect(kind=DefectKind.FLASH)]


def test_the_dates_follow_what_is_done_and_what_was_spoiled(bench: Bench, kept: int) -> None:
    before = put_in_order_again(bench, plan=kept, at=MORNING, effort=LITTLE)
    assert before.good == {}
    assert before.replanned.done == frozenset()
    now = start(bench, plan=kept, part="limpet", at=MORNING)
    now, at = walk(bench, now, at=MORNING, until=lambda one: one.round == 1 and at_kind(StepKind.WAIT)(one))
    poured = put_in_order_again(bench, plan=kept, at=at + timedelta(minutes=1), effort=LITTLE)
    assert "limpet/round 1 cast" in poured.replanned.done
    assert "limpet/round 1 sets" in poured.replanned.running
    assert "limpet/mould 1 open" in poured.replanned.done
    now, at = walk(bench, now, at=at, spoiled={1: FLASH, 2: FLASH}, until=lambda one: one.round == 4)
    failed = put_in_order_again(bench, plan=kept, at=at, effort=LITTLE)
    assert failed.good == {"limpet": 1}
    assert "limpet/round 3 out" in failed.replanned.done
    assert failed.rounds["limpet"] > before.rounds["limpet"]
    to_come = {one.id for one in failed.replanned.left.tasks} - failed.replanned.running
    assert all(one.start >= at for one in failed.replanned.tasks if one.task.id in to_come)
    last, at = walk(bench, now, at=at)
    assert last.done
    done = put_in_order_again(bench, plan=kept, at=at, effort=LITTLE)
    assert not [one for one in done.replanned.left.tasks if one.part == "limpet" and one.id.endswith(" cast")]


def test_a_spoiled_copy_moves_the_date_and_taking_it_back_moves_it_back(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=MORNING)
    now, at = walk(bench, now, at=MORNING, until=lambda one: one.round == 3 and at_kind(StepKind.OUTCOME)(one))
    first = dates_now(bench, now.session, at=at, effort=LITTLE)
    assert first.before is not None
    assert first.all_done_at is not None
    walk(bench, now, at=at, spoiled={3: FLASH}, until=lambda one: one.round == 4)
    spoiled = dates_now(bench, now.session, at=at, effort=LITTLE)
    assert spoiled.before == first.all_done_at
    six_more = pours_for_good_seen(6, good_weight=18 + 2, spoiled_weight=2 + 1, confidence_ratio=0.9)
    assert spoiled.rounds == 3 + six_more > first.rounds
    undo(bench, now.session, at=at)
    back = dates_now(bench, now.session, at=at, effort=LITTLE)
    assert back.before == spoiled.all_done_at
    assert back.rounds == first.rounds


def test_a_new_mould_is_made_between_two_rounds_and_proved_in_the_next(bench: Bench, kept: int) -> None:
    now = start(bench, plan=kept, part="limpet", at=MORNING)
    now, at = walk(bench, now, at=MORNING, until=lambda one: one.round == 3 and one.step_number == 1)
    before = put_in_order_again(bench, plan=kept, at=at, effort=LITTLE).replanned
    now = new_mould(bench, now.session, at=at, instead_of=1)
    torn = put_in_order_again(bench, plan=kept, at=at, effort=LITTLE).replanned
    tasks = {one.task.id: one for one in torn.tasks}
    assert tasks["limpet/mould 2 open"].start >= at
    assert tasks["limpet/round 3 cast"].start >= tasks["limpet/mould 2 open"].end
    assert "limpet/round 3 out" in torn.left.proofs
    assert "limpet/round 3 out" not in before.left.proofs
    new, old = (
        sum(one.minutes for one in done.left.tasks if one.part == "limpet" and one.attended)
        for done in (torn, before)
    )
    own = [one.task for one in torn.tasks if one.task.part == "limpet" and one.task.attended]
    made = sum(one.minutes for one in own if one.lane == "mould 1")
    assert new - old == pytest.approx(made)
    now, at = walk(bench, now, at=at, until=lambda one: one.round == 4)
    after = put_in_order_again(bench, plan=kept, at=at, effort=LITTLE).replanned
    assert {"limpet/mould 2 open", "limpet/round 3 out"} <= after.done


def test_a_plan_without_an_order_of_work_says_so_and_nothing_is_lost(
    bench: Bench, plan_folder: Path, tmp_path: Path
) -> None:
    text = (plan_folder / "plan.json").read_text()
    plan = PlanEntry.model_validate_json(text).model_copy(update={"schedule": None})
    (tmp_path / "plan.json").write_text(plan.model_dump_json())
    number = keep_plan(bench, tmp_path, at=MORNING)
    with pytest.raises(BadRequest, match="holds no order of work"):
        put_in_order_again(bench, plan=number, at=MORNING)
    now = start(bench, plan=number, part="limpet", at=MORNING)
    told = dates_now(bench, now.session, at=MORNING)
    assert told.all_done_at is None
    assert "no order of work" in told.not_known
