"""The days that are left, put in order anew from what the bench says: what is done stands, what runs runs on.

All of it comes from the kept plan and the log: neither the job's files nor the geometry are needed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from firstpour.bench.done_tasks import done_tasks
from firstpour.bench.kept import Bench
from firstpour.bench.needs import cast_needs, plates_needed
from firstpour.bench.read import Session, all_parts, plan_of, session_or_none
from firstpour.errors import BadRequest
from firstpour.files.plan_json import PlanEntry
from firstpour.files.schedule_entries import ScheduleEntry
from firstpour.files.taken_entries import PlateWorkEntry
from firstpour.routes.work import Work
from firstpour.schedule.entries import hours_from, network_from
from firstpour.schedule.going_on import going_on
from firstpour.schedule.hours_ahead import calendar_from
from firstpour.schedule.printed_tasks import plate_tasks
from firstpour.schedule.replan import Present, Replanned, replan
from firstpour.schedule.sessions import in_sessions
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Network
from firstpour.store.learned import Learned, learned_from
from firstpour.store.opening import reading
from firstpour.store.plans import plans_kept
from firstpour.store.runs import runs_in

SOON = Effort(last=1.0, proofs=0.2, visits=0.2, tidy=0.2)
"""Somebody waits for the answer with gloves on: about a second, then the best order that was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """The order of work from the present on, with what each part has and still needs."""

    job: str
    replanned: Replanned
    good: Mapping[str, int]
    rounds: Mapping[str, int]
    """Rounds or plates of each part, those that are done counted in."""


def put_in_order_again(bench: Bench, *, plan: int, at: datetime, effort: Effort | None = None) -> Again:
    """The schedule of the job of a kept plan from `at` on, by the latest session of each of its parts.

    The shots still needed are reckoned for the copies that are missing, by the yield that was seen.

    Raises
    ------
    BadRequest
        If there is no such plan, it holds no order of work, or what is left finds no place in the hours.
    OlderPlan
        If this version does not read the plan.
    """
    with reading(bench.store) as connection:
        if connection is None:
            raise BadRequest(f"no plan {plan} is kept.", remedy="keep a plan first")
        job, entry = _kept(connection, plan)
        latest = _latest(connection, entry, job)
        learned = learned_from(connection)
    schedule = entry.schedule
    if schedule is None:
        raise BadRequest(
            f"plan {plan} holds no order of work.", remedy="give its parts materials, plan the job anew, and keep it"
        )
    network = _now(network_from(schedule), entry, latest, learned)
    known = {task.id for task in network.tasks}
    done = {
        name: stretch
        for session in latest.values()
        for name, stretch in done_tasks(session, at=at).items()
        if name in known
    }
    hours = hours_from(schedule)
    network = in_sessions(network, calendar_from(at, hours))
    replanned = replan(network, Present(at=at, done=done), hours=hours, effort=effort or SOON)
    return Again(
        job=job,
        replanned=replanned,
        good={name: one.good for name, one in latest.items()},
        rounds={name: _goes(network, name) for name in sorted({task.part for task in network.tasks})},
    )


def _kept(connection: Connection, plan: int) -> tuple[str, PlanEntry]:
    for one in plans_kept(connection):
        if one.id == plan:
            return one.job, plan_of(one.content)
    raise BadRequest(f"no plan {plan} is kept.", remedy="look at the plans that are kept, or keep this one")


def _latest(connection: Connection, entry: PlanEntry, job: str) -> dict[str, Session]:
    """The latest session of each of the job's parts, by the part's name; of those that this version reads."""
    names = {one.name for one in all_parts(entry)}
    mine = {one.id for one in plans_kept(connection) if one.job == job}
    runs = {run.part: run for run in runs_in(connection) if run.plan_id in mine and run.part in names}
    found = {name: session_or_none(connection, run) for name, run in runs.items()}
    return {name: one for name, one in found.items() if one is not None}


def _now(network: Network, entry: PlanEntry, latest: Mapping[str, Session], learned: Learned) -> Network:
    """The network with the rounds, moulds and plates that each part under way needs."""
    cast = {one.name for one in entry.parts}
    for name, session in latest.items():
        if name in cast and session.cast is not None:
            planned = _planned_rounds(entry.schedule, name)
            network = going_on(network, name, cast_needs(session, learned, planned_rounds=planned))
        elif name not in cast and session.printed is not None:
            network = _with_plates(network, session, plates_needed(session, learned))
    return network


def _planned_rounds(schedule: ScheduleEntry | None, name: str) -> int:
    """Rounds that the plan reckons with."""
    tasks = () if schedule is None else schedule.tasks
    return sum(one.part == name and one.lane == "casting" and one.id.endswith(" out") for one in tasks)


def _with_plates(network: Network, session: Session, plates: Sequence[int]) -> Network:
    """The network with these plates in the stead of those that the plan reckoned with."""
    part = session.printed
    assert part is not None
    own = {task.id for task in network.tasks if task.part == part.name}
    new = plate_tasks(
        part.name,
        printer=part.printer,
        plates=plates,
        each_plate=[_work(one) for one in part.plate_work],
        each_good=[_work(one) for one in part.afterwards],
        copies=part.copies,
    )
    return Network(
        tasks=(*(task for task in network.tasks if task.id not in own), *new.tasks),
        holds=(*(hold for hold in network.holds if hold.last not in own), *new.holds),
        proofs=(*(name for name in network.proofs if name not in own), *new.proofs),
    )


def _work(one: PlateWorkEntry) -> Work:
    return Work(
        what=one.what,
        hands_min=one.hands_min,
        wait_min=one.wait_min,
        hands_each_min=one.hands_each_min,
        wait_each_min=one.wait_each_min,
        printing=one.printing,
        text=one.text,
    )


def _goes(network: Network, part: str) -> int:
    """Rounds of casting, or plates."""
    own = [task.id for task in network.tasks if task.part == part]
    return sum(name.endswith(" cast") for name in own) or sum(name.endswith(" start") for name in own)
