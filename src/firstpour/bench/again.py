"""The days that are left, put in order anew from what the bench says: what is done stands, what runs runs on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlalchemy import Connection

from firstpour.bench.kept import Bench
from firstpour.bench.read import Session, session_in
from firstpour.bench.steps import StepKind, mould_steps, round_steps
from firstpour.choosing.counts import ENOUGH_CONFIDENCE
from firstpour.formulas.yields import pours_for_good_seen
from firstpour.plan.values import PartPlan, Plan
from firstpour.schedule.hours_ahead import calendar_from
from firstpour.schedule.ordering import network_of, ways_of
from firstpour.schedule.replan import Present, Replanned, Stretch, replan
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Task
from firstpour.store.opening import reading
from firstpour.store.plans import plans_kept
from firstpour.store.runs import LogEntry, runs_in

ENTERED_MIN = 1.0
"""A task that the bench tells as done is taken to have ended then, a minute long: only its end matters."""
BEFORE_GOOD, BEFORE_SPOILED = 18.0, 2.0
"""Nine of ten, counted like 20 shots (decision 0072)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """The order of work from the present on, with what each part has and still needs."""

    replanned: Replanned
    good: Mapping[str, int]
    rounds: Mapping[str, int]
    """Rounds of each part, those that are done counted in."""


def put_in_order_again(bench: Bench, plan: Plan, *, at: datetime, effort: Effort | None = None) -> Again:
    """The schedule of a job from `at` on, by the latest session of each of its parts.

    The shots still needed are reckoned for the copies that are missing, by the yield that was seen.

    Raises
    ------
    BadRequest
        If a part has no materials, or what is left finds no place in the hours.
    OlderPlan
        If this version does not read the plan of such a session.
    """
    with reading(bench.store) as connection:
        latest = {} if connection is None else _latest(connection, plan)
    parts = tuple(_with_shots(one, latest.get(one.request.name)) for one in plan.parts)
    now = replace(plan, parts=parts)
    hours = plan.job.equipment.hours
    network = network_of(now, {one.request.name: ways_of(one) for one in parts}, calendar_from(at, hours))
    known = {task.id for task in network.tasks}
    done: dict[str, Stretch] = {}
    for session in latest.values():
        ended = {name: entry for name, entry in _done_tasks(session).items() if name in known}
        done.update({name: _stretch(entry.at, at) for name, entry in ended.items()})
    replanned = replan(network, Present(at=at, done=done), hours=hours, effort=effort)
    return Again(
        replanned=replanned,
        good={name: one.good for name, one in latest.items()},
        rounds={one.request.name: _rounds(network.tasks, one.request.name) for one in parts},
    )


def _latest(connection: Connection, plan: Plan) -> dict[str, Session]:
    """The latest session of each of the job's parts, by the part's name."""
    names = {one.request.name for one in plan.parts}
    mine = {one.id for one in plans_kept(connection) if one.job == plan.job.name}
    runs = {run.part: run for run in runs_in(connection) if run.plan_id in mine and run.part in names}
    return {name: session_in(connection, run.id) for name, run in runs.items()}


def _with_shots(one: PartPlan, session: Session | None) -> PartPlan:
    """The part with as many shots as were made, and as many more as the missing copies ask for."""
    if session is None or one.choice is None or not session.outcomes:
        return one
    missing = max(0, one.request.copies - session.good)
    made = len(session.outcomes)
    more = pours_for_good_seen(
        missing,
        good_weight=BEFORE_GOOD + session.good,
        spoiled_weight=BEFORE_SPOILED + made - session.good,
        confidence_ratio=ENOUGH_CONFIDENCE,
    )
    return replace(one, choice=replace(one.choice, pours=made + more))


def _done_tasks(session: Session) -> dict[str, LogEntry]:
    """The tasks of the schedule that the log shows as done, by the entry that ended each.

    Those that come before one of them count as done as well.
    """
    part, finished = session.part.name, session.finished
    found: dict[str, LogEntry] = {}
    if session.cast is None:
        return found
    for n, one in enumerate(session.cast.prints, start=1):
        for name, task in ((f"ready/print-{n}", "start"), (f"ready/printed-{n}", "off")):
            if name in finished:
                found[f"{part}/{one.piece} {task}"] = finished[name]
    for mould in range(1, session.run.moulds + 1):
        steps = mould_steps(session.plan, session.cast, mould=mould)
        for step in steps:
            if step.kind is StepKind.POUR and step.id in finished:
                found[f"{part}/mould {mould} pour {step.id.split('/')[1]}"] = finished[step.id]
        if steps and steps[-1].id in finished:
            found[f"{part}/mould {mould} open"] = finished[steps[-1].id]
    found.update(_done_rounds(session))
    return found


def _done_rounds(session: Session) -> dict[str, LogEntry]:
    part, finished = session.part.name, session.finished
    found: dict[str, LogEntry] = {}
    number = 1
    while True:
        assert session.cast is not None
        steps = round_steps(session.plan, session.cast, number=number, moulds=[1])
        pours = [step for step in steps if step.kind is StepKind.POUR and step.id in finished]
        if pours:
            found[f"{part}/round {number} cast"] = finished[pours[-1].id]
        answers = [entry for name, entry in finished.items() if name.startswith(f"round-{number}/outcome-")]
        if not answers:
            return found
        found[f"{part}/round {number} out"] = answers[-1]
        number += 1


def _stretch(ended: datetime, at: datetime) -> Stretch:
    end = min(ended, at)
    return Stretch(start=end - timedelta(minutes=ENTERED_MIN), end=end)


def _rounds(tasks: Sequence[Task], part: str) -> int:
    return sum(task.part == part and task.id.endswith(" cast") for task in tasks)
