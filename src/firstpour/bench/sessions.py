"""Sessions begun, looked at, ended and taken back a step.

Times are passed in. Every change is one transaction of the store: after a kill it has happened whole, or not at all.
A change that names the `step` it answers is refused where the session has moved on meanwhile, by another screen.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from firstpour.bench.clocks import ClockLine
from firstpour.bench.kept import Bench
from firstpour.bench.read import Session, made_of, part_of, plan_of, session_in, session_or_none, sessions_in
from firstpour.bench.state import SessionState, state_of
from firstpour.bench.steps import BenchStep
from firstpour.errors import BadRequest
from firstpour.files.plan_json import PartEntry
from firstpour.files.taken_entries import PrintedPartEntry
from firstpour.store.opening import changing, reading
from firstpour.store.plans import plan_kept
from firstpour.store.runs import (
    PRINTED,
    EntryKind,
    add_entry,
    add_run,
    runs_in,
    take_back,
)
from firstpour.store.stock_rows import put_back
from firstpour.values import Finding, Severity

MOST_MOULDS = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLine:
    """A session in the list: what is next, and the clock that ends first."""

    session: int
    plan: int
    job: str
    part: str
    begun_at: datetime
    stage: str
    next: str
    good: int
    copies: int
    done: bool
    clock: ClockLine | None


def open_sessions(bench: Bench, *, at: datetime, also_done: Sequence[str] = ()) -> tuple[SessionLine, ...]:
    """The sessions that are not done, the oldest first; with “done” in `also_done` the others as well.

    Those whose plan this version does not read are left out: `unread_sessions` tells of them.
    """
    with reading(bench.store) as connection:
        if connection is None:
            return ()
        states = [(one.run, state_of(one, at=at)) for one in sessions_in(connection)]
    return tuple(
        SessionLine(
            session=run.id,
            plan=run.plan_id,
            job=state.job,
            part=state.part,
            begun_at=run.begun_at,
            stage=state.stage,
            next=state.stage if state.step is None else state.step.title,
            good=state.good,
            copies=state.copies,
            done=state.done,
            clock=min(state.clocks, key=lambda one: one.ends_at, default=None),
        )
        for run, state in states
        if not state.done or "done" in also_done
    )


def unread_sessions(bench: Bench) -> tuple[Finding, ...]:
    """The sessions whose plan another version wrote: they cannot be gone on with here, but nothing is lost."""
    with reading(bench.store) as connection:
        runs = () if connection is None else runs_in(connection)
        unread = [] if connection is None else [run for run in runs if session_or_none(connection, run) is None]
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="plan-of-another-version",
            what="another version of Firstpour wrote the plan that it goes by, and this one does not read it",
            remedy="plan the job anew and begin the part again; what was logged stays kept",
            where=f"session {run.id}, {run.part}",
        )
        for run in unread
    )


def start(
    bench: Bench,
    *,
    plan: int,
    part: str,
    at: datetime,
    moulds: int | None = None,
    temperature_c: float | None = None,
) -> SessionState:
    """Begin to make a part of a kept plan; as many moulds as the plan reckons with, unless given.

    Raises
    ------
    BadRequest
        If there is no such plan or part, or the number of moulds cannot be meant.
    """
    with changing(bench.store) as connection:
        entry = plan_of(plan_kept(connection, plan).content)
        wanted = part_of(entry, part)
        count = _moulds_reckoned(wanted) if moulds is None else moulds
        if not 1 <= count <= MOST_MOULDS:
            raise BadRequest(f"{count} moulds.", remedy=f"Give 1 to {MOST_MOULDS} moulds.")
        _check_room(temperature_c)
        made = made_of(wanted)
        run_id = add_run(
            connection,
            plan_id=plan,
            part=wanted.name,
            at=at,
            moulds=count,
            temperature_c=temperature_c,
            way=made.way or PRINTED,
            material=made.material,
        )
        return state_of(session_in(connection, run_id), at=at)


def state(bench: Bench, session: int, *, at: datetime) -> SessionState:
    """How a session stands at a moment: the step to do, the clocks, the moulds, what to look out for.

    Raises
    ------
    BadRequest
        If there is no such session.
    """
    with reading(bench.store) as connection:
        if connection is None:
            raise BadRequest(f"there is no session {session}.", remedy="start one from a kept plan")
        return state_of(session_in(connection, session), at=at)


def stop(bench: Bench, session: int, *, at: datetime, note: str = "") -> SessionState:
    """End a session before all copies are there.

    Raises
    ------
    BadRequest
        If it is done already.
    """
    with at_step(bench, session, at, None) as (connection, _, here):
        add_entry(connection, session, at=at, kind=EntryKind.STOPPED, step=here.id, note=note)
        return state_of(session_in(connection, session), at=at)


def undo(bench: Bench, session: int, *, at: datetime) -> SessionState:
    """Take the last entry back, with the clock it started and what it took off the shelf.

    Raises
    ------
    BadRequest
        If nothing was done yet.
    """
    with changing(bench.store) as connection:
        log = session_in(connection, session).log
        if not log:
            raise BadRequest("nothing was done yet that could be taken back.", remedy="go on with the first step")
        take_back(connection, log[-1].id, at=at)
        put_back(connection, log[-1].id, at=at)
        return state_of(session_in(connection, session), at=at)


@contextmanager
def at_step(
    bench: Bench, session: int, at: datetime, step: str | None
) -> Iterator[tuple[Connection, Session, BenchStep]]:
    """The session inside a change, and the step that is to be done.

    Raises
    ------
    BadRequest
        If the session is done, or has moved on from `step`.
    """
    with changing(bench.store) as connection:
        now = session_in(connection, session)
        here = state_of(now, at=at).step
        if here is None:
            raise BadRequest(f"session {session} is done.", remedy="start a new one, or take the last entry back")
        if step is not None and step != here.id:
            raise BadRequest(
                f"the session has moved on: “{here.title}” is to be done now.", remedy="look at the step anew"
            )
        yield connection, now, here


def _moulds_reckoned(part: PartEntry | PrintedPartEntry) -> int:
    """Moulds that the plan reckons with; one where it does not say, and where there is none."""
    silicone = part.materials.silicone if isinstance(part, PartEntry) and part.materials is not None else None
    return silicone.mixes[0].times if silicone is not None and silicone.mixes else 1


def _check_room(temperature_c: float | None) -> None:
    if temperature_c is not None and not 0 <= temperature_c <= 50:
        raise BadRequest(f"a room of {temperature_c:g} °C.", remedy="Give 0 to 50 °C.")
