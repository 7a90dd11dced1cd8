"""The stock that the shelf kept in a file of its own: moved into the store once, its file left beside as a backup."""

import sqlite3
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select

from firstpour.errors import BadRequest
from firstpour.store.tables import FACTS, MOVES, PACKS

BACKUP = "stock.moved-into-the-store.sqlite3"
OLD_VERSION = 1
_PACK_KEYS = tuple(column.name for column in PACKS.columns)
_MOVE_KEYS = ("id", "pack_id", "at", "what", "change_a_g", "change_b_g")


def move_in(connection: Connection, file: Path) -> None:
    """Take every pack and every move of the old file into the store, once.

    Numbers stay as they were where the store has none; else they follow those that are there.

    Raises
    ------
    BadRequest
        If the file is no stock, or of a newer version.
    """
    if not file.exists():
        return  # another process has done it meanwhile
    key = f"old stock {sha256(file.read_bytes()).hexdigest()}"
    if connection.execute(select(FACTS.c.value).where(FACTS.c.key == key)).first() is not None:
        return
    packs, moves = _read(file)
    shift_pack = connection.execute(select(func.coalesce(func.max(PACKS.c.id), 0))).scalar_one()
    shift_pack = max(shift_pack, connection.execute(select(func.coalesce(func.max(MOVES.c.pack_id), 0))).scalar_one())
    shift_move = connection.execute(select(func.coalesce(func.max(MOVES.c.id), 0))).scalar_one()
    for row in packs:
        connection.execute(
            insert(PACKS).values({**dict(zip(_PACK_KEYS, row, strict=True)), "id": row[0] + shift_pack})
        )
    for row in moves:
        values = dict(zip(_MOVE_KEYS, row, strict=True))
        values.update(id=row[0] + shift_move, pack_id=row[1] + shift_pack)
        connection.execute(insert(MOVES).values(values))
    connection.execute(insert(FACTS).values(key=key, value=f"{len(packs)} packs, {len(moves)} moves"))


def leave_beside(file: Path) -> None:
    """The old file under a name under which nobody takes it for the stock; earlier ones are kept as well."""
    copy, number = file.with_name(BACKUP), 1
    while copy.exists():
        number += 1
        copy = file.with_name(BACKUP.replace(".sqlite3", f"-{number}.sqlite3"))
    with suppress(FileNotFoundError):  # another process has done it
        file.replace(copy)


def _read(file: Path) -> tuple[list[tuple[Any, ...]], list[tuple[Any, ...]]]:
    source = sqlite3.connect(file)
    try:
        version = source.execute("PRAGMA user_version").fetchone()[0]
        if version > OLD_VERSION:
            raise BadRequest(
                f"{file} was written by a newer Firstpour (version {version} of the stock).",
                remedy="Renew Firstpour.",
            )
        if version == 0:
            return [], []
        packs = source.execute(f"SELECT {', '.join(_PACK_KEYS)} FROM packs ORDER BY id").fetchall()
        moves = source.execute(f"SELECT {', '.join(_MOVE_KEYS)} FROM moves ORDER BY id").fetchall()
    except sqlite3.DatabaseError as error:
        raise BadRequest(
            f"{file} is no stock of Firstpour's: {error}.", remedy="Move the file away, or restore a copy."
        ) from error
    finally:
        source.close()
    return packs, moves
