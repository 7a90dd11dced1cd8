"""Where the user's own things lie: the shelf with its records, the workshop file, and the jobs of the page."""

import os
from pathlib import Path

from firstpour.errors import BadRequest
from firstpour.store.place import StorePlace, store_in, store_named

SHELF_VARIABLE = "FIRSTPOUR_SHELF"
STORE_VARIABLE = "FIRSTPOUR_STORE"
WORKSHOP_VARIABLE = "FIRSTPOUR_WORKSHOP"
JOBS_VARIABLE = "FIRSTPOUR_JOBS"
SESSIONS_VARIABLE = "FIRSTPOUR_SESSIONS"


def shelf_folder(given: Path | None) -> Path:
    """The folder of the user's shelf: `given`, else the variable FIRSTPOUR_SHELF, else the user's data folder."""
    return _place(given, SHELF_VARIABLE, "shelf")


def existing_shelf(given: Path | None) -> Path:
    """The same, but a folder that is named must be there: a slip of the pen is no empty shelf.

    Raises
    ------
    BadRequest
        If it is not, or cannot be looked at.
    """
    folder = shelf_folder(given)
    if given is None and not os.environ.get(SHELF_VARIABLE):
        return folder
    try:
        there = folder.is_dir()
    except (OSError, ValueError) as error:
        raise BadRequest(
            f"the shelf folder {folder} cannot be read: {getattr(error, 'strerror', None) or error}",
            remedy="name another folder of your own shelf",
        ) from error
    if not there:
        raise BadRequest(
            f"there is no shelf folder {folder}",
            remedy="name the folder of your own shelf; a new one is made when a material is entered",
        )
    return folder


def store_place(shelf: Path) -> StorePlace:
    """The store of a shelf: in its folder; that of the user's own where FIRSTPOUR_STORE says (a folder, or a server).

    Raises
    ------
    BadRequest
        If the variable names neither.
    """
    named = os.environ.get(STORE_VARIABLE)
    own = shelf == shelf_folder(None)
    return store_named(named, beside=shelf) if named and own else store_in(shelf)


def use_store(named: str) -> None:
    """From now on the user's own store is there, in this process and in those that it starts.

    Raises
    ------
    BadRequest
        If it names neither a folder nor a server.
    """
    store_named(named, beside=shelf_folder(None))
    os.environ[STORE_VARIABLE] = named


def workshop_file(given: Path | None) -> Path:
    """The user's workshop file: `given`, else the variable FIRSTPOUR_WORKSHOP, else in the user's data folder."""
    return _place(given, WORKSHOP_VARIABLE, "workshop.toml")


def jobs_folder(given: Path | None) -> Path:
    """The folder of the page's jobs: `given`, else the variable FIRSTPOUR_JOBS, else in the user's data folder."""
    return _place(given, JOBS_VARIABLE, "jobs")


def sessions_file() -> Path:
    """Where devices that were let in are remembered: the variable FIRSTPOUR_SESSIONS, else the user's data folder."""
    return _place(None, SESSIONS_VARIABLE, "sessions.json")


def _place(given: Path | None, variable: str, name: str) -> Path:
    if given is not None:
        return given
    named = os.environ.get(variable)
    if named:
        return Path(named)
    import platformdirs

    return platformdirs.user_data_path("firstpour") / name
