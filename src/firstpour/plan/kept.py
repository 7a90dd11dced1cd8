"""What stages worked out before, kept by the content of their inputs, so that only what changed is done again."""

import logging
import os
import pickle
from pathlib import Path
from typing import Any, Protocol

from firstpour.plan.digest import code_digest, digest_of

MOST_BYTES = 2 * 1024**3
"""Room that kept results may take; what was used longest ago goes first."""
FOLDER_VARIABLE = "FIRSTPOUR_KEPT"
"""Names another folder for them; empty: nothing is kept."""


class Kept(Protocol):
    """Where results are kept by name."""

    def get(self, name: str) -> Any:
        """What is kept under the name; None where nothing is."""

    def put(self, name: str, value: object) -> None:
        """Keep the value."""


class NothingKept:
    """Every stage is worked out anew."""

    def get(self, name: str) -> Any:
        """Nothing."""
        return None

    def put(self, name: str, value: object) -> None:
        """Let it go."""


class KeptOnDisk:
    """Results in a folder of the user's cache, bounded in size. What cannot be read or written counts as not kept."""

    def __init__(self, folder: Path) -> None:
        import diskcache

        self._failures = (OSError, diskcache.Timeout, pickle.PickleError, EOFError, AttributeError, ImportError)
        self._cache = diskcache.Cache(
            str(folder), size_limit=MOST_BYTES, eviction_policy="least-recently-used", timeout=5
        )

    def get(self, name: str) -> Any:
        """What is kept under the name; None where nothing is."""
        try:
            return self._cache.get(name)
        except self._failures:
            return None

    def put(self, name: str, value: object) -> None:
        """Keep the value, if there is room."""
        try:
            self._cache.set(name, value)
        except self._failures as error:
            logging.getLogger(__name__).debug("not kept: %s", error)

    def close(self) -> None:
        """Let go of the folder."""
        self._cache.close()


def kept_folder() -> Path | None:
    """The folder for kept results; None where the user wants none."""
    from platformdirs import user_cache_path

    named = os.environ.get(FOLDER_VARIABLE)
    if named is not None:
        return Path(named) if named else None
    return user_cache_path("firstpour") / "kept"


def open_kept(folder: Path | None) -> "Kept":
    """The results kept in the folder; nothing kept where there is none or it cannot be used."""
    if folder is None:
        return NothingKept()
    import sqlite3

    try:
        return KeptOnDisk(folder)
    except (OSError, sqlite3.Error):
        return NothingKept()


def stage_name(stage: str, *inputs: object) -> str:
    """The name of a stage's result: the stage, the code that works it out, and all that it depends on."""
    return f"{stage}-{digest_of(code_digest(), *inputs)}"
