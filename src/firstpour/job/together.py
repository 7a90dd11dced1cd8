"""Different parts of one material in one mould, as one request: what they share, and why they may not."""

from collections.abc import Sequence
from math import ceil
from typing import Any

from firstpour.cavities.values import MOST_CAVITIES
from firstpour.errors import BadJob
from firstpour.job.job import Making, Member, PartRequest
from firstpour.materials.feel import wanted_hardness
from firstpour.parting.values import MouldKind

LEFT_OPEN = ("silicone", "casting", "paint", "process", "silicone_shrinkage_ratio", "casting_shrinkage_ratio")
"""What one part may leave to the others."""
THE_SAME = ("clear", "moulds", "colourant_ratio", "accelerator_ratio", "silicone_accelerator_ratio")


def together(name: str, parts: Sequence[PartRequest]) -> PartRequest:
    """The parts as one request: a copy of it is a set, made by one shot, and as many sets as the scarcest part needs.

    Raises
    ------
    BadJob
        If they do not share a material, or one of them wants a mould that holds nothing else.
    """
    for one in parts:
        _check_alone(one)
    members = tuple(Member(request=one, count=int(one.cavities)) for one in parts)
    count = sum(one.count for one in members)
    if count > MOST_CAVITIES:
        raise BadJob(f"{count} cavities in one mould", remedy=f"give at most {MOST_CAVITIES} in all")
    return PartRequest(
        name=name,
        copies=max(ceil(one.request.copies / one.count) for one in members),
        kind=MouldKind.TRAYS,
        route=Making.CAST if any(one.route is Making.CAST for one in parts) else None,
        hardness=_hardness(parts),
        members=members,
        **{key: _shared(key, parts) for key in (*LEFT_OPEN, *THE_SAME)},
    )


def _check_alone(one: PartRequest) -> None:
    """Refuse a part that cannot lie beside others."""
    against = (
        (
            isinstance(one.cavities, str),
            f'{one.name} has cavities = "{one.cavities}": with others in its mould the number must be given',
            "give a number, 1 if not given",
        ),
        (
            one.kind not in (None, MouldKind.TRAYS),
            f'{one.name} has kind = "{one.kind}": several parts are laid together in trays alone',
            'leave kind out or give kind = "trays", or give it a mould of its own',
        ),
        (
            one.route is Making.PRINT,
            f'{one.name} has route = "{Making.PRINT}": a print has no mould',
            "leave route out, or take the part out of the table",
        ),
        (
            one.around is not None,
            f"{one.name} is cast around {one.around}: a mould of several parts holds none of its copies",
            "give it a mould of its own",
        ),
        (
            one.basin is not None,
            f"{one.name} has a basin: with others in its mould each part is poured through its own gate",
            "leave basin out, or give it a mould of its own",
        ),
        (
            bool(one.inserts),
            f"{one.name} has inserts: a mould of several parts holds none",
            "give it a mould of its own",
        ),
    )
    for refused, problem, remedy in against:
        if refused:
            raise BadJob(problem, remedy=remedy)


def _hardness(parts: Sequence[PartRequest]) -> str | None:
    """How hard all copies shall be, in the words of the first part that says so."""
    given = [one for one in parts if one.hardness is not None]
    for one in given[1:]:
        if wanted_hardness(one.hardness or "") != wanted_hardness(given[0].hardness or ""):
            raise _no_material(f'{given[0].name} is to be "{given[0].hardness}" and {one.name} "{one.hardness}"')
    return given[0].hardness if given else None


def _shared(key: str, parts: Sequence[PartRequest]) -> Any:
    """What the parts give for the key, those aside that leave it open."""
    given = [one for one in parts if getattr(one, key) is not None]
    for one in given[1:]:
        if getattr(one, key) != getattr(given[0], key):
            first, other = getattr(given[0], key), getattr(one, key)
            raise _no_material(f"{given[0].name} has {key} = {first} and {one.name} {key} = {other}")
    return getattr(given[0], key) if given else None


def _no_material(why: str) -> BadJob:
    return BadJob(
        f"these parts share no mould, for one mix fills all of it: {why}",
        remedy="give them the same, or take one of them out of the table",
    )
