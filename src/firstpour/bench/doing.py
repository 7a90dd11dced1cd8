"""What is done at a step: it is finished, with its clock; what came out; a figure, a photo, a new mould."""

import shutil
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from firstpour.bench.defects import Defect
from firstpour.bench.kept import Bench, sha256_of
from firstpour.bench.planned import pace_at, planned_of
from firstpour.bench.read import Session, session_in
from firstpour.bench.sessions import at_step
from firstpour.bench.state import SessionState, state_of
from firstpour.bench.steps import BenchStep, ClockSet, StepKind
from firstpour.errors import BadRequest
from firstpour.store.opening import changing
from firstpour.store.runs import (
    NO_MOULD,
    ClockKind,
    EntryKind,
    KeptClock,
    Measurement,
    Outcome,
    Photo,
    add_clock,
    add_entry,
    add_measurements,
    add_outcome,
    add_photo_row,
)
from firstpour.writing.whole import Over, whole_file

LONGEST_MIN = 60 * 24 * 60.0
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic")


def advance(bench: Bench, session: int, *, at: datetime, step: str | None = None, note: str = "") -> SessionState:
    """Say that the step at hand is done; the clock that it sets starts at `at`.

    A pour that is done says how many minutes after B met A it was. A weighing may be passed over so, without
    figures; an outcome may not.

    Raises
    ------
    BadRequest
        If the session is done, has moved on from `step`, or the step is an outcome.
    """
    with at_step(bench, session, at, step) as (connection, now, here):
        if here.kind is StepKind.OUTCOME:
            raise BadRequest(f"“{here.title}” asks for an answer.", remedy="say that it is good, or what is wrong")
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.DONE, step=here.id, note=note)
        if here.sets is not None:
            _start(connection, entry_id, here.sets, at)
        if here.kind is StepKind.POUR:
            _note_age(connection, now, entry_id, at)
        _note_pace(connection, now, here, entry_id, at)
        return state_of(session_in(connection, session), at=at)


def record_outcome(
    bench: Bench,
    session: int,
    *,
    at: datetime,
    defects: Sequence[Defect] = (),
    note: str = "",
    step: str | None = None,
) -> SessionState:
    """Say what came out of the mould at hand: good without a defect. One more shot is counted on the mould.

    Raises
    ------
    BadRequest
        If no outcome is asked for now.
    """
    with at_step(bench, session, at, step) as (connection, now, here):
        if here.kind is not StepKind.OUTCOME:
            raise BadRequest(f"“{here.title}” comes first.", remedy="go on step by step until the copy is out")
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.OUTCOME, step=here.id, note=note)
        shot = _shot(now, here)
        add_outcome(
            connection,
            Outcome(
                entry_id=entry_id,
                mould=here.mould or NO_MOULD,
                shot=shot,
                good=not defects,
                defects=tuple(one.kept() for one in defects),
            ),
        )
        return state_of(session_in(connection, session), at=at)


def start_clock(
    bench: Bench, session: int, *, at: datetime, name: str, minutes: float, kind: ClockKind = ClockKind.WAIT
) -> SessionState:
    """Start a clock of one's own, beside those that the steps set.

    Raises
    ------
    BadRequest
        If the minutes cannot be meant, or the session is done.
    """
    if not 0 < minutes <= LONGEST_MIN:
        raise BadRequest(f"a clock of {minutes:g} min.", remedy=f"Give minutes above 0, up to {LONGEST_MIN:g}.")
    with at_step(bench, session, at, None) as (connection, _, here):
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.CLOCK, step=here.id, note=name)
        _start(connection, entry_id, ClockSet(kind=kind, name=name, minutes=minutes), at)
        return state_of(session_in(connection, session), at=at)


def measure(
    bench: Bench,
    session: int,
    *,
    at: datetime,
    what: str,
    value: float,
    unit: str,
    wanted: float | None = None,
    material_id: str | None = None,
) -> SessionState:
    """Note a figure that was read off, at the step at hand: °C of the room, minutes of a print, of a pot life.

    A pot life, a demould time and the minutes of a print are set against what was planned, at the temperature of the
    session, so that the next plan knows.

    Raises
    ------
    BadRequest
        If the session is done or the figure is none.
    """
    if not -1e6 < value < 1e6:
        raise BadRequest(f"{what}: {value:g} {unit}.", remedy="Give the figure that was read off.")
    with at_step(bench, session, at, None) as (connection, now, here):
        if wanted is None and material_id is None:
            planned = planned_of(now, here, what, bench.catalogue)
            wanted, material_id = planned.minutes, planned.about
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.MEASURED, step=here.id, note=what)
        found = Measurement(
            entry_id=entry_id, what=what, value=value, unit=unit, wanted=wanted, material_id=material_id
        )
        add_measurements(connection, [found])
        return state_of(session_in(connection, session), at=at)


def new_mould(bench: Bench, session: int, *, at: datetime, instead_of: int) -> SessionState:
    """Make a new mould in the place of one that is worn or torn: its silicone comes before the next round.

    Raises
    ------
    BadRequest
        If that mould is not in use, or a round is under way.
    """
    with at_step(bench, session, at, None) as (connection, now, here):
        if now.printed is not None:
            raise BadRequest(f"{now.part.name} is printed: it has no mould.", remedy="print a plate more")
        before = state_of(now, at=at)
        if not here.id.startswith("round-") or before.step_number != 1:
            raise BadRequest("a mould is renewed between two rounds.", remedy="finish this round first")
        if instead_of not in [one.number for one in before.moulds if one.in_use]:
            raise BadRequest(f"mould {instead_of} is not in use.", remedy="name a mould that is")
        number = f"round-{before.round}"
        add_entry(connection, session, at=at, kind=EntryKind.NEW_MOULD, step=number, note=str(instead_of))
        return state_of(session_in(connection, session), at=at)


def add_photo(bench: Bench, session: int, *, at: datetime, file: Path) -> Path:
    """Keep a photo with the step at hand: copied under its SHA-256 into the folder of the photos.

    Raises
    ------
    BadRequest
        If it cannot be read or is no picture by its name.
    """
    if file.suffix.lower() not in PHOTO_ENDINGS or not file.is_file():
        raise BadRequest(f"{file} is no photo that can be read.", remedy=f"Name a file {', '.join(PHOTO_ENDINGS)}.")
    digest = sha256_of(file)
    name = f"{digest}{file.suffix.lower()}"
    if not (bench.store.photos / name).exists():
        with whole_file(bench.store.photos / name, over=Over.ANYTHING) as partial:
            shutil.copyfile(file, partial)
    with changing(bench.store) as connection:
        now = state_of(session_in(connection, session), at=at)
        step = now.stage if now.step is None else now.step.id
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.PHOTO, step=step, note=file.name)
        add_photo_row(connection, Photo(entry_id=entry_id, file=name, sha256=digest))
    return bench.store.photos / name


def _start(connection: Connection, entry_id: int, sets: ClockSet, at: datetime) -> None:
    ends_at = at + timedelta(minutes=sets.minutes)
    add_clock(
        connection,
        entry_id,
        kind=sets.kind,
        name=sets.name,
        started_at=at,
        ends_at=ends_at,
        warn_at=None if sets.warn_min is None else ends_at - timedelta(minutes=sets.warn_min),
    )


def _note_age(connection: Connection, now: Session, entry_id: int, at: datetime) -> None:
    """How old the mix was when it was poured, against its pot life."""
    clock = _pot_life(now)
    if clock is None:
        return
    age_min = (at.astimezone(clock.started_at.tzinfo) - clock.started_at).total_seconds() / 60
    pot_life_min = (clock.ends_at - clock.started_at).total_seconds() / 60
    found = Measurement(entry_id=entry_id, what="age at pour", value=age_min, unit="min", wanted=pot_life_min)
    add_measurements(connection, [found])


def _note_pace(connection: Connection, now: Session, here: BenchStep, entry_id: int, at: datetime) -> None:
    """How long the hands took: a pour since B met A, other work since the step before was done."""
    if here.kind is StepKind.POUR:
        clock = _pot_life(now)
        begun = None if clock is None else clock.started_at
    else:
        begun = max((one.at for one in now.finished.values()), default=None)
    found = None if begun is None else pace_at(now, here, begun=begun, at=at, entry_id=entry_id)
    if found is not None:
        add_measurements(connection, [found])


def _pot_life(now: Session) -> KeptClock | None:
    """The clock of the mix that was stirred last."""
    return next((one for one in reversed(now.clocks) if one.kind is ClockKind.POT_LIFE), None)


def _shot(now: Session, here: BenchStep) -> int:
    """Which filling of its mould this was: all cavities of one round are one."""
    rounds = {one.id: one.step.split("/")[0] for one in now.log}
    mould = here.mould or NO_MOULD
    before = {one.shot for one in now.outcomes if one.mould == mould}
    same = [one.shot for one in now.outcomes if one.mould == mould and rounds[one.entry_id] == here.id.split("/")[0]]
    return same[0] if same else 1 + max(before, default=0)
