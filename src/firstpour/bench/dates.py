"""The dates of a job told after what came out: the last copy as it was told before, and as it is now."""

from dataclasses import dataclass
from datetime import datetime

from firstpour.bench.again import Again, put_in_order_again
from firstpour.bench.kept import Bench
from firstpour.bench.read import plan_of
from firstpour.errors import BadRequest
from firstpour.schedule.solve import Effort
from firstpour.store.opening import changing, reading
from firstpour.store.plans import plan_kept
from firstpour.store.runs import run_of
from firstpour.store.told import last_told, tell


@dataclass(frozen=True, slots=True, kw_only=True)
class Dates:
    """The last copy of the whole job; `before`: as it was told last, at first by the plan.

    `rounds`: of the part of the session, those that are done counted in. `not_known`: why there is no date.
    """

    job: str
    before: datetime | None
    all_done_at: datetime | None
    first_proof_at: datetime | None
    rounds: int
    not_known: str = ""


def dates_now(bench: Bench, session: int, *, at: datetime, effort: Effort | None = None) -> Dates:
    """Put the days that are left in order anew, and keep the date that is told.

    Where that cannot be done, the reason is told in the stead of the dates; nothing else is lost by it.

    Raises
    ------
    BadRequest
        If there is no such session.
    """
    with reading(bench.store) as connection:
        if connection is None:
            raise BadRequest(f"there is no session {session}.", remedy="start one from a kept plan")
        run = run_of(connection, session)
        kept = plan_kept(connection, run.plan_id)
        before = last_told(connection, kept.job)
    try:
        schedule = plan_of(kept.content).schedule
        again = put_in_order_again(bench, plan=kept.id, at=at, effort=effort)
    except BadRequest as error:
        why = f"{error.problem} {error.remedy}"
        return Dates(job=kept.job, before=before, all_done_at=None, first_proof_at=None, rounds=0, not_known=why)
    if before is None and schedule is not None:
        before = schedule.all_done_at
    keep_told(bench, again)
    return Dates(
        job=kept.job,
        before=before,
        all_done_at=again.replanned.all_done_at,
        first_proof_at=again.replanned.first_proof_at,
        rounds=again.rounds.get(run.part, 0),
    )


def keep_told(bench: Bench, again: Again) -> None:
    """What comes next is set against this date."""
    with changing(bench.store) as connection:
        tell(connection, again.job, again.replanned.all_done_at)
