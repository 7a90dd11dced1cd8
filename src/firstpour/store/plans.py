"""Plans in the store: each kept once as it was made, with what it was made from, and never changed."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Table, func, insert, select

from firstpour.errors import BadRequest
from firstpour.store.tables import JOBS, PLANS
from firstpour.store.times import kept, moment


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPlan:
    """A plan as kept: its job, when, from what (name → SHA-256), and the text of its plan.json."""

    id: int
    job: str
    kept_at: datetime
    digest: str
    made_from: Mapping[str, str]
    made_by: str
    folder: str
    """Where its pictures and pieces were written."""
    content: str


def keep(
    connection: Connection,
    *,
    job: str,
    due: str | None,
    content: str,
    made_from: Mapping[str, str],
    made_by: str,
    folder: str,
    at: datetime,
) -> int:
    """Keep a plan and return its number; the same plan made from the same is kept once."""
    origin = json.dumps(dict(sorted(made_from.items())))
    digest = hashlib.sha256(f"{origin}\n{content}".encode()).hexdigest()
    known = connection.execute(select(PLANS.c.id).where(PLANS.c.digest == digest)).scalar()
    if known is not None:
        return int(known)
    job_id = connection.execute(select(JOBS.c.id).where(JOBS.c.name == job)).scalar()
    if job_id is None:
        job_id = next_id(connection, JOBS)
        connection.execute(insert(JOBS).values(id=job_id, name=job, due=due))
    plan_id = next_id(connection, PLANS)
    connection.execute(
        insert(PLANS).values(
            id=plan_id,
            job_id=job_id,
            kept_at=kept(at),
            digest=digest,
            made_from=origin,
            made_by=made_by,
            folder=folder,
            content=content,
        )
    )
    return plan_id


def plan_kept(connection: Connection, plan_id: int) -> KeptPlan:
    """One kept plan.

    Raises
    ------
    BadRequest
        If there is none of this number.
    """
    found = [one for one in plans_kept(connection) if one.id == plan_id]
    if not found:
        raise BadRequest(f"no plan {plan_id} is kept.", remedy="look at the plans that are kept, or keep this one")
    return found[0]


def plans_kept(connection: Connection) -> tuple[KeptPlan, ...]:
    """Every kept plan, the oldest first."""
    rows = connection.execute(select(PLANS, JOBS.c.name.label("job")).join(JOBS).order_by(PLANS.c.id))
    return tuple(
        KeptPlan(
            id=row.id,
            job=row.job,
            kept_at=moment(row.kept_at),
            digest=row.digest,
            made_from=json.loads(row.made_from),
            made_by=row.made_by,
            folder=row.folder,
            content=row.content,
        )
        for row in rows
    )


def next_id(connection: Connection, table: Table) -> int:
    """The next number of a table: changes come one after the other, so it is nobody else's."""
    column = table.c.id
    return int(connection.execute(select(func.max(column))).scalar() or 0) + 1
