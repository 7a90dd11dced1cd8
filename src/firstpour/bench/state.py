"""Where a session stands: worked out anew each time from what was logged, so that nothing is lost with a process."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from firstpour.bench.clocks import ClockLine, clock_findings, clock_lines, wait_findings
from firstpour.bench.course import Stage, after_rounds, before_rounds, mould_stage, round_in, round_stage
from firstpour.bench.read import Session
from firstpour.bench.steps import BenchStep
from firstpour.store.runs import (
    EntryKind,
    LogEntry,
)
from firstpour.values import Finding, Severity


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

    `stage` is “making ready”, “mould 2”, “round 3”, “plate 1” or “finishing”; `step_number` counts in its
    `steps_in_stage`.
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
class _Here:
    """The stage that is worked on, with its steps; no step: all is done."""

    stage: Stage
    step: BenchStep | None = None
    round: int = 0
    moulds: tuple[int, ...] = ()


def state_of(session: Session, *, at: datetime) -> SessionState:
    """Where the session stands at a moment."""
    here = _here(session)
    clocks = clock_lines(session, at)
    moulds = _mould_lines(session, here.moulds)
    steps = here.stage.steps
    number = steps.index(here.step) + 1 if here.step is not None else len(steps)
    after = steps[number].title if here.step is not None and number < len(steps) else None
    return SessionState(
        session=session.run.id,
        plan=session.kept.id,
        job=session.kept.job,
        part=session.part.name,
        copies=session.part.copies,
        good=session.good,
        spoiled=len(session.outcomes) - session.good,
        round=here.round,
        stage=here.stage.name,
        step=here.step,
        step_number=number,
        steps_in_stage=len(steps),
        next_title=after,
        clocks=clocks,
        moulds=moulds,
        log=session.log,
        findings=(*clock_findings(clocks), *wait_findings(here.step, clocks), *_wear_findings(moulds, session)),
        done=here.step is None,
        plan_folder=session.kept.folder,
    )


def _here(session: Session) -> _Here:
    """The first step that is not done, in the order of the work."""
    if any(one.kind is EntryKind.STOPPED for one in session.log):
        return _Here(stage=Stage(name="stopped", steps=()))
    moulds = list(range(1, session.run.moulds + 1)) if session.printed is None else []
    for stage in before_rounds(session):
        step = _first_open(stage, session.finished)
        if step is not None:
            return _Here(stage=stage, step=step, moulds=tuple(moulds))
    return _in_rounds(session, moulds)


def _in_rounds(session: Session, moulds: list[int]) -> _Here:
    """Round after round, a new mould before the round that it was called for, until all copies are there."""
    number, latest = 0, session.run.moulds
    renewed = [one for one in session.log if one.kind is EntryKind.NEW_MOULD]
    while True:
        number += 1
        for one in (one for one in renewed if round_in(one.step) == number):
            latest += 1
            moulds[moulds.index(int(one.note))] = latest
            stage = mould_stage(session, latest)
            step = _first_open(stage, session.finished)
            if step is not None:
                return _Here(stage=stage, step=step, round=number - 1, moulds=tuple(moulds))
        stage = round_stage(session, number, moulds)
        begun = any(step.id in session.finished for step in stage.steps)
        if not begun and session.good >= session.part.copies:
            return _at_the_end(session, number - 1, tuple(moulds))
        step = _first_open(stage, session.finished)
        if step is not None:
            return _Here(stage=stage, step=step, round=number, moulds=tuple(moulds))


def _at_the_end(session: Session, rounds: int, moulds: tuple[int, ...]) -> _Here:
    stage = after_rounds(session)
    step = _first_open(stage, session.finished)
    done = Stage(name="all copies are there", steps=())
    return _Here(stage=done if step is None else stage, step=step, round=rounds, moulds=moulds)


def _first_open(stage: Stage, finished: Mapping[str, LogEntry]) -> BenchStep | None:
    return next((step for step in stage.steps if step.id not in finished), None)


def _mould_lines(session: Session, in_use: Sequence[int]) -> tuple[MouldLine, ...]:
    materials = session.materials
    low, high = (None, None) if materials is None else (materials.mould_life_shots or (None, None))
    numbers = sorted({*in_use, *(one.mould for one in session.outcomes if one.mould)})
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
