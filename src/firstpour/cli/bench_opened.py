"""The bench that a command is about, its session, and the moment."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.numbers import limited

if TYPE_CHECKING:
    from firstpour.bench.kept import Bench

AsJson = Annotated[bool, show.JSON_OPTION]
MOST_ID = 10**9
SessionNumber = Annotated[
    int | None, limited(1, MOST_ID, "Which session; not needed while one alone is open.", metavar="N")
]
Note = Annotated[str, typer.Option(help="A few words to keep with it.")]


def now() -> datetime:
    """The moment, with its zone."""
    return datetime.now().astimezone()


def bench_of(shelf: Path | None) -> "Bench":
    """The store of the shelf, and the materials that are known there."""
    from firstpour.bench.kept import Bench
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.places import existing_shelf, store_place

    folder = existing_shelf(shelf)
    return Bench(store=store_place(folder), catalogue=load_catalogue(folder))


def session_of(bench: "Bench", given: int | None) -> int:
    """The session that is meant: the one given, or the only one that is open."""
    from firstpour.bench.sessions import open_sessions
    from firstpour.errors import BadRequest

    if given is not None:
        return given
    lines = open_sessions(bench, at=now())
    if len(lines) == 1:
        return lines[0].session
    if not lines:
        raise BadRequest("no session is open.", remedy="start one from a kept plan")
    names = ", ".join(f"{one.session} ({one.part})" for one in lines)
    raise BadRequest(f"{len(lines)} sessions are open: {names}.", remedy="say which session is meant")


def latest_of(bench: "Bench") -> int:
    """The only session that is open; else the last that was begun, for what ended it is what is taken back."""
    from firstpour.bench.sessions import open_sessions

    lines = open_sessions(bench, at=now())
    every = open_sessions(bench, at=now(), also_done=["done"])
    return every[-1].session if not lines and every else session_of(bench, None)
