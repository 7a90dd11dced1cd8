"""How kernels are compiled: when first called, kept on disk by the content of this whole folder.

numba's own cache knows a kernel by its file and by whether an array may be written to. A kernel that takes in others
is not made anew when those change, and one called with a mesh's read-only arrays here and fresh ones there is made
twice. Here the stamp of every kernel is the content of the whole folder, and arrays are taken as they come. Where
the package's folder cannot be written the user's cache serves, then a temporary folder, then none.
Two programs that want the same kernel at once do not both make it: one waits and takes what the other made.
"""

import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import numba
import numpy as np
from numba.core import caching, config
from numba.core.registry import CPUDispatcher

HERE = Path(__file__).parent
MOST_WAIT_S = 60.0
"""How long one program waits for another to make a kernel before it makes its own."""
LOOK_AGAIN_S = 0.02


class Kernel(CPUDispatcher):  # type: ignore[misc]
    """A compiled function that does not ask whether it may write to the arrays it only reads."""

    def __call__(self, *args: Any) -> Any:
        """Call it with plain values and arrays."""
        return CPUDispatcher.__call__(self, *[as_written(one) for one in args])


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """`numba.njit` for the kernels of this folder; `options` are numba's own."""

    def make(function: Callable[..., Any]) -> Any:
        kernel = numba.njit(**options)(function)
        if not isinstance(kernel, CPUDispatcher):  # numba is switched off by the user
            return kernel
        kernel.__class__ = Kernel
        if cache_folder() is not None:
            kernel._cache = KernelCache(function)
        return kernel

    return make


def as_written(value: Any) -> Any:
    """A read-only array as one that could be written to, without a copy where its memory allows; the rest as it is.

    >>> frozen = np.zeros(3)
    >>> frozen.flags.writeable = False
    >>> as_written(frozen.view()).flags.writeable, frozen.flags.writeable
    (True, False)
    """
    if type(value) is not np.ndarray or value.flags.writeable:
        return value
    view = value.view()
    try:
        view.flags.writeable = True
    except ValueError:
        return value.copy()
    return view


@cache
def folder_stamp() -> str:
    """The content of every kernel in this folder, as a digest."""
    digest = hashlib.sha256()
    for file in sorted(HERE.glob("*.py")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()


@cache
def cache_folder() -> Path | None:
    """The first folder of `cache_folders` that can be used; None where nothing can be kept."""
    for folder in cache_folders():
        with suppress(OSError):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if _is_ours(folder):
                tempfile.TemporaryFile(dir=folder).close()
                return folder
    return None


def cache_folders() -> Iterator[Path]:
    """Where compiled kernels may be kept: numba's own setting, beside the package, the user's cache, for the day."""
    if config.CACHE_DIR:
        yield Path(config.CACHE_DIR) / "firstpour-kernels"
        return
    yield HERE / "__pycache__"
    with suppress(RuntimeError, ImportError):
        from platformdirs import user_cache_path

        yield user_cache_path("firstpour") / "kernels"
    user = os.getuid() if hasattr(os, "getuid") else os.environ.get("USERNAME", "user")
    yield Path(tempfile.gettempdir()) / f"firstpour-kernels-{user}"


def is_complete() -> bool:
    """Whether all that a plan needs was compiled from this folder as it is, or nothing can be kept anyway."""
    folder = cache_folder()
    return folder is None or _mark(folder).exists()


def mark_complete() -> None:
    """Remember that all of it is compiled."""
    folder = cache_folder()
    if folder is not None:
        with suppress(OSError):
            _mark(folder).touch()


def _mark(folder: Path) -> Path:
    return folder / f"complete-{numba.__version__}-{folder_stamp()[:16]}"


def _is_ours(folder: Path) -> bool:
    """Whether nobody else can put files there: what is kept is run."""
    if not hasattr(os, "getuid") or folder.parent == HERE:
        return True
    found = folder.lstat()
    return found.st_uid == os.getuid() and not found.st_mode & 0o022


class _Locator(caching._CacheLocator):  # type: ignore[misc]
    """Tells numba where a kernel is kept and what makes it out of date."""

    def __init__(self, py_file: str) -> None:
        self._py_file = py_file

    def get_cache_path(self) -> str:
        return str(cache_folder())

    def get_source_stamp(self) -> str:
        return folder_stamp()

    def get_disambiguator(self) -> str:
        return "kernel"

    @classmethod
    def from_function(cls, py_func: Callable[..., Any], py_file: str) -> "_Locator":
        return cls(py_file)


class _Impl(caching.CompileResultCacheImpl):  # type: ignore[misc]
    _locator_classes = (_Locator,)


class KernelCache(caching.FunctionCache):  # type: ignore[misc]
    """numba's cache of one function, with a lock while it is being made."""

    _impl_class = _Impl
    _lock: int | None = None

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """What is kept; waits where another program is making it."""
        found = self._load(sig, target_context)
        if found is None and self._wait_for_turn():
            found = self._load(sig, target_context)
            if found is not None:
                self._let_go()
        return found

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep it, if that can be."""
        try:
            with suppress(OSError):
                super().save_overload(sig, data)
        finally:
            self._let_go()

    def _load(self, sig: Any, target_context: Any) -> Any:
        with suppress(OSError, EOFError):
            return super().load_overload(sig, target_context)
        return None

    def _wait_for_turn(self) -> bool:
        """Take the lock; whether another held it first, so that there may be something to load now."""
        if sys.platform == "win32" or self._lock is not None:
            return False
        import fcntl

        waited = False
        with suppress(OSError):
            lock = os.open(f"{self._cache_file._index_path}.lock", os.O_RDWR | os.O_CREAT, 0o600)
            end = time.monotonic() + MOST_WAIT_S
            while True:
                try:
                    fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    self._lock = lock
                    break
                except BlockingIOError:
                    waited = True
                    if time.monotonic() > end:
                        os.close(lock)
                        break
                    time.sleep(LOOK_AGAIN_S)
        return waited

    def _let_go(self) -> None:
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None
