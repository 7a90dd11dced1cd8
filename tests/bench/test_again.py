"""The days that are left after two failures: what is done stands, missing copies are made up for."""

from datetime import UTC, datetime, timedelta

from bench_walk import at_kind, walk
from firstpour.bench.again import put_in_order_again
from firstpour.bench.defects import Defect, DefectKind
from firstpour.bench.kept import Bench
from firstpour.bench.sessions import start
from firstpour.bench.steps import StepKind
from firstpour.results import SavedPlan
from firstpour.schedule.solve import Effort

MORNING = datetime(2027, 1, 5, 9, tzinfo=UTC)
LITTLE = Effort(last=0.2, proofs=0.1, visits=0.1, tidy=0.1)
FLASH = [Defect(kind=DefectKind.FLASH)]


def test_the_dates_follow_what_is_done_and_what_was_spoiled(bench: Bench, kept: int, demo: SavedPlan) -> None:
    before = put_in_order_again(bench, demo.plan, at=MORNING, effort=LITTLE)
    assert before.good == {}
    assert before.replanned.done == frozenset()
    now = start(bench, plan=kept, part="limpet", at=MORNING)
    now, at = walk(bench, now, at=MORNING, until=lambda one: one.round == 1 and at_kind(StepKind.WAIT)(one))
    poured = put_in_order_again(bench, demo.plan, at=at + timedelta(minutes=1), effort=LITTLE)
    assert "limpet/round 1 cast" in poured.replanned.done
    assert "limpet/round 1 sets" in poured.replanned.running
    assert "limpet/mould 1 open" in poured.replanned.done
    now, at = walk(bench, now, at=at, spoiled={1: FLASH, 2: FLASH}, until=lambda one: one.round == 4)
    failed = put_in_order_again(bench, demo.plan, at=at, effort=LITTLE)
    assert failed.good == {"limpet": 1}
    assert "limpet/round 3 out" in failed.replanned.done
    assert failed.rounds["limpet"] > before.rounds["limpet"]
    to_come = {one.id for one in failed.replanned.left.tasks} - failed.replanned.running
    assert all(one.start >= at for one in failed.replanned.tasks if one.task.id in to_come)
    last, at = walk(bench, now, at=at)
    assert last.done
    done = put_in_order_again(bench, demo.plan, at=at, effort=LITTLE)
    assert not [one for one in done.replanned.left.tasks if one.part == "limpet" and one.id.endswith(" cast")]
