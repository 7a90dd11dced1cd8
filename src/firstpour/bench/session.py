"""The use cases of the bench: each reads or changes one session and gives back how it then stands.

Times are passed in. Every change is one transaction of the store: after a kill it has happened whole, or not at all.
A change that names the `step` it answers is refused where the session has moved on meanwhile, by another screen.
"""

import hashlib
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection

from firstpour.bench.defects import Defect
from firstpour.bench.planned import planned_of
from firstpour.bench.state import (
    ClockLine,
    OlderPlan,
    Session,
    SessionState,
    part_of,
    plan_of,
    session_in,
    session_or_none,
    sessions_in,
    state_of,
)
from firstpour.bench.steps import BenchStep, ClockSet, StepKind
from firstpour.bench.weighing import Verdict, WeighedIn, judge_weighing
from firstpour.errors import BadRequest
from firstpour.files.results import PLAN_FILE
from firstpour.materials.catalogue import Catalogue
from firstpour.stock.stock import WEIGHING_SLACK_G, Amount, Pack, amount_left, usable
from firstpour.store.opening import changing, reading
from firstpour.store.place import StorePlace
from firstpour.store.plans import KeptPlan, keep, plan_kept, plans_kept
from firstpour.store.runs import (
    ClockKind,
    EntryKind,
    Measurement,
    Outcome,
    Photo,
    add_clock,
    add_entry,
    add_measurements,
    add_outcome,
    add_photo_row,
    add_run,
    runs_in,
    take_back,
)
from firstpour.store.stock_rows import packs_in, put_back, take_what_is_there
from firstpour.values import Finding, Severity

MOST_MOULDS = 99
LONGEST_MIN = 60 * 24 * 60.0
A_TIME, B_TIME = "A weighed", "B weighed"
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where things are kept, and the materials that are known."""

    store: StorePlace
    catalogue: Catalogue


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


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighAnswer:
    """A weighing judged, what came off the shelf for it, and how the session then stands."""

    weighed: WeighedIn
    taken: tuple[Pack, ...]
    findings: tuple[Finding, ...]
    state: SessionState


def keep_plan(bench: Bench, plan_file: Path, *, at: datetime) -> int:
    """Keep a written plan (its plan.json, or the folder of it) in the store, and return its number.

    It is kept with a SHA-256 of each part file it was made from, where these still are. The same plan is kept once.

    Raises
    ------
    BadRequest
        If there is no plan there, or one that this version cannot read.
    """
    file = plan_file / PLAN_FILE if plan_file.is_dir() else plan_file
    try:
        content = file.read_text(encoding="utf-8")
        plan = plan_of(content)
    except (OSError, ValueError, OlderPlan) as error:
        why = getattr(error, "strerror", None) or "it is no plan of this version"
        raise BadRequest(
            f"{file} cannot be kept: {why}.", remedy="Plan the job anew, and name its folder."
        ) from error
    sources = sorted({part.source for part in plan.parts if part.source is not None})
    made_from = {name: _sha256(Path(name)) for name in sources if Path(name).is_file()}
    with changing(bench.store) as connection:
        return keep(
            connection,
            job=plan.job.name,
            due=None if plan.job.due is None else plan.job.due.isoformat(),
            content=content,
            made_from=made_from,
            made_by=plan.made_by,
            folder=str(file.parent.resolve()),
            at=at,
        )


def kept_plans(bench: Bench) -> tuple[KeptPlan, ...]:
    """Every plan that is kept, the oldest first."""
    with reading(bench.store) as connection:
        return () if connection is None else plans_kept(connection)


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
        reckoned = 1
        if wanted.materials is not None and wanted.materials.silicone is not None and wanted.materials.silicone.mixes:
            reckoned = wanted.materials.silicone.mixes[0].times
        count = reckoned if moulds is None else moulds
        if not 1 <= count <= MOST_MOULDS:
            raise BadRequest(f"{count} moulds.", remedy=f"Give 1 to {MOST_MOULDS} moulds.")
        _check_room(temperature_c)
        run_id = add_run(connection, plan_id=plan, part=wanted.name, at=at, moulds=count, temperature_c=temperature_c)
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


def advance(bench: Bench, session: int, *, at: datetime, step: str | None = None, note: str = "") -> SessionState:
    """Say that the step at hand is done; the clock that it sets starts at `at`.

    A pour that is done says how many minutes after B met A it was. A weighing may be passed over so, without
    figures; an outcome may not.

    Raises
    ------
    BadRequest
        If the session is done, has moved on from `step`, or the step is an outcome.
    """
    with _at_step(bench, session, at, step) as (connection, now, here):
        if here.kind is StepKind.OUTCOME:
            raise BadRequest(f"“{here.title}” asks for an answer.", remedy="say that it is good, or what is wrong")
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.DONE, step=here.id, note=note)
        if here.sets is not None:
            _start(connection, entry_id, here.sets, at)
        if here.kind is StepKind.POUR:
            _note_age(connection, now, entry_id, at)
        return state_of(session_in(connection, session), at=at)


def weigh_in(
    bench: Bench,
    session: int,
    *,
    at: datetime,
    a_g: float,
    b_g: float = 0.0,
    additives_g: Mapping[str, float] | None = None,
    step: str | None = None,
) -> WeighAnswer:
    """Say what the scale showed: within the tolerance the step is done, else the answer says what to add.

    What was weighed is taken off the shelf: on a second weighing of the same cup only what came to it. A cup that
    holds less than before is a new one. Where the shelf holds less than was weighed, a finding says so.

    Raises
    ------
    BadRequest
        If nothing is to be weighed now, or a mass cannot be meant.
    """
    with _at_step(bench, session, at, step) as (connection, now, here):
        if here.weigh is None:
            raise BadRequest(f"nothing is weighed at “{here.title}”.", remedy="look at the step that is to be done")
        weighed = judge_weighing(here.weigh, a_g=a_g, b_g=b_g)
        within = weighed.verdict is Verdict.GO_ON
        kind = EntryKind.WEIGHED if within else EntryKind.OFF_RATIO
        entry_id = add_entry(connection, session, at=at, kind=kind, step=here.id, note="; ".join(weighed.advice))
        before = _weighed_before(now, here)
        same_cup = a_g >= before.a_g - WEIGHING_SLACK_G and b_g >= before.b_g - WEIGHING_SLACK_G
        held = before if same_cup else Amount()
        add_measurements(connection, _masses(here, entry_id, a_g, b_g))
        amount = Amount(a_g=max(0.0, a_g - held.a_g), b_g=max(0.0, b_g - held.b_g))
        taken, findings = _take(bench, connection, here.weigh.material_id, amount, entry_id, at)
        for name, mass_g in (additives_g or {}).items():
            add_measurements(connection, [_mass("additive weighed", entry_id, mass_g, None, name)])
            more, also = _take(bench, connection, name, Amount(a_g=mass_g), entry_id, at)
            taken, findings = (*taken, *more), (*findings, *also)
        return WeighAnswer(
            weighed=weighed,
            taken=taken,
            findings=findings,
            state=state_of(session_in(connection, session), at=at),
        )


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
    with _at_step(bench, session, at, step) as (connection, now, here):
        if here.kind is not StepKind.OUTCOME or here.mould is None:
            raise BadRequest(f"“{here.title}” comes first.", remedy="go on step by step until the copy is out")
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.OUTCOME, step=here.id, note=note)
        shot = _shot(now, here)
        add_outcome(
            connection,
            Outcome(
                entry_id=entry_id,
                mould=here.mould,
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
    with _at_step(bench, session, at, None) as (connection, _, here):
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
    with _at_step(bench, session, at, None) as (connection, now, here):
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
    with _at_step(bench, session, at, None) as (connection, now, here):
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
    digest = _sha256(file)
    name = f"{digest}{file.suffix.lower()}"
    bench.store.photos.mkdir(parents=True, exist_ok=True)
    if not (bench.store.photos / name).exists():
        half = bench.store.photos / f"{name}.half"
        shutil.copyfile(file, half)
        half.replace(bench.store.photos / name)
    with changing(bench.store) as connection:
        now = state_of(session_in(connection, session), at=at)
        step = now.stage if now.step is None else now.step.id
        entry_id = add_entry(connection, session, at=at, kind=EntryKind.PHOTO, step=step, note=file.name)
        add_photo_row(connection, Photo(entry_id=entry_id, file=name, sha256=digest))
    return bench.store.photos / name


def stop(bench: Bench, session: int, *, at: datetime, note: str = "") -> SessionState:
    """End a session before all copies are there.

    Raises
    ------
    BadRequest
        If it is done already.
    """
    with _at_step(bench, session, at, None) as (connection, _, here):
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
def _at_step(
    bench: Bench, session: int, at: datetime, step: str | None
) -> Iterator[tuple[Connection, Session, BenchStep]]:
    """The session inside a change, and the step that is to be done."""
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
    clock = next((one for one in reversed(now.clocks) if one.kind is ClockKind.POT_LIFE), None)
    if clock is None:
        return
    age_min = (at.astimezone(clock.started_at.tzinfo) - clock.started_at).total_seconds() / 60
    pot_life_min = (clock.ends_at - clock.started_at).total_seconds() / 60
    found = Measurement(entry_id=entry_id, what="age at pour", value=age_min, unit="min", wanted=pot_life_min)
    add_measurements(connection, [found])


def _weighed_before(now: Session, here: BenchStep) -> Amount:
    """What the last weighing of this step put into the cup."""
    entries = [one.id for one in now.log if one.step == here.id and one.kind is EntryKind.OFF_RATIO]
    if not entries:
        return Amount()
    masses = {one.what: one.value for one in now.measured if one.entry_id == entries[-1]}
    return Amount(a_g=masses.get(A_TIME, 0.0), b_g=masses.get(B_TIME, 0.0))


def _shot(now: Session, here: BenchStep) -> int:
    """Which filling of its mould this was: all cavities of one round are one."""
    rounds = {one.id: one.step.split("/")[0] for one in now.log}
    before = {one.shot for one in now.outcomes if one.mould == here.mould}
    same = [
        one.shot for one in now.outcomes if one.mould == here.mould and rounds[one.entry_id] == here.id.split("/")[0]
    ]
    return same[0] if same else 1 + max(before, default=0)


def _masses(here: BenchStep, entry_id: int, a_g: float, b_g: float) -> list[Measurement]:
    assert here.weigh is not None  # asked before
    wanted = here.weigh
    found = [_mass(A_TIME, entry_id, a_g, wanted.a_g, wanted.material_id)]
    return found + ([_mass(B_TIME, entry_id, b_g, wanted.b_g, wanted.material_id)] if wanted.b_g else [])


def _mass(what: str, entry_id: int, mass_g: float, wanted: float | None, material_id: str) -> Measurement:
    return Measurement(entry_id=entry_id, what=what, value=mass_g, unit="g", wanted=wanted, material_id=material_id)


def _take(
    bench: Bench, connection: Connection, material_id: str, amount: Amount, entry_id: int, at: datetime
) -> tuple[tuple[Pack, ...], tuple[Finding, ...]]:
    if amount.a_g + amount.b_g <= 0:
        return (), ()
    material = bench.catalogue.get(material_id)
    there = amount_left(usable(packs_in(connection), material, today=at.date()))
    changed = take_what_is_there(connection, material, amount, at=at, entry_id=entry_id)
    short = max(amount.a_g - there.a_g, amount.b_g - there.b_g)
    if short <= WEIGHING_SLACK_G:
        return changed, ()
    finding = Finding(
        severity=Severity.WARNING,
        code="shelf-held-less",
        what=f"{material.name}: {short:.1f} g more were weighed than the shelf is said to hold",
        remedy="count what is there, or enter the pack that it came from",
        where=material.id,
    )
    return changed, (finding,)


def _check_room(temperature_c: float | None) -> None:
    if temperature_c is not None and not 0 <= temperature_c <= 50:
        raise BadRequest(f"a room of {temperature_c:g} °C.", remedy="Give 0 to 50 °C.")


def _sha256(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()
