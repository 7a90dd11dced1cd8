"""The clocks of a session that still matter at a moment, and what is to be said of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from math import ceil

from firstpour.bench.course import after_rounds, before_rounds, mould_stage, round_in, round_stage
from firstpour.bench.read import FINISHING, Session
from firstpour.bench.steps import BenchStep, StepKind
from firstpour.sheets.words import wait_words
from firstpour.store.runs import (
    ClockKind,
    EntryKind,
    KeptClock,
)
from firstpour.values import Finding, Severity


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


def clock_lines(session: Session, at: datetime) -> tuple[ClockLine, ...]:
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
    latest = session.run.moulds + sum(one.kind is EntryKind.NEW_MOULD for one in session.log)
    rounds = max((round_in(one.step) or 0 for one in session.log), default=0)
    stages = [*before_rounds(session), after_rounds(session)]
    stages += [mould_stage(session, number) for number in range(session.run.moulds + 1, latest + 1)]
    stages += [round_stage(session, number, range(1, latest + 1)) for number in range(1, rounds + 1)]
    return {step.id: step for stage in stages for step in stage.steps}


def _clock_state(clock: KeptClock, at: datetime) -> ClockState:
    if at >= clock.ends_at:
        return ClockState.OVER
    return ClockState.CALLS if clock.warn_at is not None and at >= clock.warn_at else ClockState.RUNNING


def clock_findings(clocks: Sequence[ClockLine]) -> tuple[Finding, ...]:
    """A pot life that ends soon, or is over."""
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


def wait_findings(step: BenchStep | None, clocks: Sequence[ClockLine]) -> tuple[Finding, ...]:
    """What the step waits for and is not over yet."""
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
