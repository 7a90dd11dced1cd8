"""The stock in the store: packs put on the shelf, taken from, counted and removed, each change logged."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, func, insert, select, update

from firstpour.errors import BadRequest
from firstpour.materials.material import Material
from firstpour.stock.stock import WEIGHING_SLACK_G, Amount, Pack, after_taking, amount_left, amount_text, usable
from firstpour.store.opening import changing, reading
from firstpour.store.place import StorePlace
from firstpour.store.tables import MOVES, PACKS

OPEN_AND_TAKE = "open and take"
"""What is logged where the first grams leave a pack."""


def load_stock(place: StorePlace) -> tuple[Pack, ...]:
    """Every pack on the shelf, by id; an empty shelf if there is no store yet.

    Raises
    ------
    BadRequest
        If the store cannot be read, or a pack in it.
    """
    with reading(place) as connection:
        return () if connection is None else packs_in(connection)


def add_packs(place: StorePlace, packs: Sequence[Pack], *, at: datetime) -> tuple[Pack, ...]:
    """Put packs on the shelf (their ids are given anew) and return them as stored.

    Raises
    ------
    CannotWrite
        If the store cannot be written.
    """
    with changing(place) as connection:
        ids = [_insert(connection, pack, at) for pack in packs]
        return tuple(pack for pack in packs_in(connection) if pack.id in ids)


def take(place: StorePlace, material: Material, amount: Amount, *, at: datetime) -> tuple[Pack, ...]:
    """Take an amount of a material from its good packs, opened ones first; all of it or nothing.

    Raises
    ------
    BadRequest
        If there is less than that, or the amount is not above zero.
    """
    if not (amount.a_g >= 0 and amount.b_g >= 0 and amount.a_g + amount.b_g > 0):
        raise BadRequest(f"{amount.a_g:g} g and {amount.b_g:g} g to take.", remedy="Give an amount above zero.")
    with changing(place) as connection:
        left = amount_left(usable(packs_in(connection), material, today=at.date()))
        if amount.a_g > left.a_g + WEIGHING_SLACK_G or amount.b_g > left.b_g + WEIGHING_SLACK_G:
            two_parts = material.ratio is not None
            raise BadRequest(
                f"{amount_text(amount, two_parts=two_parts)} of {material.name} to take, but "
                f"{amount_text(left, two_parts=two_parts)} left that is still good.",
                remedy="take less, or count what is there",
            )
        return take_what_is_there(connection, material, amount, at=at)


def take_what_is_there(
    connection: Connection, material: Material, amount: Amount, *, at: datetime, entry_id: int | None = None
) -> tuple[Pack, ...]:
    """Take an amount as far as the good packs hold it, and return the packs changed: none falls below zero."""
    before = packs_in(connection)
    after = after_taking(before, material, amount, today=at.date())
    return tuple(
        _change(connection, old, new, "take" if old.opened_on else OPEN_AND_TAKE, at, entry_id)
        for old, new in zip(before, after, strict=True)
        if old != new
    )


def put_back(connection: Connection, entry_id: int, *, at: datetime) -> None:
    """Put back what an entry of the bench took; a pack that was removed since then stays removed.

    A pack that was counted in between is filled up to its size at most. One that the entry opened is unopened again
    if it is as full as before: what was typed by mistake opens no pack.
    """
    taken = connection.execute(
        select(MOVES.c.pack_id, MOVES.c.change_a_g, MOVES.c.change_b_g, MOVES.c.what)
        .where(MOVES.c.entry_id == entry_id)
        .order_by(MOVES.c.id.desc())
    ).all()
    for pack_id, a_g, b_g, what in taken:
        row = connection.execute(select(PACKS).where(PACKS.c.id == pack_id)).first()
        if row is None:
            continue
        left_a_g, left_b_g = min(row.size_a_g, row.left_a_g - a_g), min(row.size_b_g, row.left_b_g - b_g)
        full = left_a_g >= row.size_a_g - WEIGHING_SLACK_G and left_b_g >= row.size_b_g - WEIGHING_SLACK_G
        opened_on = None if what == OPEN_AND_TAKE and full else row.opened_on
        values = {"left_a_g": left_a_g, "left_b_g": left_b_g, "opened_on": opened_on}
        connection.execute(update(PACKS).where(PACKS.c.id == pack_id).values(values))
        _log(connection, pack_id, "put back", left_a_g - row.left_a_g, left_b_g - row.left_b_g, at)


def count(place: StorePlace, pack_id: int, *, left: Amount, at: datetime) -> Pack:
    """Set what was counted or weighed as left in a pack.

    Raises
    ------
    BadRequest
        If there is no such pack, or more is left than went in.
    """
    with changing(place) as connection:
        packs = {pack.id: pack for pack in packs_in(connection)}
        old = packs.get(pack_id)
        if old is None:
            raise BadRequest(f"no pack {pack_id} is on the shelf.", remedy="look at the packs on the shelf")
        started = left.a_g < old.size_a_g or left.b_g < old.size_b_g
        new = Pack(
            id=old.id,
            material_id=old.material_id,
            size_a_g=old.size_a_g,
            left_a_g=left.a_g,
            size_b_g=old.size_b_g,
            left_b_g=left.b_g,
            price=old.price,
            bought_on=old.bought_on,
            opened_on=old.opened_on or (at.date() if started else None),
        )
        return _change(connection, old, new, "count", at, None)


def remove(place: StorePlace, pack_id: int, *, at: datetime) -> None:
    """Take a pack out of the stock, also one that cannot be read; the log keeps what was in it.

    Raises
    ------
    BadRequest
        If there is no such pack.
    """
    with changing(place) as connection:
        row = connection.execute(select(PACKS.c.left_a_g, PACKS.c.left_b_g).where(PACKS.c.id == pack_id)).first()
        if row is None:
            raise BadRequest(f"no pack {pack_id} is on the shelf.", remedy="look at the packs on the shelf")
        connection.execute(delete(PACKS).where(PACKS.c.id == pack_id))
        _log(connection, pack_id, "remove", -row.left_a_g, -row.left_b_g, at)


def packs_in(connection: Connection) -> tuple[Pack, ...]:
    """Every pack, by id.

    Raises
    ------
    BadRequest
        If one cannot be read.
    """
    return tuple(_pack(row) for row in connection.execute(select(PACKS).order_by(PACKS.c.id)))


def _change(connection: Connection, old: Pack, new: Pack, what: str, at: datetime, entry_id: int | None) -> Pack:
    values = {"left_a_g": new.left_a_g, "left_b_g": new.left_b_g, "opened_on": _day(new.opened_on)}
    connection.execute(update(PACKS).where(PACKS.c.id == new.id).values(values))
    _log(connection, new.id, what, new.left_a_g - old.left_a_g, new.left_b_g - old.left_b_g, at, entry_id)
    return new


def _insert(connection: Connection, pack: Pack, at: datetime) -> int:
    """The number of a pack that was removed is not given again."""
    latest = [connection.execute(select(func.max(one))).scalar() or 0 for one in (PACKS.c.id, MOVES.c.pack_id)]
    pack_id = max(latest) + 1
    connection.execute(
        insert(PACKS).values(
            id=pack_id,
            material_id=pack.material_id,
            size_a_g=pack.size_a_g,
            left_a_g=pack.left_a_g,
            size_b_g=pack.size_b_g,
            left_b_g=pack.left_b_g,
            price=pack.price,
            bought_on=_day(pack.bought_on),
            opened_on=_day(pack.opened_on),
        )
    )
    _log(connection, pack_id, "add", pack.left_a_g, pack.left_b_g, at)
    return pack_id


def _log(
    connection: Connection,
    pack_id: int,
    what: str,
    a_g: float,
    b_g: float,
    at: datetime,
    entry_id: int | None = None,
) -> None:
    connection.execute(
        insert(MOVES).values(
            id=(connection.execute(select(func.max(MOVES.c.id))).scalar() or 0) + 1,
            pack_id=pack_id,
            at=at.isoformat(timespec="seconds"),
            what=what,
            change_a_g=a_g,
            change_b_g=b_g,
            entry_id=entry_id,
        )
    )


def _pack(row: Row[Any]) -> Pack:
    """The pack of a row.

    Raises
    ------
    BadRequest
        If what stands there cannot be meant: it names the pack, which can then be removed.
    """
    try:
        return Pack(
            id=row.id,
            material_id=row.material_id,
            size_a_g=row.size_a_g,
            left_a_g=row.left_a_g,
            size_b_g=row.size_b_g,
            left_b_g=row.left_b_g,
            price=row.price,
            bought_on=None if row.bought_on is None else date.fromisoformat(row.bought_on),
            opened_on=None if row.opened_on is None else date.fromisoformat(row.opened_on),
        )
    except (BadRequest, ValueError, TypeError) as error:
        why = error.problem.rstrip(".") if isinstance(error, BadRequest) else "a date or a number is none"
        raise BadRequest(
            f"pack {row.id} of the stock cannot be read: {why}.", remedy=f"take pack {row.id} out of the stock"
        ) from error


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
