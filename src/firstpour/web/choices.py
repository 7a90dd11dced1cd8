"""A route chosen on the page: laid into the job as its maker would fix it, and taken back to what was there."""

from collections.abc import Mapping
from typing import Any

import tomlkit
from pydantic import Field, ValidationError

from firstpour.files.entry import Entry
from firstpour.files.route_entries import FixedEntry, RoutesEntry
from firstpour.job.job import Making
from firstpour.parting.values import MouldKind
from firstpour.web.entries import Doing
from firstpour.web.job_folders import JobFolder, keyed_parts
from firstpour.web.refusals import NotThere
from firstpour.web.wishes import rows_of
from firstpour.writing.whole import Over, write_whole

CHOICES_FILE = "choices.json"
OF_A_MOULD = ("kind", "silicone", "casting", "draw", "up", "gate", "vent", "moulds", "cavities")
CHANNELS = ("gate", "vent")


class ChoiceEntry(Entry):
    """A choice of one part. `before`: what its keys held, null where they were not there; `laid`: what they hold."""

    route: str
    before: dict[str, Any]
    laid: dict[str, Any]
    routes_ns: int
    """When the routes from which it was chosen were written."""


class ChoicesEntry(Entry):
    """The choices of a job, by the keys of its parts."""

    parts: dict[str, ChoiceEntry] = Field(default_factory=dict)


def choose(folder: JobFolder, key: str, route: str) -> None:
    """Fix that route of the part in the job.

    Raises
    ------
    NotThere
        If there is no such part or route.
    BadJob
        If the job cannot be had that way; it is then as it was.
    """
    fixed = _route(folder, key, route)
    tables, rows = rows_of(folder)
    row, choices = rows[key], _choices(folder)
    if key in standing(folder):
        _lay(row, choices.parts[key].before)
    laid = _laid(fixed)
    before = {name: row.unwrap().get(name) for name in laid}
    _lay(row, laid)
    compared = _routes_ns(folder) if _routes_current(folder) else 0
    folder.change(tomlkit.dumps(tables))
    _keep_routes(folder, compared)
    parts = {**choices.parts, key: ChoiceEntry(route=route, before=before, laid=laid, routes_ns=compared)}
    _write(folder, parts)


def take_back(folder: JobFolder, key: str) -> None:
    """Give the part what it asked for before a route was chosen for it.

    Raises
    ------
    NotThere
        If none was chosen, or the part was changed since.
    """
    if key not in standing(folder):
        raise NotThere("no route was chosen here for this part", remedy="change what is asked of it instead")
    choices = dict(_choices(folder).parts)
    choice = choices.pop(key)
    tables, rows = rows_of(folder)
    _lay(rows[key], choice.before)
    folder.change(tomlkit.dumps(tables))
    _keep_routes(folder, choice.routes_ns)
    _write(folder, choices)


def standing(folder: JobFolder) -> Mapping[str, str]:
    """The routes chosen here by the keys of their parts, as far as the parts still ask for them."""
    choices = _choices(folder).parts
    if not choices:
        return {}
    _, rows = rows_of(folder)
    return {
        key: choice.route
        for key, choice in choices.items()
        if key in rows and all(rows[key].unwrap().get(name) == value for name, value in choice.laid.items())
    }


def _route(folder: JobFolder, key: str, route: str) -> FixedEntry:
    parts = keyed_parts(folder.read())
    if key not in parts:
        raise NotThere(f"the job has no part {key[:80]!r}", remedy=f"there are: {', '.join(parts)}")
    try:
        routes = RoutesEntry.model_validate_json(folder.result_file(Doing.ROUTES).read_bytes())
    except (OSError, ValidationError) as error:
        raise NotThere("the routes of this job are not worked out yet", remedy="work out the routes") from error
    own = next((one.routes for one in routes.parts if one.name == parts[key].name), [])
    found = next((one.fixed_by for one in own if one.name == route), None)
    if found is None:
        raise NotThere(f"there is no route {route[:120]!r} of {parts[key].name}", remedy="work out the routes again")
    return found


def _laid(fixed: FixedEntry) -> dict[str, Any]:
    """The keys of a part and their values; None takes a key out."""
    said = {name: value for name, value in fixed.model_dump(mode="json").items() if value is not None}
    if fixed.route is Making.PRINT:
        return dict.fromkeys(OF_A_MOULD) | said
    channels = CHANNELS if fixed.kind == MouldKind.OPEN_FACE else ()
    return dict.fromkeys(("print_in", *channels)) | said


def _lay(row: Any, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        row.pop(name, None)
        if value is not None:
            row[name] = value


def _routes_ns(folder: JobFolder) -> int:
    file = folder.result_file(Doing.ROUTES)
    return file.stat().st_mtime_ns if file.is_file() else 0


def _routes_current(folder: JobFolder) -> bool:
    return folder.stamps().get(Doing.ROUTES.value) == folder.asked()


def _keep_routes(folder: JobFolder, written_ns: int) -> None:
    """Routes from which one was chosen stay those that one decides between: the choice changed nothing of them."""
    if written_ns and written_ns == _routes_ns(folder):
        folder.stamp(Doing.ROUTES, folder.asked())


def _choices(folder: JobFolder) -> ChoicesEntry:
    try:
        return ChoicesEntry.model_validate_json((folder.path / CHOICES_FILE).read_bytes())
    except (OSError, ValidationError):
        return ChoicesEntry()


def _write(folder: JobFolder, parts: Mapping[str, ChoiceEntry]) -> None:
    content = ChoicesEntry(parts=dict(parts)).model_dump_json().encode()
    write_whole(folder.path / CHOICES_FILE, content, over=Over.ANYTHING)
