"""The bench over the routes: begun from a job's plan, weighed in, gone on with, taken back."""

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from firstpour.bench.sessions import open_sessions
from firstpour.errors import WorkshopError
from firstpour.files.results import PLAN_FILE
from firstpour.results import SavedPlan
from firstpour.store.opening import reading
from firstpour.store.place import store_in
from firstpour.store.stock_rows import packs_in
from firstpour.web import bench_routes
from firstpour.web.bench_entries import (
    BenchBeginWish,
    BenchDoneWish,
    BenchOutcomeWish,
    BenchSessionEntry,
    BenchWeighWish,
)
from firstpour.web.job_folders import JobFolder
from firstpour.web.refusals import NotThere
from firstpour.web.serving import Serving

BEGUN = datetime(2027, 3, 1, 9, tzinfo=UTC)


class Moving:
    """A clock that the test sets."""

    def __init__(self) -> None:
        self.now = BEGUN

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Moving:
    return Moving()


@pytest.fixture
def serving(tmp_path: Path, clock: Moving) -> Serving:
    (tmp_path / "shelf").mkdir()
    return Serving(jobs=tmp_path / "jobs", shelf=tmp_path / "shelf", clock=clock)


@pytest.fixture
def folder(serving: Serving, demo: SavedPlan) -> JobFolder:
    """The tide pool with the plan that all tests read."""
    made = serving.folders.add_demo(today=BEGUN.date(), now=BEGUN)
    made.results.mkdir()
    (made.results / PLAN_FILE).write_text(demo.entry.model_dump_json(), encoding="utf-8")
    return made


def until_weighing(session: BenchSessionEntry, serving: Serving) -> BenchSessionEntry:
    while session.step is not None and session.step.weigh is None:
        session = bench_routes.step_done(session.session, serving, BenchDoneWish(step=session.step.id))
    return session


def test_a_session_is_begun_and_found_again(folder: JobFolder, serving: Serving) -> None:
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    assert (begun.part, begun.copies, begun.good) == ("limpet", 8, 0)
    listed = bench_routes.sessions(serving)
    assert [one.session for one in listed.sessions] == [begun.session]
    assert bench_routes.session(begun.session, serving).step == begun.step


def test_a_clock_is_the_servers(folder: JobFolder, serving: Serving, clock: Moving) -> None:
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    assert begun.step is not None
    printing = bench_routes.step_done(begun.session, serving, BenchDoneWish(step=begun.step.id))
    clock.now += timedelta(minutes=10)
    later = bench_routes.session(begun.session, serving)
    assert later.clocks[0].ends_at == printing.clocks[0].ends_at
    assert printing.clocks[0].left_s - later.clocks[0].left_s == pytest.approx(600)


def test_a_weighing_off_its_ratio_says_what_to_add_and_stays(folder: JobFolder, serving: Serving) -> None:
    session = until_weighing(bench_routes.begin(folder, serving, BenchBeginWish(part="limpet")), serving)
    assert session.step is not None
    assert session.step.weigh is not None
    wanted = session.step.weigh
    short = BenchWeighWish(step=session.step.id, a_g=wanted.a_g, b_g=0.95 * wanted.b_g)
    told = bench_routes.weigh(session.session, serving, short)
    assert told.verdict == "add B"
    assert told.add_g == pytest.approx(0.05 * wanted.b_g, abs=0.11)
    assert told.session.step == session.step
    right = BenchWeighWish(step=session.step.id, a_g=wanted.a_g, b_g=wanted.b_g)
    assert bench_routes.weigh(session.session, serving, right).session.step != session.step


def test_a_step_is_done_once_and_can_be_taken_back(folder: JobFolder, serving: Serving) -> None:
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    assert begun.step is not None
    wish = BenchDoneWish(step=begun.step.id)
    bench_routes.step_done(begun.session, serving, wish)
    with pytest.raises(WorkshopError):
        bench_routes.step_done(begun.session, serving, wish)
    assert bench_routes.take_back(begun.session, serving).step == begun.step


def until_outcome(session: BenchSessionEntry, serving: Serving, clock: Moving) -> BenchSessionEntry:
    while session.step is not None and session.step.kind != "say what came out":
        clock.now += timedelta(days=1)
        step = session.step
        if step.weigh is None:
            session = bench_routes.step_done(session.session, serving, BenchDoneWish(step=step.id))
        else:
            weighed = BenchWeighWish(step=step.id, a_g=step.weigh.a_g, b_g=step.weigh.b_g)
            session = bench_routes.weigh(session.session, serving, weighed).session
    return session


def test_the_first_copy_is_logged(folder: JobFolder, serving: Serving, clock: Moving) -> None:
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    session = until_outcome(begun, serving, clock)
    assert session.step is not None
    done = bench_routes.outcome(session.session, serving, BenchOutcomeWish(step=session.step.id))
    assert (done.good, done.spoiled, done.moulds[0].shots) == (1, 0, 1)


def left_of(shelf: Path, material_id: str) -> tuple[float, float]:
    with reading(store_in(shelf)) as connection:
        assert connection is not None
        packs = [one for one in packs_in(connection) if one.material_id == material_id]
    return sum(one.left_a_g for one in packs), sum(one.left_b_g for one in packs)


def test_a_job_with_a_shelf_of_its_own_is_weighed_from_that_and_keeps_its_log_there(
    folder: JobFolder, serving: Serving
) -> None:
    """Own arithmetic: what is left is what was there less what was weighed; the user's shelf is not asked."""
    assert folder.shelf is not None
    session = until_weighing(bench_routes.begin(folder, serving, BenchBeginWish(part="limpet")), serving)
    assert session.session == f"{folder.id}.1"
    assert session.step is not None
    assert session.step.weigh is not None
    wanted = session.step.weigh
    before = left_of(folder.shelf, wanted.material_id)
    right = BenchWeighWish(step=session.step.id, a_g=wanted.a_g, b_g=wanted.b_g)
    assert bench_routes.weigh(session.session, serving, right).findings == []
    after = left_of(folder.shelf, wanted.material_id)
    assert before[0] - after[0] == pytest.approx(wanted.a_g)
    assert before[1] - after[1] == pytest.approx(wanted.b_g)
    assert open_sessions(bench_routes.bench_of(serving), at=BEGUN) == ()


def test_a_job_without_one_is_kept_beside_the_users_shelf(folder: JobFolder, serving: Serving) -> None:
    assert folder.shelf is not None
    shutil.rmtree(folder.shelf)
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    assert begun.session == "1"
    assert [one.session for one in bench_routes.sessions(serving).sessions] == ["1"]


def test_a_session_of_a_job_that_has_gone_is_refused(folder: JobFolder, serving: Serving) -> None:
    begun = bench_routes.begin(folder, serving, BenchBeginWish(part="limpet"))
    shutil.rmtree(folder.path)
    with pytest.raises(NotThere):
        bench_routes.session(begun.session, serving)
    assert bench_routes.sessions(serving).sessions == []
