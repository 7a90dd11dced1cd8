"""Command lines at random: every command with options and values that are sound, odd or nonsense.

Each is typed in a folder with a part, a job, a shelf and a plan, without a terminal. It has failed if it ends with an
exception that is not ours, with another code than 0, 1, 2 or 130, says a traceback, is over no sooner than `MOST_S`,
or changes the maker's own files.
"""

import atexit
import contextlib
import io
import os
import random
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any, get_args
from unittest import mock

import typer

import part_files
from firstpour.cli import main
from firstpour.stock.demo_stock import demo_stock
from firstpour.store.place import store_in
from firstpour.store.stock_rows import add_packs
from fuzz.cases import JOB, WORKSHOP
from sample_shapes import torus

MOST_S = 60
"""A command line that takes longer has failed; most that plan something take a second or two."""
LEFT_OUT = ("serve", "demo")
"""One waits for a browser until it is ended, the other plans the whole tide pool."""
VALUES = (
    "", "0", "-1", "1", "2.5", "1e308", "5e-324", "nan", "inf", "-inf", "99999999999999999999", "true", "x", "peg",
    "limpet", "part.stl", "job.toml", "workshop.toml", "results", "no such file", ".", "..", "/dev/null", "/dev/full",
    "own.txt", "a" * 300, "ä ö\n☃", "0,0,1", "1,2", "0,0,0", "D 75", "A 30", "500 g", "rigid-plastic-d75-middling",
    "2027-01-04", "9999-12-31", "mm", "inch", "--", "-", "block", "trays", "soonest", "[", "{}", "\udcff",
)  # fmt: skip
OWN = ("own.txt", "part.stl", "job.toml", "workshop.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A command line that failed, and how."""

    seed: int
    words: tuple[str, ...]
    what: str


@cache
def commands() -> tuple[tuple[tuple[str, ...], Any], ...]:
    """Every command by the words one types, with its options."""
    main.register_commands()

    def below(words: tuple[str, ...], one: Any) -> Iterator[tuple[tuple[str, ...], Any]]:
        if not hasattr(one, "commands"):
            yield words, one
            return
        for name, inner in one.commands.items():
            yield from below((*words, name), inner)

    every = below((), typer.main.get_command(main.app))
    return tuple((words, one) for words, one in every if words[0] not in LEFT_OUT)


MEANT = {
    "accelerator_ratio": "0 0.02", "amount": "5%g", "begin": "2027-01-04T08:00", "bought": "2026-10-01",
    "defects": "bubbles tacky", "direction": "0,0,1 1,0,0", "draw": "0,0,1", "gate": "12,0,5 0,12,4",
    "grams": "30 A=30,B=30", "kind": "block trays silicone", "left": "300%g 100",
    "like": "rigid-plastic-d75-middling", "master": "resin filament-rigid",
    "material": "rigid-plastic-d75-middling filament-rigid silicone-addition-a20-fast", "minutes": "20",
    "name": "clock own", "opened": "2026-10-02", "origin": "here", "pace": "steady", "pack": "1 500%g 1%kg",
    "part": "peg part", "process": "filament resin", "ratio": "1:1", "setting": "wall_mm=8 clearance_mm=0.2",
    "session": "1", "plan": "1", "source": "all.zip", "target": "new.zip", "up": "0,0,1 0,1,0",
    "vent": "-12,0,5", "what": "temperature", "words": "room.temperature_c=22", "printer": "small%printer",
    "resolution": "32 64", "directions": "40", "faces": "5000", "processes": "1", "layer_mm": "0.1",
}  # fmt: skip
"""What one might give for an option, with spaces between, `%` for a space within."""


def a_line(chance: random.Random) -> tuple[str, ...]:
    """The words of a command with some of its options, most with a value that one might mean."""
    words, command = chance.choice(commands())
    nonsense = chance.choice((0.0, 0.1, 0.5))
    typed = list(words)
    for one in command.params:
        is_option = bool(one.opts and one.opts[0].startswith("-"))
        if is_option and chance.random() < (0.95 if one.required else 0.15):
            typed.append(chance.choice([*one.opts, *one.secondary_opts]))
            if not getattr(one, "is_flag", False):
                typed.append(_value(words, one, chance, nonsense))
        if not is_option and chance.random() < 0.97:
            typed += [
                _value(words, one, chance, nonsense) for _ in range(1 if one.nargs == 1 else chance.randint(0, 2))
            ]
    if chance.random() < nonsense / 5:
        typed.insert(chance.randint(1, len(typed)), chance.choice(VALUES))
    return tuple(typed)


def _value(words: tuple[str, ...], one: Any, chance: random.Random, nonsense: float) -> str:
    """A value that the option may have, or nonsense by that chance."""
    if chance.random() < nonsense:
        return chance.choice(VALUES)
    annotation = one.type_descriptor.annotation
    kind = next((inner for inner in get_args(annotation) if inner is not type(None)), annotation)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return str(chance.choice(list(kind)).value)
    if kind is Path and one.name in ("part", "job"):
        return chance.choice(("part.stl", "job.toml") if one.name == "job" else ("part.stl",))
    if kind is Path and one.name == "plan":
        return "results"
    if kind is Path and one.name == "workshop":
        return "workshop.toml"
    if one.name in MEANT:
        return chance.choice(MEANT[one.name].split()).replace("%", " ")
    if kind in (int, float):
        return chance.choice(("1", "2", "3", "20", "5"))
    return chance.choice(("results", "out", "own-new.txt") if kind is Path else VALUES)


@cache
def _worked_in() -> Path:
    """A maker's folder: a part, a job, a file of their own, a shelf, results of a plan, a session at the bench."""
    folder = Path(tempfile.mkdtemp(prefix="firstpour-fuzz-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    (folder / "part.stl").write_bytes(part_files.binary_stl(torus(12, 5, segments=16)))
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    (folder / "own.txt").write_text("my own\n", encoding="utf-8")
    (folder / "shelf").mkdir()
    now = datetime.now()
    add_packs(store_in(folder / "shelf"), demo_stock(today=now.date()), at=now)
    for words in (
        ("plan", "part.stl", "--out", "results", "--processes", "1"), ("bench", "keep", "results"),
        ("bench", "start", "1", "part"), ("store", "export", "all.zip"),
    ):  # fmt: skip
        what = _typed(words, folder)
        if what:
            raise RuntimeError(f"{words}: {what}")
    return folder


def try_line(seed: int) -> Line | None:
    """The command line of that seed: None where it ends in a result or in words."""
    words = a_line(random.Random(f"line {seed}"))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "here"
        shutil.copytree(_worked_in(), folder)
        before = {one: (folder / one).read_bytes() for one in OWN}
        what = _typed(words, folder)
        changed = [one for one, data in before.items() if _content(folder / one) != data]
        changed = [one for one in changed if not (one == "workshop.toml" and words[:2] == ("workshop", "set"))]
    if not what and changed:
        what = f"changed {changed}"
    return Line(seed=seed, words=words, what=what) if what else None


def _content(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


def _typed(words: tuple[str, ...], folder: Path) -> str:
    """Type it there; what was wrong with how it ended, empty if nothing."""
    own = {
        "FIRSTPOUR_SHELF": str(folder / "shelf"), "FIRSTPOUR_WORKSHOP": str(folder / "workshop.toml"),
        "FIRSTPOUR_KEPT": "", "HOME": str(folder), "XDG_DATA_HOME": str(folder / "data"),
    }  # fmt: skip
    out, err = io.StringIO(), io.StringIO()
    with (
        mock.patch.dict(os.environ, own), mock.patch.object(sys, "argv", ["firstpour", *words]),
        mock.patch.object(sys, "stdin", io.StringIO("")), contextlib.chdir(folder), contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err), _limited(),
    ):  # fmt: skip
        try:
            main.run()
        except SystemExit as ended:
            code = ended.code or 0
        except BaseException as error:
            return f"{type(error).__name__}: {error}"
    if code not in (0, 1, 2, 130) or "Traceback" in err.getvalue():
        return f"ended with {code}: {err.getvalue()[-300:]}"
    if code == 2 and "Problem: " not in err.getvalue():
        return f"refused without words: {err.getvalue()[-300:]}"
    return ""


@contextlib.contextmanager
def _limited() -> Iterator[None]:
    def stop(*_: object) -> None:
        raise TimeoutError(f"over {MOST_S} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(MOST_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
