"""Routes on the bench: sessions, step by step, with the clocks of the server."""

from dataclasses import asdict
from datetime import UTC, datetime

from fastapi import APIRouter

from firstpour.bench import doing
from firstpour.bench import sessions as begun
from firstpour.bench.dates import Dates, dates_now
from firstpour.bench.defects import Defect, DefectKind, Place
from firstpour.bench.kept import Bench, keep_plan
from firstpour.bench.state import SessionState
from firstpour.bench.steps import BenchStep
from firstpour.bench.weigh_in import weigh_in
from firstpour.files.catalogue import load_catalogue
from firstpour.files.entry import finding_entries
from firstpour.files.places import existing_shelf, store_place
from firstpour.web.bench_entries import (
    BenchBeginWish,
    BenchClockEntry,
    BenchDatesEntry,
    BenchDoneWish,
    BenchLineEntry,
    BenchMouldEntry,
    BenchOutcomeWish,
    BenchSessionEntry,
    BenchSessionsEntry,
    BenchStepEntry,
    BenchWeighedEntry,
    BenchWeighEntry,
    BenchWeighWish,
)
from firstpour.web.refusals import REFUSED
from firstpour.web.serving import Opened, Served, Serving

api = APIRouter(prefix="/api", responses=REFUSED, tags=["bench"])


@api.get("/bench")
def sessions(serving: Served) -> BenchSessionsEntry:
    """The sessions that are not done, and those that this version cannot read."""
    now, here = now_of(serving), bench_of(serving)
    lines = begun.open_sessions(here, at=now)
    return BenchSessionsEntry(
        now=now,
        sessions=[BenchLineEntry.model_validate(one) for one in lines],
        findings=finding_entries(begun.unread_sessions(here)),
    )


@api.post("/jobs/{job_id}/bench", status_code=201)
def begin(folder: Opened, serving: Served, wish: BenchBeginWish) -> BenchSessionEntry:
    """Begin to make a part: the job's plan is kept as it stands, and its first step shown."""
    now, here = now_of(serving), bench_of(serving)
    part = folder.part(wish.part)
    plan = keep_plan(here, folder.results, at=now)
    state = begun.start(here, plan=plan, part=part.name, at=now, moulds=wish.moulds, temperature_c=wish.temperature_c)
    return session_entry(state, now)


@api.get("/bench/{session}")
def session(session: int, serving: Served) -> BenchSessionEntry:
    """What to do now, the clocks and the moulds."""
    now = now_of(serving)
    return session_entry(begun.state(bench_of(serving), session, at=now), now)


@api.post("/bench/{session}/done")
def step_done(session: int, serving: Served, wish: BenchDoneWish) -> BenchSessionEntry:
    """The step at hand is done; the clock that it sets starts now."""
    now = now_of(serving)
    return session_entry(doing.advance(bench_of(serving), session, at=now, step=wish.step, note=wish.note), now)


@api.post("/bench/{session}/weigh")
def weigh(session: int, serving: Served, wish: BenchWeighWish) -> BenchWeighedEntry:
    """Judge what was weighed, and take it off the shelf; within the tolerance the step is done."""
    now = now_of(serving)
    answer = weigh_in(bench_of(serving), session, at=now, a_g=wish.a_g, b_g=wish.b_g, step=wish.step)
    return BenchWeighedEntry(
        verdict=answer.weighed.verdict,
        add_g=answer.weighed.add_g,
        ratio_error_ratio=answer.weighed.ratio_error_ratio,
        advice=list(answer.weighed.advice),
        findings=finding_entries(answer.findings),
        session=session_entry(answer.state, now),
    )


@api.post("/bench/{session}/outcome")
def outcome(session: int, serving: Served, wish: BenchOutcomeWish) -> BenchSessionEntry:
    """What came out of the mould at hand."""
    now = now_of(serving)
    defects = [Defect(kind=one.kind, place=one.place) for one in wish.defects]
    here = bench_of(serving)
    state = doing.record_outcome(here, session, at=now, defects=defects, note=wish.note, step=wish.step)
    return session_entry(state, now, dates_now(here, session, at=now))


@api.post("/bench/{session}/undo")
def take_back(session: int, serving: Served) -> BenchSessionEntry:
    """Take the last entry back, with its clock and what it took off the shelf."""
    now, here = now_of(serving), bench_of(serving)
    return session_entry(begun.undo(here, session, at=now), now, dates_now(here, session, at=now))


def now_of(serving: Serving) -> datetime:
    """The server's clock."""
    return serving.clock().astimezone(UTC)


def bench_of(serving: Serving) -> Bench:
    """Where the bench keeps things."""
    shelf = existing_shelf(serving.shelf)
    return Bench(store=store_place(shelf), catalogue=load_catalogue(shelf))


def session_entry(state: SessionState, now: datetime, dates: Dates | None = None) -> BenchSessionEntry:
    """A session as it stands."""
    return BenchSessionEntry(
        now=now,
        session=state.session,
        job=state.job,
        part=state.part,
        copies=state.copies,
        good=state.good,
        spoiled=state.spoiled,
        round=state.round,
        stage=state.stage,
        step=None if state.step is None else _step(state.step),
        step_number=state.step_number,
        steps_in_stage=state.steps_in_stage,
        next_title=state.next_title,
        clocks=[BenchClockEntry.model_validate(one) for one in state.clocks],
        moulds=[BenchMouldEntry.model_validate(one) for one in state.moulds],
        entries=len(state.log),
        findings=finding_entries(state.findings),
        done=state.done,
        dates=None if dates is None else BenchDatesEntry.model_validate(dates),
        defect_kinds=list(DefectKind),
        defect_places=list(Place),
    )


def _step(step: BenchStep) -> BenchStepEntry:
    weighed = None
    if step.weigh is not None:
        weighed = BenchWeighEntry(**{**asdict(step.weigh), "additives_g": dict(step.weigh.additives_g)})
    return BenchStepEntry(
        id=step.id,
        kind=step.kind,
        title=step.title,
        items=list(step.items),
        cautions=list(step.cautions),
        weigh=weighed,
        waits_for=list(step.waits_for),
        mould=step.mould,
    )
