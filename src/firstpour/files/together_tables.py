"""The `[[together]]` tables of job.toml: which parts become one mould, or why they cannot."""

from collections.abc import Sequence

from firstpour.errors import BadJob
from firstpour.files.job_tables import TogetherTable
from firstpour.job.job import PartRequest
from firstpour.job.together import together


def put_together(
    parts: Sequence[PartRequest], tables: Sequence[TogetherTable], *, called: str
) -> tuple[PartRequest, ...]:
    """The parts of the job, those of each table as one request in the place of its first part.

    Raises
    ------
    BadJob
        If a table names a part that is not there, or one twice, or parts that cannot share a mould.
    """
    made = list(parts)
    for number, table in enumerate(tables, start=1):
        where = f"{called}, together {number}"
        chosen = [_found(name, made, parts, where=where) for name in table.parts]
        if len({one.name for one in chosen}) < len(chosen):
            raise BadJob(
                f"{where} names a part twice", remedy="name it once, and give that part cavities = 2 for two of it"
            )
        cores = {one.around: one.name for one in parts if one.around is not None}
        core = next((one.name for one in chosen if one.name in cores), None)
        if core is not None:
            raise BadJob(
                f"{where}: {cores[core]} is cast around {core}, whose copies would come in sets with others",
                remedy=f"take {core} out of the table",
            )
        name = table.name or " and ".join(one.name for one in chosen)[:80]
        try:
            whole = together(name, chosen)
        except BadJob as error:
            raise BadJob(f"{where}: {error.problem}", remedy=error.remedy) from error
        made[made.index(chosen[0])] = whole
        made = [one for one in made if one not in chosen]
    return tuple(made)


def _found(name: str, left: Sequence[PartRequest], parts: Sequence[PartRequest], *, where: str) -> PartRequest:
    found = next((one for one in left if one.name == name), None)
    if found is not None:
        return found
    if any(one.name == name for one in parts):
        raise BadJob(f"{where}: {name!r} already lies in another mould", remedy="name each part in one table alone")
    names = ", ".join(one.name for one in parts)
    raise BadJob(f"{where}: there is no part {name!r}", remedy=f"name some of {names}")
