"""What is done at the bench, as rows: runs, their entries, and the clocks, weighings, outcomes and photos of these.

An entry is never deleted: what is taken back is marked so, and no longer read.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, Select, func, insert, select, update

from firstpour.errors import BadRequest
from firstpour.store.plans import next_id
from firstpour.store.tables import CLOCKS, ENTRIES, FORGOTTEN, MEASUREMENTS, OUTCOMES, PHOTOS, RUNS
from firstpour.store.times import kept, moment


class EntryKind(StrEnum):
    """What an entry says; the first three finish their step."""

    DONE = "done"
    WEIGHED = "weighed"
    OUTCOME = "outcome"
    OFF_RATIO = "weighed off the ratio"
    MEASURED = "measured"
    CLOCK = "clock started"
    NEW_MOULD = "new mould"
    PHOTO = "photo"
    STOPPED = "stopped"


class ClockKind(StrEnum):
    """What a clock runs for."""

    POT_LIFE = "pot life"
    CURE = "cure"
    PRINT = "print"
    WAIT = "wait"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A part of a kept plan, made at the bench from the first print to the last copy."""

    id: int
    plan_id: int
    part: str
    begun_at: datetime
    moulds: int
    temperature_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    """One thing done, at its step."""

    id: int
    run_id: int
    number: int
    at: datetime
    kind: EntryKind
    step: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptClock:
    """A clock by its absolute times; `entry_id` is the entry that started it."""

    id: int
    entry_id: int
    kind: ClockKind
    name: str
    started_at: datetime
    ends_at: datetime
    warn_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One figure that was read off: grams of A on the scale, °C of the room, minutes of a print."""

    entry_id: int
    what: str
    value: float
    unit: str
    wanted: float | None = None
    material_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenDefect:
    """A defect and where it sits, both in the words of the tables of the bench."""

    kind: str
    place: str


PRINTED = "printed"
"""In the stead of a kind of mould."""
NO_MOULD = 0
"""In the stead of a mould's number where a copy was printed directly; its plate is the shot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came out of one mould with one shot; without a defect it is good."""

    entry_id: int
    mould: int
    shot: int
    good: bool
    defects: tuple[SeenDefect, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo by its file in the folder of the photos."""

    entry_id: int
    file: str
    sha256: str


def add_run(
    connection: Connection,
    *,
    plan_id: int,
    part: str,
    at: datetime,
    moulds: int,
    temperature_c: float | None,
    way: str,
    material: str | None,
) -> int:
    """Begin a run and return its number; `way` is the kind of mould, or `PRINTED`, `material` that of the copies."""
    run_id = next_id(connection, RUNS)
    values = {"plan_id": plan_id, "part": part, "begun_at": kept(at), "moulds": moulds, "way": way}
    connection.execute(insert(RUNS).values(id=run_id, temperature_c=temperature_c, material=material, **values))
    return run_id


def runs_in(connection: Connection) -> tuple[Run, ...]:
    """Every run, the oldest first."""
    return tuple(
        Run(
            id=row.id,
            plan_id=row.plan_id,
            part=row.part,
            begun_at=moment(row.begun_at),
            moulds=row.moulds,
            temperature_c=row.temperature_c,
        )
        for row in connection.execute(select(RUNS).order_by(RUNS.c.id))
    )


def run_of(connection: Connection, run_id: int) -> Run:
    """One run.

    Raises
    ------
    BadRequest
        If there is none of this number.
    """
    for run in runs_in(connection):
        if run.id == run_id:
            return run
    raise BadRequest(f"there is no session {run_id}.", remedy="look at the sessions that are open, or start one")


def add_entry(
    connection: Connection, run_id: int, *, at: datetime, kind: EntryKind, step: str, note: str = ""
) -> int:
    """Write an entry and return its id."""
    entry_id = next_id(connection, ENTRIES)
    latest = select(func.max(ENTRIES.c.number)).where(ENTRIES.c.run_id == run_id)
    number = int(connection.execute(latest).scalar() or 0) + 1
    values = {"run_id": run_id, "number": number, "at": kept(at), "kind": kind.value, "step": step, "note": note}
    connection.execute(insert(ENTRIES).values(id=entry_id, **values))
    return entry_id


def add_clock(
    connection: Connection,
    entry_id: int,
    *,
    kind: ClockKind,
    name: str,
    started_at: datetime,
    ends_at: datetime,
    warn_at: datetime | None = None,
) -> None:
    """Keep a clock that an entry started."""
    connection.execute(
        insert(CLOCKS).values(
            id=next_id(connection, CLOCKS),
            entry_id=entry_id,
            kind=kind.value,
            name=name,
            started_at=kept(started_at),
            ends_at=kept(ends_at),
            warn_at=None if warn_at is None else kept(warn_at),
        )
    )


def add_measurements(connection: Connection, found: Sequence[Measurement]) -> None:
    """Keep what was read off."""
    for one in found:
        values = {"entry_id": one.entry_id, "what": one.what, "value": one.value, "unit": one.unit}
        values.update(wanted=one.wanted, material_id=one.material_id)
        connection.execute(insert(MEASUREMENTS).values(id=next_id(connection, MEASUREMENTS), **values))


def add_outcome(connection: Connection, outcome: Outcome) -> None:
    """Keep what came out of a mould."""
    defects = json.dumps([{"kind": one.kind, "place": one.place} for one in outcome.defects])
    values = {"entry_id": outcome.entry_id, "mould": outcome.mould, "shot": outcome.shot, "good": int(outcome.good)}
    connection.execute(insert(OUTCOMES).values(id=next_id(connection, OUTCOMES), defects=defects, **values))


def add_photo_row(connection: Connection, photo: Photo) -> None:
    """Keep where a photo lies."""
    values = {"entry_id": photo.entry_id, "file": photo.file, "sha256": photo.sha256}
    connection.execute(insert(PHOTOS).values(id=next_id(connection, PHOTOS), **values))


def take_back(connection: Connection, entry_id: int, *, at: datetime) -> None:
    """Mark an entry as taken back."""
    connection.execute(update(ENTRIES).where(ENTRIES.c.id == entry_id).values(undone_at=kept(at)))


def log_of(connection: Connection, run_id: int) -> tuple[LogEntry, ...]:
    """The entries of a run that stand, the oldest first."""
    rows = connection.execute(
        select(ENTRIES).where(ENTRIES.c.run_id == run_id, ENTRIES.c.undone_at.is_(None)).order_by(ENTRIES.c.number)
    )
    return tuple(
        LogEntry(
            id=row.id,
            run_id=row.run_id,
            number=row.number,
            at=moment(row.at),
            kind=EntryKind(row.kind),
            step=row.step,
            note=row.note,
        )
        for row in rows
    )


def clocks_of(connection: Connection, run_id: int) -> tuple[KeptClock, ...]:
    """The clocks of the entries that stand, in the order in which they were started."""
    return tuple(
        KeptClock(
            id=row.id,
            entry_id=row.entry_id,
            kind=ClockKind(row.kind),
            name=row.name,
            started_at=moment(row.started_at),
            ends_at=moment(row.ends_at),
            warn_at=None if row.warn_at is None else moment(row.warn_at),
        )
        for row in connection.execute(_standing(select(CLOCKS).join(ENTRIES), run_id).order_by(CLOCKS.c.id))
    )


def measurements_of(connection: Connection, run_id: int) -> tuple[Measurement, ...]:
    """What was read off in a run."""
    found = _standing(select(MEASUREMENTS).join(ENTRIES), run_id).order_by(MEASUREMENTS.c.id)
    return tuple(
        Measurement(
            entry_id=row.entry_id,
            what=row.what,
            value=row.value,
            unit=row.unit,
            wanted=row.wanted,
            material_id=row.material_id,
        )
        for row in connection.execute(found)
    )


def outcomes_of(connection: Connection, run_id: int) -> tuple[Outcome, ...]:
    """What came out of the moulds of a run, in order."""
    found = _standing(select(OUTCOMES).join(ENTRIES), run_id).order_by(OUTCOMES.c.id)
    return tuple(
        Outcome(
            entry_id=row.entry_id,
            mould=row.mould,
            shot=row.shot,
            good=bool(row.good),
            defects=tuple(SeenDefect(kind=one["kind"], place=one["place"]) for one in json.loads(row.defects)),
        )
        for row in connection.execute(found)
    )


def photos_of(connection: Connection, run_id: int) -> tuple[Photo, ...]:
    """The photos of a run."""
    found = _standing(select(PHOTOS).join(ENTRIES), run_id).order_by(PHOTOS.c.id)
    return tuple(Photo(entry_id=row.entry_id, file=row.file, sha256=row.sha256) for row in connection.execute(found))


def forget(connection: Connection, *, what: str, about: str, at: datetime) -> None:
    """From now on nothing is learned from what was seen of this before."""
    connection.execute(
        insert(FORGOTTEN).values(id=next_id(connection, FORGOTTEN), what=what, about=about, at=kept(at))
    )


def forgotten_at(connection: Connection) -> dict[tuple[str, str], datetime]:
    """Until when what was seen of a thing is not counted, by what and about what."""
    rows = connection.execute(select(FORGOTTEN).order_by(FORGOTTEN.c.id))
    return {(row.what, row.about): moment(row.at) for row in rows}


def _standing(chosen: "Select[tuple[object, ...]]", run_id: int) -> "Select[tuple[object, ...]]":
    return chosen.where(ENTRIES.c.run_id == run_id, ENTRIES.c.undone_at.is_(None))
