"""Where the user's own shelf lies, and writing a file so that a crash or a second process loses nothing."""

import os
import tempfile
from pathlib import Path

from firstpour.errors import CannotWrite

SHELF_VARIABLE = "FIRSTPOUR_SHELF"


def shelf_folder(given: Path | None) -> Path:
    """The folder of the user's shelf: `given`, else the variable FIRSTPOUR_SHELF, else the user's data folder."""
    if given is not None:
        return given
    named = os.environ.get(SHELF_VARIABLE)
    if named:
        return Path(named)
    import platformdirs

    return platformdirs.user_data_path("firstpour") / "shelf"


def made(folder: Path) -> Path:
    """`folder`, created if need be.

    Raises
    ------
    CannotWrite
        If it cannot be created.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotWrite(
            f"the shelf folder {folder} cannot be made: {error.strerror}.",
            remedy=f"Choose another with --shelf DIR or {SHELF_VARIABLE}.",
        ) from error
    return folder


def write_whole(path: Path, text: str) -> None:
    """Write `text` to `path` beside it first and rename: either the old file or the new one is there, never half.

    Raises
    ------
    CannotWrite
        If the folder cannot be written.
    """
    folder = made(path.parent)
    beside = None
    try:
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=folder)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError as error:
        if beside is not None:
            Path(beside).unlink(missing_ok=True)
        raise CannotWrite(
            f"{path} cannot be written: {error.strerror}.",
            remedy="Free the folder or choose another with --shelf DIR.",
        ) from error
