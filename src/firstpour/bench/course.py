"""The course of a session by its stages: what comes before its rounds, each round, what comes after the last."""

from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.bench.plates import finish_steps, plate_steps
from firstpour.bench.read import Session
from firstpour.bench.ready import ready_steps
from firstpour.bench.steps import BenchStep, mould_steps, round_steps
from firstpour.store.runs import EntryKind

ROUND = "round-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A stretch of the work and its steps."""

    name: str
    steps: tuple[BenchStep, ...]


def before_rounds(session: Session) -> tuple[Stage, ...]:
    """What is made ready, and the moulds that the session began with; of a printed part nothing."""
    part = session.cast
    if part is None:
        return ()
    ready = Stage(name="making ready", steps=ready_steps(session.plan, part))
    return (ready, *(mould_stage(session, number) for number in range(1, session.run.moulds + 1)))


def mould_stage(session: Session, number: int) -> Stage:
    """One mould made.

    Raises
    ------
    ValueError
        If the part is printed.
    """
    if session.cast is None:
        raise ValueError("a printed part has no mould")
    return Stage(name=f"mould {number}", steps=mould_steps(session.plan, session.cast, mould=number))


def round_stage(session: Session, number: int, moulds: Sequence[int]) -> Stage:
    """A round of casting in these moulds, or a plate of prints."""
    if session.printed is not None:
        missing = session.part.copies - good_before(session, number)
        return Stage(name=f"plate {number}", steps=plate_steps(session.printed, number=number, missing=missing))
    assert session.cast is not None
    return Stage(name=f"round {number}", steps=round_steps(session.plan, session.cast, number=number, moulds=moulds))


def after_rounds(session: Session) -> Stage:
    """What is done once all copies are there; nothing for most parts."""
    steps = () if session.printed is None else finish_steps(session.printed)
    return Stage(name="finishing", steps=steps)


def moulds_in(session: Session, number: int) -> tuple[int, ...]:
    """The moulds that are filled in that round: each that was replaced before it is out of use."""
    moulds, latest = list(range(1, session.run.moulds + 1)), session.run.moulds
    for one in session.log:
        if one.kind is EntryKind.NEW_MOULD and (round_in(one.step) or 0) <= number:
            latest += 1
            moulds[moulds.index(int(one.note))] = latest
    return tuple(moulds)


def rounds_begun(session: Session) -> int:
    """The last round or plate of which anything is done; 0 before the first."""
    return max((round_in(name) or 0 for name in session.finished), default=0)


def round_of(session: Session, entry_id: int) -> int:
    """The round in which an entry was written; 0 before the first."""
    return next(round_in(one.step) or 0 for one in session.log if one.id == entry_id)


def good_before(session: Session, number: int) -> int:
    """Good copies of the rounds before this one."""
    return sum(one.good and round_of(session, one.entry_id) < number for one in session.outcomes)


def round_in(step_id: str) -> int | None:
    """The round that a step belongs to; None where it belongs to none.

    >>> round_in("round-12/open/1"), round_in("mould-1/silicone/2")
    (12, None)
    """
    stage = step_id.split("/")[0]
    return int(stage.removeprefix(ROUND)) if stage.startswith(ROUND) else None
