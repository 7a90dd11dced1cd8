"""One way to write a file: whole or not at all, and never over what is not ours."""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path

from firstpour.errors import CannotWrite
from firstpour.writing.beside import clear_left_overs, partial_file, settle, settle_entry
from firstpour.writing.unbroken import unbroken

OUR_MARK = b"firstpour"
MARKED_WITHIN_BYTES = 2048
"""Files that we may write over later say so near their start: a header, a comment, a key."""


KIND_BYTES = 4
"""Files of one kind start alike."""


class Over(StrEnum):
    """What a new file may take the place of. The same content again is always no harm."""

    NOTHING = "nothing"
    OURS = "files that Firstpour wrote"
    ANYTHING = "anything"
    """Only where the maker asked for it, or the file is ours by its place."""


def write_whole(path: Path, content: bytes, *, over: Over) -> None:
    """Write one file: what was there before stays until the new one is complete, also through a link.

    Raises
    ------
    CannotWrite
        If it would replace what it may not, or the disk refuses; what was there is untouched.
    """
    write_all_whole({path: content}, over=over)


def write_all_whole(files: Mapping[Path, bytes], *, over: Over) -> None:
    """Write several files, none if one of them would replace what it may not.

    Raises
    ------
    CannotWrite
        As `write_whole`.
    """
    for path, content in files.items():
        _refuse_loss(path, content, over=over)
    for path, content in files.items():
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with _in_place(path) as partial:
                partial.write_bytes(content)
        except (OSError, ValueError) as error:
            raise cannot_write(path, error) from error


@contextmanager
def whole_file(path: Path, *, over: Over) -> Iterator[Path]:
    """A file beside `path` to be filled in the block, for what is too large to hold; put in place at its end.

    Raises
    ------
    CannotWrite
        As `write_whole`, also for the block's own errors of the disk.
    """
    _refuse_loss(path, None, over=over)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with _in_place(path) as partial:
            yield partial
    except (OSError, ValueError) as error:
        raise cannot_write(path, error) from error


def may_write(path: Path, *, over: Over) -> None:
    """Say now, before long work, what `write_whole` would refuse to replace.

    Raises
    ------
    CannotWrite
        If something is there that `over` does not allow to be replaced.
    """
    _refuse_loss(path, None, over=over)


def cannot_write(path: Path, error: OSError | ValueError) -> CannotWrite:
    """The refusal of the system in words; a ValueError is a name that no file can have."""
    return CannotWrite(
        f"{path} cannot be written: {getattr(error, 'strerror', None) or error}",
        remedy="choose a place you may write to, and see that the disk has room",
    )


@contextmanager
def _in_place(path: Path) -> Iterator[Path]:
    path = path.resolve() if path.is_symlink() else path
    clear_left_overs(path)
    with partial_file(path) as partial:
        yield partial
        if path.exists():
            os.chmod(partial, path.stat().st_mode & 0o7777)
        settle(partial)
        with unbroken():
            partial.replace(path)
            settle_entry(path.parent)


def _refuse_loss(path: Path, content: bytes | None, *, over: Over) -> None:
    """`content` None: not yet known, so nothing that is there can be the same."""
    try:
        if path.is_dir():
            raise CannotWrite(f"{path} is a folder", remedy="name a file")
        if over is Over.ANYTHING or not path.exists():
            return
        if not path.is_file():
            raise CannotWrite(f"{path} is no ordinary file", remedy="name another file")
        if over is Over.OURS and _is_ours(path, content):
            return
        same = content is not None and path.stat().st_size == len(content) and path.read_bytes() == content
    except (OSError, ValueError) as error:
        raise cannot_write(path, error) from error
    if not same:
        raise CannotWrite(
            f"{path} is there already and would be written over; nothing was touched",
            remedy="move it elsewhere, or name another place",
        )


def _is_ours(path: Path, content: bytes | None) -> bool:
    """Whether we wrote it, and it is of the kind that is to take its place: a picture never replaces a part."""
    with path.open("rb") as file:
        head = file.read(MARKED_WITHIN_BYTES)
    return OUR_MARK in head.lower() and (content is None or head[:KIND_BYTES] == content[:KIND_BYTES])
