"""job.toml: what is to be made, read into values or refused with the key and the remedy."""

from collections.abc import Sequence
from pathlib import Path

from firstpour.errors import BadJob, BadRequest
from firstpour.files.checked import Table, checked
from firstpour.files.job_tables import InsertTable, JobFile, MarkTable, PartTable, SettingsFile
from firstpour.files.together_tables import put_together
from firstpour.files.toml_text import read_text, tables_from, value_of_word
from firstpour.files.workshop_toml import equipment_over
from firstpour.inserts.values import Insert, InsertShape
from firstpour.job.around import with_cores
from firstpour.job.job import Job, Making, PartRequest
from firstpour.materials.feel import wanted_hardness
from firstpour.mould.settings import MouldSettings
from firstpour.part.marks import MarkRule
from firstpour.part.part import FaceMark
from firstpour.parting.values import MouldKind
from firstpour.printing.allowance import Fit
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit
from firstpour.workshop.equipment import Equipment, printers_for

MATERIAL_KEYS = {
    "process",
    "route",
    "print_in",
    "silicone",
    "casting",
    "paint",
    "clear",
    "moulds",
    "cavities",
    "basin",
    "colourant_ratio",
    "accelerator_ratio",
    "silicone_accelerator_ratio",
    "silicone_shrinkage_ratio",
    "casting_shrinkage_ratio",
}
"""Keys of a part about its materials, taken as they are."""


def read_job(path: Path, *, unit: LengthUnit = LengthUnit.MM, equipment: Equipment | None = None) -> Job:
    """Read a job file, or take a bare part file, in `unit`, as a job of one copy; its `[workshop]` is laid over
    `equipment`, or over what is typical.

    Raises
    ------
    BadJob
        If the file is missing, is not TOML or says something that cannot be meant.
    """
    if path.suffix.lower() == ".toml":
        text = read_text(path, refused=BadJob, what="job file")
        return job_from_text(text, folder=path.parent, called=path.name, equipment=equipment)
    if not _is_file(path):
        raise BadJob(f"there is no file {path}", remedy="name a job file (.toml) or a part file (.stl, .3mf, …)")
    name = plain_name(path.stem)
    parts = (PartRequest(name=name, file=path, unit=unit),)
    return Job(name=name, parts=parts, equipment=equipment or Equipment())


def plain_name(stem: str) -> str:
    """A file's name as a part's: what does not print is an underscore, at most 80 characters.

    >>> plain_name("two\\nlines")
    'two_lines'
    """
    return "".join(c if c.isprintable() else "_" for c in stem)[:80] or "part"


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError as error:
        raise BadJob(f"{path} cannot be read: {error.strerror}", remedy="name a file that you may read") from error


def job_from_text(text: str, *, folder: Path, called: str = "job.toml", equipment: Equipment | None = None) -> Job:
    """The job that the text describes, in a workshop with that `equipment`; part files are looked for in `folder`.

    Raises
    ------
    BadJob
        As `read_job`.
    """
    tables = tables_from(text, called=called, refused=BadJob)
    job = checked(JobFile, tables, called=called, refused=BadJob)
    if job.job.begin is not None and job.job.due is not None and job.job.due < job.job.begin:
        raise BadJob(
            f"{called}: it is due on {job.job.due.isoformat()}, before it begins on {job.job.begin.isoformat()}",
            remedy="give a later due, or an earlier begin",
        )
    if not job.part:
        raise BadJob(f"{called} names no part", remedy='add a table [[part]] with file = "part.stl"')
    parts = tuple(_part(table, folder=folder, number=k + 1, called=called) for k, table in enumerate(job.part))
    here = equipment_over(equipment or Equipment(), job.workshop, called=f"{called}, workshop", refused=BadJob)
    for part in parts:
        try:
            printers_for(here.printers, part.process)
        except BadJob as error:
            raise BadJob(f"{called}, {part.name}: {error.problem}", remedy=error.remedy) from error
    parts = _with_cores(_distinct(parts, called), called)
    return Job(
        name=job.job.name or plain_name(folder.resolve().name),
        parts=_distinct(put_together(parts, job.together, called=called), called),
        begin=job.job.begin,
        due=job.job.due,
        prefer=job.job.prefer,
        hands_per_h=job.job.hands_per_h,
        printer_per_h=job.job.printer_per_h,
        settings=_settings(job.mould),
        equipment=here,
    )


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
        values[name.strip()] = value_of_word(value)
    return _settings(checked(SettingsFile, {"mould": values}, called="the command", refused=BadJob).mould)


def _settings(table: Table) -> MouldSettings:
    try:
        return MouldSettings(**table.model_dump())
    except BadRequest as error:
        raise BadJob(f"[mould]: {error.problem}", remedy=error.remedy) from error


def _part(table: PartTable, *, folder: Path, number: int, called: str) -> PartRequest:
    where = f"{called}, part {number}"
    if (table.file is None) == (table.sample is None):
        raise BadJob(
            f"{where} ({table.name or 'no name'}): it needs either a file or a sample",
            remedy=f'add file = "part.stl", or sample = one of {", ".join(Sample)}',
        )
    file = None if table.file is None else folder / table.file
    if file is not None and not _is_file(file):
        raise BadJob(f"{where}: there is no file {file}", remedy="mend its file key; it is relative to the job file")
    wished = [key for key in ("silicone", "casting", "paint", "print_in") if getattr(table, key) is not None]
    if table.hardness is None and wished:
        raise BadJob(
            f"{where}: it names its {' and '.join(wished)} but no hardness",
            remedy='add hardness = "A 20", or words such as "rigid": materials are chosen only with it',
        )
    _refuse_contradictions(table, where=where)
    named = {FaceMark.SHOW: table.show, FaceMark.HIDDEN: table.hidden, FaceMark.KEEP_CLEAR: table.keep_clear}
    return PartRequest(
        name=table.name or (plain_name(file.stem) if file else str(table.sample)),
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
        inserts=tuple(_insert(one, folder=folder, where=where) for one in table.insert),
        around=table.around,
        hardness=_hardness(table.hardness, where=where),
        **table.model_dump(include=MATERIAL_KEYS),
    )


def _insert(table: InsertTable, *, folder: Path, where: str) -> Insert:
    missing = [key for key in ("at_mm", "along") if getattr(table, key) is None]
    if missing and table.shape is not InsertShape.MESH:
        raise BadJob(
            f"{where}: an insert of shape {table.shape.value!r} without {' and '.join(missing)}",
            remedy="give at_mm = [x, y, z], its middle, and along = [x, y, z], its axis",
        )
    given = table.model_dump(exclude_none=True, exclude={"file", "units"})
    file = None if table.file is None else folder / table.file
    if file is not None and not _is_file(file):
        raise BadJob(
            f"{where}: there is no insert {file}", remedy="mend its file key; it is relative to the job file"
        )
    try:
        return Insert(**given, file=file, unit=table.units or LengthUnit.MM)
    except BadJob as error:
        raise BadJob(f"{where}: {error.problem}", remedy=error.remedy) from error


MOULD_KEYS = ("kind", "draw", "silicone", "casting", "gate", "vent", "up")
"""What a part that is printed directly has no use for."""


def _refuse_contradictions(table: PartTable, *, where: str) -> None:
    """Refuse wishes of which only one can be had.

    Raises
    ------
    BadJob
        If two of them contradict each other; both are named.
    """
    directly = table.route is Making.PRINT
    of_a_mould = [key for key in MOULD_KEYS if getattr(table, key)] + (["moulds"] if table.moulds > 1 else [])
    open_face = table.kind is MouldKind.OPEN_FACE
    channels = [key for key in ("gate", "vent") if getattr(table, key)]
    against = (
        (
            directly and bool(of_a_mould),
            f'route = "{Making.PRINT}" and {" and ".join(of_a_mould)}: a print has no mould',
            "leave out one or the other",
        ),
        (
            directly and table.hardness is None,
            f'route = "{Making.PRINT}" without a hardness: nothing says what to print it in',
            'add hardness = "A 80", or words such as "rigid"',
        ),
        (
            table.print_in is not None and not directly,
            f'print_in without route = "{Making.PRINT}": what is cast is not printed in it',
            f'add route = "{Making.PRINT}", or leave print_in out',
        ),
        (
            open_face and bool(channels),
            f'kind = "{MouldKind.OPEN_FACE}" and {" and ".join(channels)}: it is poured through its open back',
            "leave them out, or take another kind of mould",
        ),
        (
            table.clear and table.paint is not None,
            "clear = true and paint: what is painted over is clear no more",
            "leave out one or the other",
        ),
    )
    for contradicts, problem, remedy in against:
        if contradicts:
            raise BadJob(f"{where}: {problem}", remedy=remedy)


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


def _with_cores(parts: tuple[PartRequest, ...], called: str) -> tuple[PartRequest, ...]:
    try:
        return with_cores(parts)
    except BadJob as error:
        raise BadJob(f"{called}: {error.problem}", remedy=error.remedy) from error


def _distinct(parts: tuple[PartRequest, ...], called: str) -> tuple[PartRequest, ...]:
    names = [part.name for part in parts]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise BadJob(f"{called}: two parts are named {twice!r}", remedy="give each [[part]] a name of its own")
    return parts
