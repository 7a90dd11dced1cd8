"""A session as it is kept, read at once, with the plan that it goes by."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from sqlalchemy import Connection

from firstpour.errors import BadRequest
from firstpour.files.material_entries import PartChoiceEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.files.taken_entries import PrintedPartEntry
from firstpour.store.learned import MadeAs
from firstpour.store.plans import KeptPlan, plan_kept
from firstpour.store.runs import (
    PRINTED,
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

FINISHING = (EntryKind.DONE, EntryKind.WEIGHED, EntryKind.OUTCOME)


class OlderPlan(BadRequest):
    """A kept plan that this version does not read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """All that is kept of a session, read at once."""

    run: Run
    kept: KeptPlan
    plan: PlanEntry
    part: PartEntry | PrintedPartEntry
    log: tuple[LogEntry, ...]
    clocks: tuple[KeptClock, ...]
    measured: tuple[Measurement, ...]
    outcomes: tuple[Outcome, ...]

    @property
    def cast(self) -> PartEntry | None:
        """The part, where it is cast."""
        return self.part if isinstance(self.part, PartEntry) else None

    @property
    def printed(self) -> PrintedPartEntry | None:
        """The part, where it is printed directly."""
        return self.part if isinstance(self.part, PrintedPartEntry) else None

    @property
    def materials(self) -> PartChoiceEntry | None:
        """The materials that were chosen for a cast part."""
        return None if self.cast is None else self.cast.materials

    @property
    def good(self) -> int:
        """Good copies so far."""
        return sum(one.good for one in self.outcomes)

    @property
    def finished(self) -> Mapping[str, LogEntry]:
        """The entry that finished each step that is done."""
        return {one.step: one for one in self.log if one.kind in FINISHING}


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
        return [part.name for part in all_parts(plan_of(content))]
    except OlderPlan:
        return []


def all_parts(plan: PlanEntry) -> tuple[PartEntry | PrintedPartEntry, ...]:
    """What is cast, then what is printed directly."""
    return (*plan.parts, *plan.printed)


def made_of(part: PartEntry | PrintedPartEntry) -> MadeAs:
    """How the copies of a part are made."""
    if isinstance(part, PrintedPartEntry):
        return MadeAs(part=part.name, way=PRINTED, material=part.material)
    casting = None if part.materials is None else part.materials.casting
    return MadeAs(part=part.name, way=part.mould.kind.value, material=None if casting is None else casting.material)


def part_of(plan: PlanEntry, name: str) -> PartEntry | PrintedPartEntry:
    """The part of this name.

    Raises
    ------
    BadRequest
        If the plan has none.
    """
    for part in all_parts(plan):
        if part.name == name:
            return part
    names = ", ".join(part.name for part in all_parts(plan))
    raise BadRequest(f"the plan has no part “{name}”.", remedy=f"Name one of: {names}.")
