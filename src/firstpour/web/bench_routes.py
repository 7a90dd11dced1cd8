"""Routes on the bench: sessions, step by step, with the clocks of the server."""

from collections.abc import Iterator
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Path

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
from firstpour.values import Finding
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
from firstpour.web.job_folders import JobFolder
from firstpour.web.refusals import REFUSED
from firstpour.web.serving import Opened, Served, Serving

api = APIRouter(prefix="/api", responses=REFUSED, tags=["bench"])
SessionName = Annotated[
    str,
    Path(
        pattern=r"^([a-z0-9][a-z0-9-]{0,79}\.)?[0-9]{1,18}$",
        description="Its number; behind the job's id and a dot where the job has a shelf of its own.",
    ),
]


@api.get("/bench")
def sessions(serving: Served) -> BenchSessionsEntry:
    """The sessions that are not done, and those that this version cannot read."""
    now = now_of(serving)
    lines: list[BenchLineEntry] = []
    unread: list[Finding] = []
    for job_id, here in _benches(serving):
        for one in begun.open_sessions(here, at=now):
            lines.append(_line(one, session_name(job_id, one.session)))
        unread += begun.unread_sessions(here)
    lines.sort(key=lambda one: one.begun_at)
    return BenchSessionsEntry(now=now, sessions=lines, findings=finding_entries(unread))


@api.post("/jobs/{job_id}/bench", status_code=201)
def begin(folder: Opened, serving: Served, wish: BenchBeginWish) -> BenchSessionEntry:
    """Begin to make a part: the job's plan is kept as it stands, and its first step shown."""
    now, here = now_of(serving), bench_of(serving, folder)
    part = folder.part(wish.part)
    plan = keep_plan(here, folder.results, at=now)
    state = begun.start(here, plan=plan, part=part.name, at=now, moulds=wish.moulds, temperature_c=wish.temperature_c)
    return session_entry(state, now, named=session_name(folder.id if folder.shelf else "", state.session))


@api.get("/bench/{session}")
def session(session: SessionName, serving: Served) -> BenchSessionEntry:
    """What to do now, the clocks and the moulds."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    return session_entry(begun.state(here, number, at=now), now, named=session)


@api.post("/bench/{session}/done")
def step_done(session: SessionName, serving: Served, wish: BenchDoneWish) -> BenchSessionEntry:
    """The step at hand is done; the clock that it sets starts now."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    return session_entry(doing.advance(here, number, at=now, step=wish.step, note=wish.note), now, named=session)


@api.post("/bench/{session}/weigh")
def weigh(session: SessionName, serving: Served, wish: BenchWeighWish) -> BenchWeighedEntry:
    """Judge what was weighed, and take it off the shelf; within the tolerance the step is done."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    answer = weigh_in(here, number, at=now, a_g=wish.a_g, b_g=wish.b_g, step=wish.step)
    return BenchWeighedEntry(
        verdict=answer.weighed.verdict,
        add_g=answer.weighed.add_g,
        ratio_error_ratio=answer.weighed.ratio_error_ratio,
        advice=list(answer.weighed.advice),
        findings=finding_entries(answer.findings),
        session=session_entry(answer.state, now, named=session),
    )


@api.post("/bench/{session}/outcome")
def outcome(session: SessionName, serving: Served, wish: BenchOutcomeWish) -> BenchSessionEntry:
    """What came out of the mould at hand."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    defects = [Defect(kind=one.kind, place=one.place) for one in wish.defects]
    state = doing.record_outcome(here, number, at=now, defects=defects, note=wish.note, step=wish.step)
    return session_entry(state, now, dates_now(here, number, at=now), named=session)


@api.post("/bench/{session}/undo")
def take_back(session: SessionName, serving: Served) -> BenchSessionEntry:
    """Take the last entry back, with its clock and what it took off the shelf."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    state = begun.undo(here, number, at=now)
    return session_entry(state, now, dates_now(here, number, at=now), named=session)


def now_of(serving: Serving) -> datetime:
    """The server's clock."""
    return serving.clock().astimezone(UTC)


def bench_of(serving: Serving, folder: JobFolder | None = None) -> Bench:
    """Where the bench keeps things: beside the shelf that the job is planned from, its own or the user's."""
    own = None if folder is None else folder.shelf
    shelf = existing_shelf(serving.shelf) if own is None else own
    return Bench(store=store_place(shelf), catalogue=load_catalogue(shelf))


def bench_at(serving: Serving, session: str) -> tuple[Bench, int]:
    """Where the session of that name is kept, and its number there.

    Raises
    ------
    NotThere
        If it is one of a job that has gone.
    """
    job_id, _, number = session.rpartition(".")
    return bench_of(serving, serving.folders.get(job_id) if job_id else None), int(number)


def session_name(job_id: str, number: int) -> str:
    """How a session is called in addresses; `job_id` empty where it is kept beside the user's shelf.

    >>> session_name("", 7), session_name("tide-pool", 7)
    ('7', 'tide-pool.7')
    """
    return f"{job_id}.{number}" if job_id else str(number)


def _benches(serving: Serving) -> Iterator[tuple[str, Bench]]:
    """The user's bench, and those of the jobs that have a shelf of their own, by the job's id."""
    yield "", bench_of(serving)
    for folder in serving.folders.all():
        if folder.shelf is not None:
            yield folder.id, bench_of(serving, folder)


def session_entry(state: SessionState, now: datetime, dates: Dates | None = None, *, named: str) -> BenchSessionEntry:
    """A session as it stands."""
    return BenchSessionEntry(
        now=now,
        session=named,
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


def _line(one: begun.SessionLine, named: str) -> BenchLineEntry:
    return BenchLineEntry(
        session=named,
        job=one.job,
        part=one.part,
        begun_at=one.begun_at,
        stage=one.stage,
        next=one.next,
        good=one.good,
        copies=one.copies,
        done=one.done,
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
