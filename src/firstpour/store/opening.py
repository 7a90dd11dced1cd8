"""The store opened: brought to this version first, every change one transaction, what goes wrong said in words."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, NullPool, create_engine, event, inspect, text
from sqlalchemy.exc import DBAPIError, NoSuchModuleError

from firstpour.errors import BadRequest, CannotWrite
from firstpour.store.old_stock import leave_beside, move_in
from firstpour.store.place import OLD_STOCK, StorePlace
from firstpour.writing.whole import Over, whole_file

WAIT_S = 10.0
"""How long a change waits for another one to end."""
VERSIONS = ("0001", "0002", "0003")
HEAD = VERSIONS[-1]
WRITES = "firstpour_writes"
LEAST_ROOM = 1 << 18
"""With less room than this an error of input or output comes of it (our own limit: eight pages of shared memory)."""
LOCK_KEY = 7_041_901
"""Number of the lock that a change takes on a server, so that changes come one after the other."""


@contextmanager
def reading(place: StorePlace) -> Iterator[Connection | None]:
    """A connection to read with; None where there is no store yet.

    Raises
    ------
    BadRequest
        If the place cannot be read, or the file there is no store of ours, or of a newer version.
    CannotWrite
        If it is locked, or an older one cannot be brought to this version.
    """
    if not _is_there(place):
        yield None
        return
    with _explained(place), _engine(place.url, WAIT_S).connect() as connection:
        if _version(connection) != HEAD or _has_old_stock(place):
            connection.close()
            with changing(place):
                pass
            with _engine(place.url, WAIT_S).connect() as renewed:
                yield renewed
            return
        yield connection


@contextmanager
def changing(place: StorePlace) -> Iterator[Connection]:
    """A connection inside a transaction that nobody else can write in; undone if anything is raised.

    Raises
    ------
    CannotWrite
        If the folder cannot be made, or the store is locked or full.
    BadRequest
        If the file there is no store of ours, or of a newer version.
    """
    _made(place.folder)
    with _explained(place):
        if _has_old_stock(place):
            with _transaction(place) as connection:
                move_in(connection, place.folder / OLD_STOCK)
            leave_beside(place.folder / OLD_STOCK)
        with _transaction(place) as connection:
            yield connection


@contextmanager
def _transaction(place: StorePlace) -> Iterator[Connection]:
    engine = _engine(place.url, WAIT_S)
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        _brought_to_head(connection, place)
        yield connection


def version_of(place: StorePlace) -> str | None:
    """The version of the store as it is now, without changing it; None where there is none."""
    if place.file is not None and not place.file.exists():
        return None
    with _explained(place), _engine(place.url, WAIT_S).connect() as connection:
        return _version(connection)


@lru_cache(maxsize=16)
def _engine(url: str, wait_s: float) -> Engine:
    """No connection outlives its use; SQLite is told to keep references, to log ahead, and to wait."""
    try:
        engine = create_engine(url, poolclass=NullPool)
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        raise BadRequest(f"no driver for {url.partition(':')[0]} is installed.", remedy="Install psycopg.") from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", lambda connection, _: _set_up(connection, wait_s))
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_server)
    return engine


def _set_up(connection: Any, wait_s: float) -> None:
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {int(1000 * wait_s)}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA journal_mode = WAL")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_server(connection: Connection) -> None:
    if connection.get_execution_options().get(WRITES):
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({LOCK_KEY})")


def _is_there(place: StorePlace) -> bool:
    if place.file is None:
        return True
    try:
        return place.file.exists() or _has_old_stock(place)
    except (OSError, ValueError) as error:
        raise BadRequest(
            f"the shelf folder {place.folder} cannot be read: {getattr(error, 'strerror', None) or error}.",
            remedy="name another folder of your own shelf, or ask for the right to read this one",
        ) from error


def _has_old_stock(place: StorePlace) -> bool:
    return (place.folder / OLD_STOCK).exists()


def _version(connection: Connection) -> str | None:
    if "alembic_version" not in inspect(connection).get_table_names():
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _brought_to_head(connection: Connection, place: StorePlace) -> None:
    version = _version(connection)
    if version == HEAD:
        return
    if version is not None and version not in VERSIONS:
        raise BadRequest(
            f"{place.name} was written by a newer Firstpour (version {version} of the store; this one knows {HEAD}).",
            remedy="Renew Firstpour, or name another folder of your own shelf.",
        )
    if version is not None and place.file is not None:
        _back_up(place.file, place.folder / f"{place.file.stem}.version-{version}.sqlite3")
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, HEAD)


def _back_up(file: Path, copy: Path) -> None:
    """A whole copy beside it; one of an earlier try is written over."""
    with (
        whole_file(copy, over=Over.ANYTHING) as partial,
        closing(sqlite3.connect(file)) as source,
        closing(sqlite3.connect(partial)) as target,
    ):
        source.backup(target)


def _made(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise CannotWrite(
            f"the shelf folder {folder} cannot be made: {getattr(error, 'strerror', None) or error}.",
            remedy="name another folder of your own shelf",
        ) from error


@contextmanager
def _explained(place: StorePlace) -> Iterator[None]:
    try:
        yield
    except DBAPIError as error:
        raise _in_words(error.orig, place) from error
    except sqlite3.Error as error:
        raise _in_words(error, place) from error


def _in_words(error: BaseException | None, place: StorePlace) -> Exception:
    said = " ".join(str(error).split())
    if place.file is None:
        return CannotWrite(
            f"the store {place.name} cannot be used: {said}.", remedy="see that the server runs, and what it asks for"
        )
    if isinstance(error, sqlite3.OperationalError):
        if _is_full(error, place.file.parent):
            return CannotWrite(
                f"the store {place.name} cannot be used: the disk is full ({said}).",
                remedy="make room there, or name another folder of your own shelf",
            )
        return CannotWrite(
            f"the store {place.name} cannot be used: {said}.",
            remedy="close whatever else is using it, free the folder, or name another folder of your own shelf",
        )
    return BadRequest(
        f"{place.name} is no store of Firstpour's: {said}.", remedy="Move the file away, or restore a copy."
    )


def _is_full(error: sqlite3.OperationalError, folder: Path) -> bool:
    """Whether no room is why: SQLite says it of what it writes, but not of the memory it shares between processes."""
    if error.sqlite_errorcode == sqlite3.SQLITE_FULL:
        return True
    of_input_or_output = error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_IOERR
    return of_input_or_output and shutil.disk_usage(folder).free < LEAST_ROOM
