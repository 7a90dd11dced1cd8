"""The user's stock in one SQLite file: every change is one transaction, safe under two processes, and is logged."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any

from firstpour.errors import BadRequest, CannotWrite
from firstpour.materials.material import Material
from firstpour.stock.stock import WEIGHING_SLACK_G, Amount, Pack, after_taking, amount_left, amount_text, usable

FILE_NAME = "stock.sqlite3"
WAIT_S = 10.0
VERSION = 1

_TABLES = """
CREATE TABLE IF NOT EXISTS packs (
    id INTEGER PRIMARY KEY,
    material_id TEXT NOT NULL,
    size_a_g REAL NOT NULL CHECK (size_a_g > 0),
    left_a_g REAL NOT NULL CHECK (left_a_g >= 0 AND left_a_g <= size_a_g),
    size_b_g REAL NOT NULL CHECK (size_b_g >= 0),
    left_b_g REAL NOT NULL CHECK (left_b_g >= 0 AND left_b_g <= size_b_g),
    price REAL CHECK (price >= 0),
    bought_on TEXT,
    opened_on TEXT
);
CREATE TABLE IF NOT EXISTS moves (
    id INTEGER PRIMARY KEY,
    pack_id INTEGER NOT NULL REFERENCES packs (id),
    at TEXT NOT NULL,
    what TEXT NOT NULL,
    change_a_g REAL NOT NULL,
    change_b_g REAL NOT NULL
);
"""
_NEXT_ID = "(SELECT 1 + max(ifnull(max(pack_id), 0), (SELECT ifnull(max(id), 0) FROM packs)) FROM moves)"
"""The number of a pack that was removed is not given again."""
_COLUMNS = "id, material_id, size_a_g, left_a_g, size_b_g, left_b_g, price, bought_on, opened_on"


def load_stock(shelf: Path) -> tuple[Pack, ...]:
    """Every pack on the shelf, by id; an empty shelf if there is no file yet.

    Raises
    ------
    BadRequest
        If the file is no stock of ours.
    """
    try:
        if not (shelf / FILE_NAME).exists():
            return ()
    except (OSError, ValueError) as error:
        raise BadRequest(
            f"the shelf folder {shelf} cannot be read: {getattr(error, 'strerror', None) or error}.",
            remedy="name another folder of your own shelf, or ask for the right to read this one",
        ) from error
    with _opened(shelf) as connection:
        return _packs(connection)


def add_packs(shelf: Path, packs: list[Pack], *, at: datetime) -> tuple[Pack, ...]:
    """Put packs on the shelf (their ids are given anew) and return them as stored.

    Raises
    ------
    CannotWrite
        If the folder cannot be written.
    """
    with _changing(shelf) as connection:
        ids = [_insert(connection, pack, at) for pack in packs]
        return tuple(pack for pack in _packs(connection) if pack.id in ids)


def take(shelf: Path, material: Material, amount: Amount, *, at: datetime) -> tuple[Pack, ...]:
    """Take an amount of a material from its good packs, opened ones first; all of it or nothing.

    Raises
    ------
    BadRequest
        If there is less than that, or the amount is not above zero.
    """
    if not (amount.a_g >= 0 and amount.b_g >= 0 and amount.a_g + amount.b_g > 0):
        raise BadRequest(f"{amount.a_g:g} g and {amount.b_g:g} g to take.", remedy="Give an amount above zero.")
    with _changing(shelf) as connection:
        before = _packs(connection)
        left = amount_left(usable(before, material, today=at.date()))
        if amount.a_g > left.a_g + WEIGHING_SLACK_G or amount.b_g > left.b_g + WEIGHING_SLACK_G:
            two_parts = material.ratio is not None
            raise BadRequest(
                f"{amount_text(amount, two_parts=two_parts)} of {material.name} to take, but "
                f"{amount_text(left, two_parts=two_parts)} left that is still good.",
                remedy="take less, or count what is there",
            )
        after = after_taking(before, material, amount, today=at.date())
        return tuple(
            _change(connection, old, new, "take", at) for old, new in zip(before, after, strict=True) if old != new
        )


def count(shelf: Path, pack_id: int, *, left: Amount, at: datetime) -> Pack:
    """Set what was counted or weighed as left in a pack.

    Raises
    ------
    BadRequest
        If there is no such pack, or more is left than went in.
    """
    with _changing(shelf) as connection:
        packs = {pack.id: pack for pack in _packs(connection)}
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
        return _change(connection, old, new, "count", at)


def remove(shelf: Path, pack_id: int, *, at: datetime) -> None:
    """Take a pack out of the stock, also one that cannot be read; the log keeps what was in it.

    Raises
    ------
    BadRequest
        If there is no such pack.
    """
    with _changing(shelf) as connection:
        row = connection.execute("SELECT left_a_g, left_b_g FROM packs WHERE id = ?", (pack_id,)).fetchone()
        if row is None:
            raise BadRequest(f"no pack {pack_id} is on the shelf.", remedy="look at the packs on the shelf")
        connection.execute("DELETE FROM packs WHERE id = ?", (pack_id,))
        _log(connection, pack_id, "remove", -row[0], -row[1], at)


def _change(connection: sqlite3.Connection, old: Pack, new: Pack, what: str, at: datetime) -> Pack:
    connection.execute(
        "UPDATE packs SET left_a_g = ?, left_b_g = ?, opened_on = ? WHERE id = ?",
        (new.left_a_g, new.left_b_g, _day(new.opened_on), new.id),
    )
    _log(connection, new.id, what, new.left_a_g - old.left_a_g, new.left_b_g - old.left_b_g, at)
    return new


def _insert(connection: sqlite3.Connection, pack: Pack, at: datetime) -> int:
    cursor = connection.execute(
        f"INSERT INTO packs ({_COLUMNS}) VALUES ({_NEXT_ID}, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            pack.material_id,
            pack.size_a_g,
            pack.left_a_g,
            pack.size_b_g,
            pack.left_b_g,
            pack.price,
            _day(pack.bought_on),
            _day(pack.opened_on),
        ),
    )
    pack_id = int(cursor.lastrowid or 0)
    _log(connection, pack_id, "add", pack.left_a_g, pack.left_b_g, at)
    return pack_id


def _log(connection: sqlite3.Connection, pack_id: int, what: str, a_g: float, b_g: float, at: datetime) -> None:
    connection.execute(
        "INSERT INTO moves (pack_id, at, what, change_a_g, change_b_g) VALUES (?, ?, ?, ?, ?)",
        (pack_id, at.isoformat(timespec="seconds"), what, a_g, b_g),
    )


def _packs(connection: sqlite3.Connection) -> tuple[Pack, ...]:
    return tuple(_pack(row) for row in connection.execute(f"SELECT {_COLUMNS} FROM packs ORDER BY id"))


def _pack(row: tuple[Any, ...]) -> Pack:
    """The pack of a row.

    Raises
    ------
    BadRequest
        If what stands there cannot be meant: it names the pack, which can then be removed.
    """
    try:
        return Pack(
            id=row[0],
            material_id=row[1],
            size_a_g=row[2],
            left_a_g=row[3],
            size_b_g=row[4],
            left_b_g=row[5],
            price=row[6],
            bought_on=None if row[7] is None else date.fromisoformat(row[7]),
            opened_on=None if row[8] is None else date.fromisoformat(row[8]),
        )
    except (BadRequest, ValueError, TypeError) as error:
        why = error.problem.rstrip(".") if isinstance(error, BadRequest) else "a date or a number is none"
        raise BadRequest(
            f"pack {row[0]} of the stock cannot be read: {why}.", remedy=f"take pack {row[0]} out of the stock"
        ) from error


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


@contextmanager
def _changing(shelf: Path) -> Iterator[sqlite3.Connection]:
    """A connection inside a transaction that nobody else can write in; undone if anything is raised."""
    with _opened(_made(shelf)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
        except BaseException:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")


def _made(shelf: Path) -> Path:
    try:
        shelf.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise CannotWrite(
            f"the shelf folder {shelf} cannot be made: {getattr(error, 'strerror', None) or error}.",
            remedy="name another folder of your own shelf",
        ) from error
    return shelf


@contextmanager
def _opened(shelf: Path) -> Iterator[sqlite3.Connection]:
    path = shelf / FILE_NAME
    connection = None
    try:
        connection = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
        _prepare(connection, path)
        yield connection
    except sqlite3.DatabaseError as error:
        raise _explained(error, path) from error
    finally:
        if connection is not None:
            connection.close()


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version == VERSION:
        return
    if version > VERSION:
        raise BadRequest(
            f"{path} was written by a newer Firstpour (version {version} of the stock).", remedy="Renew Firstpour."
        )
    connection.executescript(f"BEGIN IMMEDIATE;{_TABLES}PRAGMA user_version = {VERSION};COMMIT;")


def _explained(error: sqlite3.DatabaseError, path: Path) -> Exception:
    if isinstance(error, sqlite3.OperationalError):
        return CannotWrite(
            f"the stock {path} cannot be used: {error}.",
            remedy="close whatever else is using it, free the folder, or name another folder of your own shelf",
        )
    return BadRequest(f"{path} is no stock of Firstpour's: {error}.", remedy="Move the file away, or restore a copy.")
