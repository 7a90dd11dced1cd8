"""Where things are written first: beside their place, under a name that tells what they are and whether their writer
lives. A writer holds a lock on what it writes; what nobody holds was left by one that died, and is cleared."""

import errno
import os
import secrets
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # no such locks on this system: then nothing is ever taken for left over
    fcntl = None  # type: ignore[assignment]

MARK = "firstpour"
PARTIAL, REPLACED = f"{MARK}-partial", f"{MARK}-replaced"
TRIES = 20
NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.EINVAL)
"""What file systems without locks answer."""


def name_beside(path: Path, what: str) -> Path:
    """A name beside `path` that nothing bears yet.

    >>> str(name_beside(Path("out"), PARTIAL)).startswith(".out.firstpour-partial-")
    True
    """
    return path.with_name(f".{path.name}.{what}-{secrets.token_hex(4)}")


@contextmanager
def partial_folder(path: Path) -> Iterator[Path]:
    """A new folder beside `path`, held for as long as the block runs. Removed then, if it has not been moved away."""
    with _held(path, lambda one: one.mkdir()) as folder:
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def partial_file(path: Path) -> Iterator[Path]:
    """A new empty file beside `path`, held likewise."""
    with _held(path, lambda one: one.touch(exist_ok=False)) as file:
        try:
            yield file
        finally:
            file.unlink(missing_ok=True)


@contextmanager
def _held(path: Path, make: Callable[[Path], None]) -> Iterator[Path]:
    """Make it and lock it; another one if somebody who tidied up was quicker than the lock."""
    for _ in range(TRIES):
        one = name_beside(path, PARTIAL)
        make(one)
        with _locked(one) as here:
            if here:
                yield one
                return
    raise FileExistsError(errno.EEXIST, "others keep clearing what is written here", str(path))


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Hold a folder that is there, under whatever name it goes on, until the block is done."""
    for _ in range(TRIES):
        with _locked(path) as here:
            if here:
                yield
                return
    raise FileNotFoundError(errno.ENOENT, "others keep replacing it", str(path))


@contextmanager
def _locked(one: Path) -> Iterator[bool]:
    """Whether what is locked still bears that name."""
    try:
        lock = _lock(one)
    except FileNotFoundError:
        yield False
        return
    try:
        yield _still_there(one, lock)
    finally:
        if lock is not None:
            os.close(lock)


def clear_left_overs(path: Path) -> None:
    """Clear what a writer of `path` that died left beside it; put an old folder back if no new one came."""
    for one in _beside(path, PARTIAL):
        _if_dead(one, _remove)
    for one in _beside(path, REPLACED):
        _if_dead(one, lambda old: _remove(old) if path.exists() else old.rename(path))


def settle(path: Path) -> None:
    """See that a file, or all files of a folder, are on the disk and not only on their way there."""
    if path.is_dir() and not path.is_symlink():
        for folder, _, names in os.walk(path):
            for name in names:
                settle_entry(Path(folder, name))
            settle_entry(Path(folder))
    else:
        settle_entry(path)


def settle_entry(path: Path) -> None:
    """One file, or the names in one folder. Folders cannot be settled everywhere; links and pipes need none."""
    kind = path.lstat().st_mode
    if not (stat.S_ISREG(kind) or (stat.S_ISDIR(kind) and fcntl is not None)):
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _beside(path: Path, what: str) -> list[Path]:
    start = f".{path.name}.{what}-"
    try:
        return sorted(one for one in path.parent.iterdir() if one.name.startswith(start))
    except OSError:
        return []


def _if_dead(one: Path, then: Callable[[Path], object]) -> None:
    """Do `then` to what nobody holds. What cannot be cleared today is left for another day."""
    try:
        lock = _lock(one, waits=False)
        if lock is None:
            return
        try:
            then(one)
        finally:
            os.close(lock)
    except OSError:
        return


def _remove(one: Path) -> None:
    if one.is_dir() and not one.is_symlink():
        shutil.rmtree(one, ignore_errors=True)
    else:
        one.unlink(missing_ok=True)


def _lock(one: Path, *, waits: bool = True) -> int | None:
    """A handle that holds the lock; None where there are no locks, or BlockingIOError where another holds it."""
    if fcntl is None:
        return None
    handle = os.open(one, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
    except BaseException as error:
        os.close(handle)
        if isinstance(error, OSError) and error.errno in NO_LOCKS:
            return None
        raise
    return handle


def _still_there(one: Path, lock: int | None) -> bool:
    if lock is None:
        return True
    try:
        return os.path.samestat(os.fstat(lock), one.lstat())
    except FileNotFoundError:
        return False
