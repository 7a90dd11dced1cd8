"""The folder of results: whole or not at all, and never over anything that is not ours."""

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from firstpour.errors import CannotWrite

PLAN_FILE = "plan.json"
PLAN_FORMAT: Final = "firstpour-plan"


@contextmanager
def results_folder(out: Path) -> Iterator[Path]:
    """Give an empty folder beside `out` to fill; it becomes `out` when the block ends well, else it is removed.

    Earlier results in `out` are replaced; files there that no plan of ours wrote are kept.

    Raises
    ------
    CannotWrite
        If `out` is a file, holds something that is not our results, or cannot be written.
    """
    out = Path(os.path.abspath(out))
    _refuse_what_is_not_ours(out)
    made = _make_parents(out.parent)
    partial = out.with_name(f".{out.name}.partial-{os.getpid()}")
    try:
        with _told_as_cannot_write(out):
            partial.mkdir()
            yield partial
            _refuse_what_is_not_ours(out)
            _put_in_place(partial, out)
    except BaseException:
        shutil.rmtree(partial, ignore_errors=True)
        for folder in made:
            if folder.is_dir() and not any(folder.iterdir()):
                folder.rmdir()
        raise


def replace_file(path: Path, content: bytes) -> None:
    """Write one file whole: what was there before stays until the new one is complete."""
    partial = path.with_name(f".{path.name}.partial-{os.getpid()}")
    try:
        partial.write_bytes(content)
        partial.replace(path)
    finally:
        partial.unlink(missing_ok=True)


def files_of_earlier_plan(folder: Path) -> frozenset[str] | None:
    """The files that the plan in `folder` says it wrote; None where there is no plan of ours."""
    try:
        plan = json.loads((folder / PLAN_FILE).read_text(encoding="utf-8"))
        if plan["format"] != PLAN_FORMAT:
            return None
        return frozenset(str(name) for name in plan["files"]) | {PLAN_FILE}
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _refuse_what_is_not_ours(out: Path) -> None:
    if out == Path.cwd() or out in Path.cwd().parents:
        raise CannotWrite(f"{out} is where you are working", remedy="name a new folder with --out")
    try:
        if out.is_symlink() or (out.exists() and not out.is_dir()):
            raise CannotWrite(f"{out} is not a folder", remedy="name a new folder with --out")
        if out.is_dir() and any(out.iterdir()) and files_of_earlier_plan(out) is None:
            raise CannotWrite(
                f"the folder {out} holds something other than results of ours, and nothing there was touched",
                remedy="name a new or an empty folder with --out",
            )
    except PermissionError as error:
        raise _cannot_write(out, error) from error


def _make_parents(parent: Path) -> list[Path]:
    """Make the folders above the results; give those that were made, deepest first."""
    missing = [folder for folder in (parent, *parent.parents) if not folder.exists()]
    try:
        parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _cannot_write(parent, error) from error
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
        remedy="choose a folder you may write to with --out, and see that the disk has room",
    )


def _put_in_place(partial: Path, out: Path) -> None:
    """Swap the finished folder in; what is foreign in the old one moves over."""
    if not out.exists():
        partial.rename(out)
        return
    keep = _foreign_files(out)
    clash = next((name for name in keep if (partial / name).exists()), None)
    if clash is not None:
        raise CannotWrite(
            f"{out / clash} is not from an earlier plan and would be written over",
            remedy="move it elsewhere or name another folder with --out",
        )
    old = out.with_name(f".{out.name}.replaced-{os.getpid()}")
    out.rename(old)
    try:
        partial.rename(out)
    except OSError:
        old.rename(out)
        raise
    for name in keep:
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        (old / name).rename(out / name)
    shutil.rmtree(old)


def _foreign_files(out: Path) -> list[Path]:
    ours = files_of_earlier_plan(out) or frozenset()
    files = (Path(folder, name).relative_to(out) for folder, _, names in os.walk(out) for name in names)
    return sorted(file for file in files if file.as_posix() not in ours)
