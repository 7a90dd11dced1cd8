"""Where a session stands: worked out anew each time from what was logged, so that nothing is lost with a process."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from firstpour.bench.clocks import ClockLine, clock_findings, clock_lines, wait_findings
from firstpour.bench.read import Session
from firstpour.bench.steps import BenchStep, mould_steps, ready_steps, round_steps
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
class _Here:
    """The stage that is worked on, with its steps; no step: all is done."""

    stage: str
    steps: tuple[BenchStep, ...]
    step: BenchStep | None
    round: int
    moulds: tuple[int, ...]


def state_of(session: Session, *, at: datetime) -> SessionState:
    """Where the session stands at a moment."""
    here = _here(session)
    clocks = clock_lines(session, at)
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
        findings=(*clock_findings(clocks), *wait_findings(here.step, clocks), *_wear_findings(moulds, session)),
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
