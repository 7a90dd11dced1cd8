"""job.toml: what is to be made, read into values or refused with the key and the remedy."""

import difflib
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from firstpour.errors import BadJob, BadRequest
from firstpour.files.job_tables import JobFile, MarkTable, PartTable, keys_of, settings_file
from firstpour.job.job import PRINTER_MM, Job, PartRequest
from firstpour.materials.feel import wanted_hardness
from firstpour.mould.settings import MouldSettings
from firstpour.part.marks import MarkRule
from firstpour.part.part import FaceMark
from firstpour.printing.allowance import Fit
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit

MATERIAL_KEYS = {
    "process",
    "silicone",
    "casting",
    "paint",
    "clear",
    "moulds",
    "colourant_ratio",
    "accelerator_ratio",
    "silicone_shrinkage_ratio",
    "casting_shrinkage_ratio",
}
"""Keys of a part about its materials, taken as they are."""


def read_job(path: Path, *, unit: LengthUnit = LengthUnit.MM) -> Job:
    """Read a job file, or take a bare part file, in `unit`, as a job of one copy.

    Raises
    ------
    BadJob
        If the file is missing, is not TOML or says something that cannot be meant.
    """
    if path.suffix.lower() == ".toml":
        return job_from_text(_text_of(path), folder=path.parent, called=path.name)
    if not path.is_file():
        raise BadJob(f"there is no file {path}", remedy="name a job file (.toml) or a part file (.stl, .3mf, …)")
    return Job(name=path.stem, parts=(PartRequest(name=path.stem, file=path, unit=unit),))


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise BadJob(f"there is no job file {path}", remedy="name an existing job.toml or a part file") from error
    except (OSError, UnicodeDecodeError) as error:
        raise BadJob(f"the job file {path} cannot be read: {error}", remedy="save it as UTF-8 text") from error


def job_from_text(text: str, *, folder: Path, called: str = "job.toml") -> Job:
    """The job that the text describes; part files are looked for in `folder`.

    Raises
    ------
    BadJob
        As `read_job`.
    """
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadJob(
            f"{called} is not valid TOML: {error}",
            remedy="mend that line: text in double quotes, numbers with a point, lists in square brackets",
        ) from error
    try:
        job = JobFile.model_validate(tables)
        settings = settings_from(tables.get("mould", {}))
    except ValidationError as error:
        raise _told(error, tables, called) from error
    if not job.part:
        raise BadJob(f"{called} names no part", remedy='add a table [[part]] with file = "part.stl"')
    parts = tuple(_part(table, folder=folder, number=k + 1, called=called) for k, table in enumerate(job.part))
    return Job(
        name=job.job.name or folder.resolve().name,
        parts=_distinct(parts, called),
        due=job.job.due,
        settings=settings,
        printer_mm=job.printer.size_mm if job.printer else PRINTER_MM,
        temperature_c=job.room.temperature_c,
    )


def settings_from(values: Mapping[str, Any]) -> MouldSettings:
    """Mould settings with some of their values given, each checked against its type.

    Raises
    ------
    ValidationError
        If a name or a type is wrong.
    BadJob
        If a value is outside its limits.
    """
    checked: Any = settings_file().model_validate({"mould": values})
    try:
        return MouldSettings(**checked.mould.model_dump(exclude_unset=True))
    except BadRequest as error:
        raise BadJob(f"[mould]: {error.problem}", remedy=error.remedy) from error


def settings_from_words(words: Sequence[str]) -> MouldSettings:
    """Mould settings from `name=value` words, as a command line gives them.

    Raises
    ------
    BadJob
        If a word is not `name=value`, or the name or the value cannot be meant.
    """
    values = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise BadJob(f"the setting {word!r} has no value", remedy="write it as name=value, such as wall_mm=10")
        values[name.strip()] = value.strip()
    try:
        return settings_from(values)
    except ValidationError as error:
        raise _told(error, {"mould": values}, "the command") from error


def _part(table: PartTable, *, folder: Path, number: int, called: str) -> PartRequest:
    where = f"{called}, part {number}"
    if (table.file is None) == (table.sample is None):
        raise BadJob(
            f"{where} ({table.name or 'no name'}): it needs either a file or a sample",
            remedy=f'add file = "part.stl", or sample = one of {", ".join(Sample)}',
        )
    file = None if table.file is None else folder / table.file
    if file is not None and not file.is_file():
        raise BadJob(f"{where}: there is no file {file}", remedy="mend its file key; it is relative to the job file")
    wished = [key for key in ("silicone", "casting", "paint") if getattr(table, key) is not None]
    if table.hardness is None and wished:
        raise BadJob(
            f"{where}: it names its {' and '.join(wished)} but no hardness",
            remedy='add hardness = "A 20", or words such as "rigid": materials are chosen only with it',
        )
    named = {FaceMark.SHOW: table.show, FaceMark.HIDDEN: table.hidden, FaceMark.KEEP_CLEAR: table.keep_clear}
    return PartRequest(
        name=table.name or (file.stem if file else str(table.sample)),
        file=file,
        sample=table.sample,
        unit=table.units,
        copies=table.copies,
        marks=tuple(_rule(mark, rule, where=where) for mark, rules in named.items() for rule in rules),
        draw=table.draw,
        kind=table.kind,
        gates_mm=tuple(gate.at_mm for gate in table.gate),
        vents_mm=tuple(vent.at_mm for vent in table.vent),
        up=table.up,
        fits=tuple(Fit(**fit.model_dump()) for fit in table.fit),
        hardness=_hardness(table.hardness, where=where),
        **table.model_dump(include=MATERIAL_KEYS),
    )


def _hardness(words: str | None, *, where: str) -> str | None:
    if words is not None:
        try:
            wanted_hardness(words)
        except BadRequest as error:
            raise BadJob(f"{where}, hardness: {error.problem}", remedy=error.remedy) from error
    return words


def _rule(mark: FaceMark, table: MarkTable, *, where: str) -> MarkRule:
    if table.facing is None and table.box_mm is None and table.faces is None:
        raise BadJob(
            f"{where}: a {(mark.name or '').lower()} table chooses no faces",
            remedy="give it facing = [x, y, z], box_mm = [[x, y, z], [x, y, z]] or faces = [numbers]",
        )
    return MarkRule(
        mark=mark, facing=table.facing, within_deg=table.within_deg, box_mm=table.box_mm, faces=table.faces
    )


def _distinct(parts: tuple[PartRequest, ...], called: str) -> tuple[PartRequest, ...]:
    names = [part.name for part in parts]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise BadJob(f"{called}: two parts are named {twice!r}", remedy="give each [[part]] a name of its own")
    return parts


def _told(error: ValidationError, tables: Mapping[str, Any], called: str) -> BadJob:
    """All that is wrong, each with its key; the remedies in the same order."""
    told = [_one(details, tables) for details in error.errors(include_url=False)]
    problems, remedies = dict.fromkeys(problem for problem, _ in told), dict.fromkeys(remedy for _, remedy in told)
    return BadJob(f"{called}: " + "; ".join(problems), remedy="; ".join(remedies))


def _one(details: ErrorDetails, tables: Mapping[str, Any]) -> tuple[str, str]:
    loc, kind = details["loc"], details["type"]
    key = _key_words(loc, tables)
    if kind == "extra_forbidden":
        known = keys_of(tuple(step for step in loc[:-1] if isinstance(step, str)))
        near = difflib.get_close_matches(str(loc[-1]), known, n=1, cutoff=0.55)
        return f"{key} is not a key", f"did you mean {near[0]}?" if near else f"use one of: {', '.join(known)}"
    if isinstance(loc[-1], int) and (kind == "missing" or kind == "too_long"):
        return f"{_key_words(loc[:-1], tables)} has too few numbers", f"{loc[-2]}: give three, [x, y, z]"
    if kind == "missing":
        return f"{key} is missing", f"add {loc[-1]} to that table"
    given = repr(details["input"])
    given = given if len(given) <= 40 else given[:37] + "…"
    return f"{key} is {given}", f"{loc[-1] if isinstance(loc[-1], str) else key}: {_plain(details)}"


def _plain(details: ErrorDetails) -> str:
    """What pydantic says, in plainer words where it is too terse."""
    message = details["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    if details["type"].startswith("date"):
        message = "a date such as 2027-04-16"
    message = (
        message.removesuffix(", unable to parse string as a number")
        .replace("a valid integer", "an integer")
        .replace("a valid ", "a ")
    )
    if message.startswith(("greater", "less")):
        message = f"a number {message}"
    return f"give {message}" if message != details["msg"] else message


def _key_words(loc: Sequence[str | int], tables: Mapping[str, Any]) -> str:
    """Where a key stands, as a reader of the file would say it: `part 2 (limpet), show 1, facing`."""
    words: list[str] = []
    node: Any = tables
    for step in loc:
        node = _below(node, step)
        if isinstance(step, int) and words:
            name = node.get("name") if isinstance(node, Mapping) else None
            words[-1] += f" {step + 1}" + (f" ({name})" if name else "")
        else:
            words.append(str(step))
    return ", ".join(words)


def _below(node: Any, step: str | int) -> Any:
    if isinstance(node, Mapping):
        return node.get(step)
    if isinstance(node, list) and isinstance(step, int) and step < len(node):
        return node[step]
    return None
