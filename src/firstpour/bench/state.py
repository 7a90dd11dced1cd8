"""Where a session stands: worked out anew each time from what was logged, so that nothing is lost with a process."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import lru_cache
from math import ceil

from sqlalchemy import Connection

from firstpour.bench.steps import BenchStep, StepKind, mould_steps, ready_steps, round_steps
from firstpour.errors import BadRequest
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.sheets.words import wait_words
from firstpour.store.plans import KeptPlan, plan_kept
from firstpour.store.runs import (
    ClockKind,
    EntryKind,
    KeptClock,
    LogEntry,
    Measurement,
    Outcome,
    Run,
    clocks_of,
    log_of,
    measurements_of,
    outcomes_of,
    run_of,
    runs_in,
)
from firstpour.values import Finding, Severity

FINISHING = (EntryKind.DONE, EntryKind.WEIGHED, EntryKind.OUTCOME)


class OlderPlan(BadRequest):
    """A kept plan that this version does not read."""


class ClockState(StrEnum):
    """How a clock stands."""

    RUNNING = "running"
    CALLS = "nearly over"
    OVER = "over"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockLine:
    """A clock that matters now. `left_s` is below zero once it is over. All moments are UTC."""

    id: int
    kind: ClockKind
    name: str
    started_at: datetime
    ends_at: datetime
    warn_at: datetime | None
    left_s: float
    state: ClockState


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldLine:
    """A mould: the shots it has given, the good copies of them, and how many it is reckoned to last."""

    number: int
    shots: int
    good: int
    life_low_shots: int | None
    life_high_shots: int | None
    in_use: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionState:
    """A session as it stands: `step` is what to do now, None once all copies are there or it was stopped.

    `stage` is “making ready”, “mould 2” or “round 3”, and `step_number` of `steps_in_stage` counts in it.
    `clocks` are those that still run, and pot lives and waits that have ended for what is now to do.
    """

    session: int
    plan: int
    job: str
    part: str
    copies: int
    good: int
    spoiled: int
    round: int
    stage: str
    step: BenchStep | None
    step_number: int
    steps_in_stage: int
    next_title: str | None
    clocks: tuple[ClockLine, ...]
    moulds: tuple[MouldLine, ...]
    log: tuple[LogEntry, ...]
    findings: tuple[Finding, ...]
    done: bool
    plan_folder: str
    """Where the pictures of the plan lie."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """All that is kept of a session, read at once."""

    run: Run
    kept: KeptPlan
    plan: PlanEntry
    part: PartEntry
    log: tuple[LogEntry, ...]
    clocks: tuple[KeptClock, ...]
    measured: tuple[Measurement, ...]
    outcomes: tuple[Outcome, ...]

    @property
    def good(self) -> int:
        """Good copies so far."""
        return sum(one.good for one in self.outcomes)

    @property
    def finished(self) -> Mapping[str, LogEntry]:
        """The entry that finished each step that is done."""
        return {one.step: one for one in self.log if one.kind in FINISHING}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Here:
    """The stage that is worked on, with its steps; no step: all is done."""

    stage: str
    steps: tuple[BenchStep, ...]
    step: BenchStep | None
    round: int
    moulds: tuple[int, ...]


def session_in(connection: Connection, run_id: int) -> Session:
    """Read a session.

    Raises
    ------
    BadRequest
        If there is none of this number.
    OlderPlan
        If this version does not read its plan.
    """
    run = run_of(connection, run_id)
    kept = plan_kept(connection, run.plan_id)
    plan = plan_of(kept.content)
    return Session(
        run=run,
        kept=kept,
        plan=plan,
        part=part_of(plan, run.part),
        log=log_of(connection, run_id),
        clocks=clocks_of(connection, run_id),
        measured=measurements_of(connection, run_id),
        outcomes=outcomes_of(connection, run_id),
    )


def sessions_in(connection: Connection) -> tuple[Session, ...]:
    """Every session whose plan this version reads, the oldest first."""
    every = (session_or_none(connection, run) for run in runs_in(connection))
    return tuple(one for one in every if one is not None)


def session_or_none(connection: Connection, run: Run) -> Session | None:
    """The session of a run; None where an older version wrote its plan."""
    try:
        return session_in(connection, run.id)
    except OlderPlan:
        return None


@lru_cache(maxsize=8)
def plan_of(content: str) -> PlanEntry:
    """A kept plan read again.

    Raises
    ------
    OlderPlan
        If this version does not read it.
    """
    try:
        return PlanEntry.model_validate_json(content)
    except ValueError as error:
        raise OlderPlan(
            "its plan was written by another version of Firstpour, and this one does not read it",
            remedy="plan the job anew and begin its part again; what was logged stays kept",
        ) from error


def part_names(content: str) -> list[str]:
    """The names of a kept plan's parts; none where this version does not read it."""
    try:
        return [part.name for part in plan_of(content).parts]
    except OlderPlan:
        return []


def part_of(plan: PlanEntry, name: str) -> PartEntry:
    """The part of this name.

    Raises
    ------
    BadRequest
        If the plan has none.
    """
    for part in plan.parts:
        if part.name == name:
            return part
    names = ", ".join(part.name for part in plan.parts)
    raise BadRequest(f"the plan has no part “{name}”.", remedy=f"Name one of: {names}.")


def state_of(session: Session, *, at: datetime) -> SessionState:
    """Where the session stands at a moment."""
    here = _here(session)
    clocks = _clock_lines(session, at)
    moulds = _mould_lines(session, here.moulds)
    number = here.steps.index(here.step) + 1 if here.step is not None else len(here.steps)
    after = here.steps[number].title if here.step is not None and number < len(here.steps) else None
    return SessionState(
        session=session.run.id,
        plan=session.kept.id,
        job=session.kept.job,
        part=session.part.name,
        copies=session.part.copies,
        good=session.good,
        spoiled=len(session.outcomes) - session.good,
        round=here.round,
        stage=here.stage,
        step=here.step,
        step_number=number,
        steps_in_stage=len(here.steps),
        next_title=after,
        clocks=clocks,
        moulds=moulds,
        log=session.log,
        findings=(*_clock_findings(clocks), *_wait_findings(here.step, clocks), *_wear_findings(moulds, session)),
        done=here.step is None,
        plan_folder=session.kept.folder,
    )


def _here(session: Session) -> _Here:
    """The first step that is not done, in the order of the work."""
    plan, part, finished = session.plan, session.part, session.finished
    if any(one.kind is EntryKind.STOPPED for one in session.log):
        return _Here(stage="stopped", steps=(), step=None, round=0, moulds=())
    stages = [("making ready", ready_steps(plan, part))]
    moulds = list(range(1, session.run.moulds + 1))
    stages += [(f"mould {number}", mould_steps(plan, part, mould=number)) for number in moulds]
    for stage, steps in stages:
        step = _first_open(steps, finished)
        if step is not None:
            return _Here(stage=stage, steps=steps, step=step, round=0, moulds=tuple(moulds))
    return _in_rounds(session, moulds)


def _in_rounds(session: Session, moulds: list[int]) -> _Here:
    number, latest = 0, session.run.moulds
    renewed = [one for one in session.log if one.kind is EntryKind.NEW_MOULD]
    while True:
        number += 1
        in_use = tuple(moulds)
        steps = round_steps(session.plan, session.part, number=number, moulds=in_use)
        before = [one for one in renewed if one.step == f"round-{number}"]
        for one in before:
            latest += 1
            moulds[moulds.index(int(one.note))] = latest
            silicone = mould_steps(session.plan, session.part, mould=latest)
            step = _first_open(silicone, session.finished)
            if step is not None:
                return _Here(
                    stage=f"mould {latest}", steps=silicone, step=step, round=number - 1, moulds=tuple(moulds)
                )
        if before:
            in_use = tuple(moulds)
            steps = round_steps(session.plan, session.part, number=number, moulds=in_use)
        begun = any(step.id in session.finished for step in steps)
        if not begun and session.good >= session.part.copies:
            return _Here(stage="all copies are there", steps=(), step=None, round=number - 1, moulds=in_use)
        step = _first_open(steps, session.finished)
        if step is not None:
            return _Here(stage=f"round {number}", steps=steps, step=step, round=number, moulds=in_use)


def _first_open(steps: Sequence[BenchStep], finished: Mapping[str, LogEntry]) -> BenchStep | None:
    return next((step for step in steps if step.id not in finished), None)


def _clock_lines(session: Session, at: datetime) -> tuple[ClockLine, ...]:
    """Clocks that nobody has answered yet: a pot life by its pour, a wait by the step that waited for it."""
    answered = _answered(session)
    return tuple(
        ClockLine(
            id=one.id,
            kind=one.kind,
            name=one.name,
            started_at=one.started_at,
            ends_at=one.ends_at,
            warn_at=one.warn_at,
            left_s=(one.ends_at - at).total_seconds(),
            state=_clock_state(one, at),
        )
        for one in session.clocks
        if one.id not in answered
    )


def _answered(session: Session) -> set[int]:
    """A clock is answered by what was finished after it began: a pot life by a pour, another by what waits for it.

    One that nothing waits for is answered by the first thing finished after its end.
    """
    numbers = {one.id: one.number for one in session.log}
    own = {one.id for one in session.log if one.kind is EntryKind.CLOCK}
    by_step = _steps_by_id(session)
    found: set[int] = set()
    for clock in session.clocks:
        for entry in session.log:
            if entry.kind not in FINISHING or entry.number <= numbers[clock.entry_id]:
                continue
            step = by_step.get(entry.step)
            poured = clock.kind is ClockKind.POT_LIFE and step is not None and step.kind is StepKind.POUR
            waited = step is not None and clock.name in step.waits_for
            if poured or waited or (clock.entry_id in own and entry.at >= clock.ends_at):
                found.add(clock.id)
                break
    return found


def _steps_by_id(session: Session) -> dict[str, BenchStep]:
    """Every step that an entry of the log may belong to."""
    steps = list(ready_steps(session.plan, session.part))
    latest = session.run.moulds + sum(one.kind is EntryKind.NEW_MOULD for one in session.log)
    for number in range(1, latest + 1):
        steps += mould_steps(session.plan, session.part, mould=number)
    rounds = [
        int(one.step.split("/")[0].removeprefix("round-")) for one in session.log if one.step.startswith("round-")
    ]
    for number in range(1, max(rounds, default=0) + 1):
        steps += round_steps(session.plan, session.part, number=number, moulds=range(1, latest + 1))
    return {step.id: step for step in steps}


def _clock_state(clock: KeptClock, at: datetime) -> ClockState:
    if at >= clock.ends_at:
        return ClockState.OVER
    return ClockState.CALLS if clock.warn_at is not None and at >= clock.warn_at else ClockState.RUNNING


def _mould_lines(session: Session, in_use: Sequence[int]) -> tuple[MouldLine, ...]:
    materials = session.part.materials
    low, high = (None, None) if materials is None else (materials.mould_life_shots or (None, None))
    numbers = sorted({*in_use, *(one.mould for one in session.outcomes)})
    return tuple(
        MouldLine(
            number=number,
            shots=len({one.shot for one in session.outcomes if one.mould == number}),
            good=sum(one.mould == number and one.good for one in session.outcomes),
            life_low_shots=low,
            life_high_shots=high,
            in_use=number in in_use,
        )
        for number in numbers
    )


def _clock_findings(clocks: Sequence[ClockLine]) -> tuple[Finding, ...]:
    found = []
    for clock in clocks:
        if clock.kind is not ClockKind.POT_LIFE or clock.state is ClockState.RUNNING:
            continue
        over = clock.state is ClockState.OVER
        found.append(
            Finding(
                severity=Severity.ERROR if over else Severity.WARNING,
                code="pot-life-over" if over else "pot-life-nearly-over",
                what=f"the {clock.name} {'ended' if over else 'ends in'} {wait_words(abs(clock.left_s) / 60)}"
                f"{' ago' if over else ''}",
                remedy="do not pour it: it fills badly and holds its bubbles; weigh a new batch"
                if over
                else "pour now",
            )
        )
    return tuple(found)


def _wait_findings(step: BenchStep | None, clocks: Sequence[ClockLine]) -> tuple[Finding, ...]:
    if step is None:
        return ()
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="not-yet",
            what=f"{clock.name}: {wait_words(ceil(clock.left_s / 60))} to go",
            remedy="wait for the clock; go on earlier only if the fingernail leaves no mark, or the printer is done",
        )
        for clock in clocks
        if clock.name in step.waits_for and clock.state is not ClockState.OVER
    )


def _wear_findings(moulds: Sequence[MouldLine], session: Session) -> tuple[Finding, ...]:
    if session.good >= session.part.copies:
        return ()
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="mould-worn",
            what=f"mould {one.number} has given {one.shots} shots; such moulds last {one.life_low_shots} to "
            f"{one.life_high_shots}",
            remedy="look at its seam, gate and fine detail before the next pour, and make a new mould if they tear",
        )
        for one in moulds
        if one.in_use and one.life_low_shots is not None and one.shots >= one.life_low_shots
    )
