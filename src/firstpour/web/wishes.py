"""Wishes laid into the text of a job file, its comments kept."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import tomlkit
from tomlkit.exceptions import TOMLKitError

from firstpour.errors import BadJob
from firstpour.part.part import Part
from firstpour.web.entries import JobWishes, MarksWish, PartWishes
from firstpour.web.job_folders import JobFolder, keyed_parts
from firstpour.web.refusals import NotThere

JOB_KEYS = ("name", "begin", "due", "prefer", "hands_per_h", "printer_per_h")
PLACES = {"gates_mm": "gate", "vents_mm": "vent"}


def with_wishes(folder: JobFolder, wishes: JobWishes) -> str:
    """The job file with the wishes in it.

    Raises
    ------
    NotThere
        If a part that is named is not in the job.
    BadJob
        If the file cannot be changed.
    """
    tables, rows = rows_of(folder)
    for key in JOB_KEYS:
        if key in wishes.model_fields_set:
            _lay(tables, "job", key, getattr(wishes, key))
    if "temperature_c" in wishes.model_fields_set:
        workshop = tables.setdefault("workshop", tomlkit.table(is_super_table=True))
        _lay(workshop, "room", "temperature_c", wishes.temperature_c)
    for key, wish in wishes.parts.items():
        _lay_part(_row(rows, key), wish)
    return tomlkit.dumps(tables)


def with_marks(folder: JobFolder, key: str, part: Part, wish: MarksWish) -> str:
    """The job file with the marks of that part as they were painted; the rules that marked it before go.

    Raises
    ------
    NotThere, BadJob
        As `with_wishes`; also if the part has no face of such a number.
    """
    tables, rows = rows_of(folder)
    row = _row(rows, key)
    for name in ("show", "hidden", "keep_clear"):
        row.pop(name, None)
        numbers = _in_file(part, getattr(wish, name))
        if numbers:
            rules = tomlkit.aot()
            rule = tomlkit.table()
            rule.add("faces", numbers)
            rules.append(rule)
            row.add(name, rules)
    return tomlkit.dumps(tables)


def _in_file(part: Part, faces: tuple[int, ...]) -> list[int]:
    """Faces of the mesh that was sent by their numbers in the part's file; those that a repair added have none."""
    sent = np.unique(np.asarray(faces, np.int64))
    if len(sent) and sent[-1] >= len(part.mesh.faces):
        raise BadJob(
            f"face {sent[-1]} is not in {part.name}, which has {len(part.mesh.faces)}",
            remedy="number the faces as in the mesh that was sent",
        )
    numbers = sent if part.source_face is None else np.unique(part.source_face[sent])
    return [int(number) for number in numbers if number >= 0]


def rows_of(folder: JobFolder) -> tuple[Any, Mapping[str, Any]]:
    """The job file to change, and the rows of its parts by key.

    Raises
    ------
    BadJob
        If the file cannot be changed.
    """
    job = folder.read()
    try:
        tables = tomlkit.parse(folder.text())
    except TOMLKitError as error:
        raise BadJob(f"the job file cannot be changed: {error}", remedy="change it by hand") from error
    rows: Any = tables["part"]
    return tables, dict(zip(keyed_parts(job), rows, strict=True))


def _row(rows: Mapping[str, Any], key: str) -> Any:
    if key not in rows:
        raise NotThere(f"the job has no part {key[:80]!r}", remedy=f"there are: {', '.join(rows)}")
    return rows[key]


def _lay_part(row: Any, wish: PartWishes) -> None:
    for key in sorted(wish.model_fields_set):
        value = getattr(wish, key)
        if key in PLACES:
            row.pop(PLACES[key], None)
            if value:
                places = tomlkit.aot()
                for at_mm in value:
                    table = tomlkit.table()
                    table.add("at_mm", list(at_mm))
                    places.append(table)
                row.add(PLACES[key], places)
        elif value is None:
            row.pop(key, None)
        else:
            row[key] = _plain(value)


def _lay(tables: Any, name: str, key: str, value: Any) -> None:
    if value is None:
        tables.get(name, {}).pop(key, None)
        return
    if name not in tables:
        tables[name] = tomlkit.table()
    tables[name][key] = _plain(value)


def _plain(value: Any) -> Any:
    """A value as TOML takes it."""
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return str(value) if isinstance(value, str) else value
