"""What the log of a session says of one shot, for and against each cause: only what was logged or planned."""

from datetime import timedelta

from firstpour.bench.causes import (
    COLD_C,
    FIRST_SHOTS,
    HOT_PART_C,
    LATE_SHARE,
    LIGHT_RATIO,
    OLD_DAYS,
    WARM_C,
    Fact,
    Likely,
    Sign,
    causes_of,
)
from firstpour.bench.defects import DefectKind, Place
from firstpour.bench.kept import Bench
from firstpour.bench.read import Session, session_in
from firstpour.bench.weigh_in import A_TIME, B_TIME
from firstpour.errors import BadRequest
from firstpour.materials.catalogue import Catalogue
from firstpour.stock.stock import Pack, good_until
from firstpour.store.opening import reading
from firstpour.store.runs import EntryKind, LogEntry, Measurement, Outcome
from firstpour.store.stock_rows import packs_in

DEGAS = "degas"
CELSIUS = "°C"


def diagnose(bench: Bench, session: int, *, outcome: int | None = None) -> tuple[Likely, ...]:
    """The causes of a spoiled copy, the likeliest first; of the last spoiled one unless its number is given.

    `outcome` counts the outcomes of the session from 1.

    Raises
    ------
    BadRequest
        If there is no such session, or nothing was spoiled.
    """
    with reading(bench.store) as connection:
        if connection is None:
            raise BadRequest(f"there is no session {session}.", remedy="start one from a kept plan")
        now = session_in(connection, session)
        packs = packs_in(connection)
    if now.printed is not None:
        raise BadRequest(
            f"{now.part.name} is printed, and the causes that are known here are those of casts.",
            remedy="look at the print itself: first layer, supports, how dry the filament or how fresh the resin was",
        )
    spoiled = [one for n, one in enumerate(now.outcomes, start=1) if not one.good and outcome in (None, n)]
    if not spoiled:
        raise BadRequest("no copy of that session was spoiled there.", remedy="say what came out first")
    one = spoiled[-1]
    seen = [(DefectKind(defect.kind), Place(defect.place)) for defect in one.defects]
    return causes_of(seen, facts_of(now, one, packs=packs, catalogue=bench.catalogue))


def facts_of(
    session: Session, outcome: Outcome, *, packs: tuple[Pack, ...], catalogue: Catalogue
) -> tuple[Fact, ...]:
    """What the log and the plan say of the shot that gave this outcome."""
    entry = next(one for one in session.log if one.id == outcome.entry_id)
    round_name = entry.step.split("/")[0]
    of_round = {one.id for one in session.log if one.step.split("/")[0] == round_name}
    measured = [one for one in session.measured if one.entry_id in of_round]
    return (
        *_ratio(session, measured),
        *_room(session, measured),
        *_ages(session, measured, entry, packs, catalogue),
        *_cure(session, round_name),
        *_pour(session, measured),
        *_mould(session, outcome),
    )


def _ratio(session: Session, measured: list[Measurement]) -> list[Fact]:
    last = {one.what: one for one in measured if one.what in (A_TIME, B_TIME)}
    if len(last) < 2 or not last[A_TIME].wanted or not last[B_TIME].wanted:
        return []
    a, b = last[A_TIME], last[B_TIME]
    wanted = (b.wanted or 0.0) / (a.wanted or 1.0)
    error = b.value / a.value / wanted - 1
    casting = None if session.materials is None else session.materials.casting
    tolerance = casting.mixes[0].ratio_tolerance_ratio if casting is not None and casting.mixes else 0.03
    share = (a.value + b.value) / ((a.wanted or 0.0) + (b.wanted or 0.0))
    return [
        Fact(
            sign=Sign.RATIO_OFF,
            holds=abs(error) > tolerance,
            words=f"B was weighed {100 * error:+.1f} % off its ratio (within {100 * tolerance:.2g} % is right)",
        ),
        Fact(
            sign=Sign.LIGHT_BATCH,
            holds=share < LIGHT_RATIO,
            words=f"{100 * share:.0f} % of the planned mass was weighed",
        ),
    ]


def _room(session: Session, measured: list[Measurement]) -> list[Fact]:
    rooms = [one.value for one in measured if one.unit == CELSIUS]
    room_c = rooms[-1] if rooms else session.run.temperature_c
    if room_c is None:
        return []
    said = f"the room was at {room_c:g} °C"
    return [
        Fact(sign=Sign.COLD, holds=room_c < COLD_C, words=said),
        Fact(sign=Sign.WARM, holds=room_c > WARM_C, words=said),
    ]


def _ages(
    session: Session, measured: list[Measurement], entry: LogEntry, packs: tuple[Pack, ...], catalogue: Catalogue
) -> list[Fact]:
    """Of the packs of what was weighed that are opened: the oldest."""
    ids = {one.material_id for one in measured if one.material_id is not None}
    opened = [one for one in packs if one.material_id in ids and one.opened_on is not None]
    found = []
    day = entry.at.date()
    until = [good_until(one, catalogue.get(one.material_id)) for one in opened]
    known = [one for one in until if one is not None]
    if known:
        words = f"an opened pack was good until {min(known)}"
        found.append(Fact(sign=Sign.PAST_ITS_DATE, holds=min(known) < day, words=words))
    days = [(day - one.opened_on).days for one in opened if one.opened_on is not None]
    if days:
        words = f"a pack was opened {max(0, *days)} days ago"
        found.append(Fact(sign=Sign.OPENED_LONG_AGO, holds=max(days) > OLD_DAYS, words=words))
    return found


def _cure(session: Session, round_name: str) -> list[Fact]:
    starts = {one.id: one for one in session.log if one.step.split("/")[0] == round_name}
    clocks = [one for one in session.clocks if one.entry_id in starts and one.kind.value == "cure"]
    opened = [one for one in session.log if one.step.startswith(f"{round_name}/open/") and one.kind is EntryKind.DONE]
    if not clocks or not opened:
        return []
    early = clocks[-1].ends_at - opened[0].at
    minutes = early / timedelta(minutes=1)
    words = f"opened {abs(minutes):.0f} min {'before' if minutes > 0 else 'after'} the end of its cure"
    return [Fact(sign=Sign.OPENED_EARLY, holds=minutes > 1, words=words)]


def _pour(session: Session, measured: list[Measurement]) -> list[Fact]:
    found = []
    age = [one for one in measured if one.what == "age at pour" and one.wanted]
    if age:
        share = age[-1].value / (age[-1].wanted or 1.0)
        words = f"poured at minute {age[-1].value:.0f} of a pot life of {age[-1].wanted:.0f}"
        found.append(Fact(sign=Sign.POURED_LATE, holds=share > LATE_SHARE, words=words))
    casting = None if session.materials is None else session.materials.casting
    if casting is not None and casting.pours:
        degassed = any(step.name == DEGAS for step in casting.pours[0].steps)
        words = "it is degassed by the plan" if degassed else "it is not degassed by the plan"
        found.append(Fact(sign=Sign.DEGASSED, holds=degassed, words=words))
    if casting is not None and casting.mixes and casting.mixes[0].peak_part_c is not None:
        peak_c = casting.mixes[0].peak_part_c
        words = f"it warms itself to about {peak_c:.0f} °C (an estimate)"
        found.append(Fact(sign=Sign.GOT_HOT, holds=peak_c > HOT_PART_C, words=words))
    return found


def _mould(session: Session, outcome: Outcome) -> list[Fact]:
    found = [
        Fact(
            sign=Sign.FIRST_SHOTS,
            holds=outcome.shot <= FIRST_SHOTS,
            words=f"it was shot {outcome.shot} of mould {outcome.mould}",
        )
    ]
    materials, fill = session.materials, None if session.cast is None else session.cast.fill
    if materials is not None and materials.mould_life_shots is not None:
        low, high = materials.mould_life_shots
        words = f"the mould had given {outcome.shot} of {low} to {high} shots"
        found.append(Fact(sign=Sign.WORN_MOULD, holds=outcome.shot >= low, words=words))
    if fill is not None:
        air_mm3 = fill.trapped_vented_mm3
        words = f"{air_mm3:.1f} mm³ of air were foretold to stay"
        found.append(Fact(sign=Sign.AIR_FORETOLD, holds=air_mm3 > 4.0, words=words))
    return found
