"""What the scale showed at a step: judged, kept, and taken off the shelf."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from firstpour.bench.kept import Bench
from firstpour.bench.read import Session, session_in
from firstpour.bench.sessions import at_step
from firstpour.bench.state import SessionState, state_of
from firstpour.bench.steps import BenchStep
from firstpour.bench.weighing import Verdict, WeighedIn, judge_weighing
from firstpour.errors import BadRequest
from firstpour.stock.stock import WEIGHING_SLACK_G, Amount, Pack, amount_left, usable
from firstpour.store.runs import (
    EntryKind,
    Measurement,
    add_entry,
    add_measurements,
)
from firstpour.store.stock_rows import packs_in, take_what_is_there
from firstpour.values import Finding, Severity

A_TIME, B_TIME = "A weighed", "B weighed"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighAnswer:
    """A weighing judged, what came off the shelf for it, and how the session then stands."""

    weighed: WeighedIn
    taken: tuple[Pack, ...]
    findings: tuple[Finding, ...]
    state: SessionState


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
    with at_step(bench, session, at, step) as (connection, now, here):
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


def _weighed_before(now: Session, here: BenchStep) -> Amount:
    """What the last weighing of this step put into the cup."""
    entries = [one.id for one in now.log if one.step == here.id and one.kind is EntryKind.OFF_RATIO]
    if not entries:
        return Amount()
    masses = {one.what: one.value for one in now.measured if one.entry_id == entries[-1]}
    return Amount(a_g=masses.get(A_TIME, 0.0), b_g=masses.get(B_TIME, 0.0))


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
