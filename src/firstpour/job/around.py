"""Parts that are cast around a copy of another part of the job: that copy becomes an insert of theirs."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from firstpour.errors import BadJob
from firstpour.inserts.values import Insert, InsertShape
from firstpour.job.job import Making, PartRequest


def with_cores(parts: Sequence[PartRequest]) -> tuple[PartRequest, ...]:
    """The parts, each that is cast around another with a copy of that as an insert, and both of them to be cast.

    Raises
    ------
    BadJob
        If the other part is not there, goes round in a circle, or makes no copies that can be laid in.
    """
    named = {one.name: one for one in parts}
    around = {one.name: one.around for one in parts if one.around is not None}
    for name, core in around.items():
        _check(named[name], core, named, around)
    cores = set(around.values())
    return tuple(_with_core(one, named) if one.around else _as_core(one, cores) for one in parts)


def _with_core(one: PartRequest, named: Mapping[str, PartRequest]) -> PartRequest:
    core = named[one.around or ""]
    insert = Insert(shape=InsertShape.MESH, file=core.file, unit=core.unit, copy_of=core.name)
    return replace(one, inserts=(*one.inserts, insert), route=Making.CAST)


def _as_core(one: PartRequest, cores: set[str]) -> PartRequest:
    return replace(one, route=Making.CAST) if one.name in cores else one


def _check(one: PartRequest, core: str, named: Mapping[str, PartRequest], around: Mapping[str, str]) -> None:
    """Refuse what cannot be cast around."""
    if core not in named:
        raise BadJob(
            f"{one.name}: around = {core!r}, and there is no such part",
            remedy=f"name one of {', '.join(name for name in named if name != one.name) or 'the parts of the job'}",
        )
    circle = _circle(one.name, around)
    if circle:
        raise BadJob(
            f"{' around '.join(circle)}: each is to be cast around the next, in a circle",
            remedy="leave around out of the part that is cast first",
        )
    inner = named[core]
    others = [name for name, what in around.items() if what == core and name != one.name]
    against = (
        (
            inner.around is not None,
            f"{one.name} is cast around {core}, and that around {inner.around}: two steps, one in the other",
            f"join the files of {core} and {inner.around} into one part, or leave one around out",
        ),
        (
            bool(others),
            f"{one.name} and {' and '.join(others)} are both to be cast around {core}",
            "cast around it once: join what lies around it into one part",
        ),
        (
            inner.file is None,
            f"{one.name} is cast around {core}, which is a sample: it has no file to stand in the mould",
            "write the sample as a file, and name that",
        ),
        (
            Making.PRINT in (one.route, inner.route),
            f"{one.name} is cast around {core}, and one of them is printed directly",
            'leave route = "print directly" out; what is printed and cast around is an insert of shape "mesh"',
        ),
        (
            inner.copies < one.copies,
            f"{one.copies} copies of {one.name} are cast around {inner.copies} of {core}",
            f"give {core} copies = {one.copies} or more: each is cast around once",
        ),
    )
    for refused, problem, remedy in against:
        if refused:
            raise BadJob(problem, remedy=remedy)


def _circle(name: str, around: Mapping[str, str]) -> list[str]:
    """The names from this part back to itself; empty where the way ends elsewhere.

    >>> _circle("tyre", {"tyre": "hub", "hub": "tyre"}), _circle("tyre", {"tyre": "hub"})
    (['tyre', 'hub', 'tyre'], [])
    """
    way = [name]
    while way[-1] in around and len(way) <= len(around):
        way.append(around[way[-1]])
        if way[-1] == name:
            return way
    return []
