"""The date that was last told for a job, so that a later one can be set against it."""

from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from firstpour.store.tables import FACTS
from firstpour.store.times import kept, moment


def last_told(connection: Connection, job: str) -> datetime | None:
    """When the last copy of the job was said to be there; None if it never was."""
    found = connection.execute(select(FACTS.c.value).where(FACTS.c.key == _key(job))).scalar()
    return None if found is None else moment(found)


def tell(connection: Connection, job: str, at: datetime) -> None:
    """From now on that is the date last told."""
    connection.execute(delete(FACTS).where(FACTS.c.key == _key(job)))
    connection.execute(insert(FACTS).values(key=_key(job), value=kept(at)))


def _key(job: str) -> str:
    return f"last copy of {job}"
