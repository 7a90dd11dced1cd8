"""The folder of results: whole or not at all, and never over anything that is not ours."""

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from firstpour.errors import CannotWrite
from firstpour.writing.beside import (
    REPLACED,
    clear_left_overs,
    held,
    name_beside,
    partial_folder,
    settle,
    settle_entry,
)
from firstpour.writing.unbroken import unbroken

PLAN_FILE = "plan.json"
PLAN_FORMAT: Final = "firstpour-plan"


@contextmanager
def results_folder(out: Path) -> Iterator[Path]:
    """Give an empty folder beside `out` to fill; it becomes `out` when the block ends well, else it is removed.

    Earlier results in `out` are replaced; whatever else is there (files, links, empty folders) is kept.

    Raises
    ------
    CannotWrite
        If `out` is a file, holds something that is not our results, or cannot be written.
    """
    out = Path(os.path.abspath(out))
    clear_left_overs(out)
    _refuse_what_is_not_ours(out)
    made: list[Path] = []
    try:
        with _told_as_cannot_write(out):
            made += _make_parents(out.parent)
            with partial_folder(out) as partial:
                yield partial
                settle(partial)
                _refuse_what_is_not_ours(out)
                _put_in_place(partial, out)
    except BaseException:
        for folder in made:
            if folder.is_dir() and not any(folder.iterdir()):
                folder.rmdir()
        raise


def files_of_earlier_plan(folder: Path) -> frozenset[str] | None:
    """The files that the plan in `folder` says it wrote; None where there is no plan of ours."""
    try:
        plan = json.loads((folder / PLAN_FILE).read_text(encoding="utf-8"))
        if plan["format"] != PLAN_FORMAT:
            return None
        return frozenset(str(name) for name in plan["files"]) | {PLAN_FILE}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _refuse_what_is_not_ours(out: Path) -> None:
    if out == Path.cwd() or out in Path.cwd().parents:
        raise CannotWrite(f"{out} is where you are working", remedy="name a new folder for the results")
    try:
        if out.is_symlink() or (out.exists() and not out.is_dir()):
            raise CannotWrite(f"{out} is not a folder", remedy="name a new folder for the results")
        if out.is_dir() and any(out.iterdir()) and files_of_earlier_plan(out) is None:
            raise CannotWrite(
                f"the folder {out} holds something other than results of ours, and nothing there was touched",
                remedy="name a new or an empty folder for the results",
            )
    except OSError as error:
        raise _cannot_write(out, error) from error


def _make_parents(parent: Path) -> list[Path]:
    """Make the folders above the results; give those that were made, deepest first."""
    missing = [folder for folder in (parent, *parent.parents) if not folder.exists()]
    parent.mkdir(parents=True, exist_ok=True)
    return missing


@contextmanager
def _told_as_cannot_write(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise _cannot_write(out, error) from error


def _cannot_write(out: Path, error: OSError) -> CannotWrite:
    return CannotWrite(
        f"the folder {out} cannot be written: {error.strerror or error}",
        remedy="choose a folder for the results that you may write to, and see that the disk has room",
    )


def _put_in_place(partial: Path, out: Path) -> None:
    """Swap the finished folder in. What is not ours in the old one is in both until the new one stands."""
    if not out.exists():
        with unbroken():
            partial.rename(out)
            settle_entry(out.parent)
        return
    with held(out):
        keep = _foreign(out)
        _refuse_clash(keep, partial, out)
        for name in keep:
            _put_as_well(out / name, partial / name)
        old = name_beside(out, REPLACED)
        with unbroken():
            out.rename(old)
            try:
                partial.rename(out)
            except BaseException:
                old.rename(out)
                raise
            settle_entry(out.parent)
            for name in _foreign(old):
                if not os.path.lexists(out / name):  # came in between
                    _put_as_well(old / name, out / name)
            shutil.rmtree(old, ignore_errors=True)


def _refuse_clash(keep: list[Path], partial: Path, out: Path) -> None:
    in_the_way = (name for name in keep if os.path.lexists(partial / name))
    clash = next((name for name in in_the_way if not (out / name).is_dir() or not (partial / name).is_dir()), None)
    if clash is not None:
        raise CannotWrite(
            f"{out / clash} is not from an earlier plan and would be written over",
            remedy="move it elsewhere or name another folder for the results",
        )


def _put_as_well(old: Path, new: Path) -> None:
    """The same file under a second name, a link like it, or an empty folder like it."""
    for folder in reversed([one for one in new.parents if not one.exists()]):
        folder.mkdir()
    if old.is_symlink():
        new.symlink_to(os.readlink(old))
    elif old.is_dir():
        new.mkdir(exist_ok=True)
    else:
        try:
            os.link(old, new)
        except OSError:  # no second names on this disk
            shutil.copy2(old, new)


def _foreign(out: Path) -> list[Path]:
    """What no plan of ours wrote: files, links and empty folders, relative to `out`."""
    ours = files_of_earlier_plan(out) or frozenset()
    found = []
    for folder, below, names in os.walk(out):
        links = [name for name in below if Path(folder, name).is_symlink()]
        found += [Path(folder, name).relative_to(out) for name in (*names, *links)]
        if not below and not names and Path(folder) != out:
            found.append(Path(folder).relative_to(out))
    return sorted(one for one in found if one.as_posix() not in ours)
