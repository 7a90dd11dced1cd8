"""workshop.toml: what there is to work with, laid over what is typical, and a job's own wishes laid over both."""

from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, TypeVar

from firstpour.errors import BadRequest, WorkshopError
from firstpour.files.checked import Table, checked
from firstpour.files.places import workshop_file
from firstpour.files.toml_text import read_text, tables_from
from firstpour.files.workshop_tables import PrinterTable, WorkshopTable
from firstpour.printing.printers import TYPICAL_PRINTERS, Printer
from firstpour.workshop.equipment import Equipment

Value = TypeVar("Value")


def read_equipment(given: Path | None) -> Equipment:
    """What the maker's workshop file says; what it does not say, and all where there is none, is typical.

    Raises
    ------
    BadRequest
        If the file that was named is not there, or says something that cannot be meant.
    """
    path = workshop_file(given)
    if given is None and not file_is_there(path):
        return Equipment()
    return equipment_from_text(read_text(path, refused=BadRequest, what="workshop file"), called=str(path))


def equipment_from_text(text: str, *, called: str = "workshop.toml") -> Equipment:
    """What the text of a workshop file says, over what is typical.

    Raises
    ------
    BadRequest
        As `read_equipment`.
    """
    tables = tables_from(text, called=called, refused=BadRequest)
    table = checked(WorkshopTable, tables, called=called, refused=BadRequest)
    return equipment_over(Equipment(), table, called=called, refused=BadRequest)


def equipment_over(base: Equipment, table: WorkshopTable, *, called: str, refused: type[WorkshopError]) -> Equipment:
    """`base` with what the table gives.

    Printers that it lists are the only ones; one that bears the name of a printer of `base` starts from its figures,
    any other from the typical ones of its process.

    Raises
    ------
    refused
        If two printers share a name, one says no process, or figures contradict each other.
    """
    try:
        hours = table.hours
        week = {**base.hours.week, **hours.given_week()}
        others = {key: value for key in ("days_off", "time_zone") if (value := getattr(hours, key)) is not None}
        return replace(
            base,
            bench=_over(base.bench, table.bench),
            vacuum=_over(base.vacuum, table.vacuum),
            pressure_pot=_over(base.pressure_pot, table.pressure_pot),
            room=_over(base.room, table.room),
            hours=replace(base.hours, week=week, **others),
            printers=base.printers if table.printer is None else _printers(base.printers, table.printer),
            given=base.given | given_keys(table),
        )
    except BadRequest as error:
        raise refused(f"{called}: {error.problem}", remedy=error.remedy) from error


def equipment_tables(equipment: Equipment) -> dict[str, Any]:
    """All that a workshop file could say of it, by table and key; what nobody knows is left out."""
    hours = equipment.hours
    week = {day.value: [str(window) for window in windows] for day, windows in hours.week.items()}
    zone = {} if hours.time_zone is None else {"time_zone": hours.time_zone}
    room = {key: value for key, value in asdict(equipment.room).items() if value != ()}
    return {
        "bench": asdict(equipment.bench),
        "vacuum": asdict(equipment.vacuum),
        "pressure_pot": asdict(equipment.pressure_pot),
        "room": room,
        "hours": {**week, "days_off": list(hours.days_off), **zone},
        "printer": [_figures_of(printer) for printer in equipment.printers],
    }


def _figures_of(printer: Printer) -> dict[str, object]:
    """Its own figures; what was seen of it is kept with the log of the bench."""
    return {key: value for key, value in asdict(printer).items() if key != "minutes_factor"}


def given_keys(table: WorkshopTable) -> frozenset[str]:
    """What the table gives, as `room.temperature_c`; of a printer `printer.NAME.key`."""
    parts = {part: getattr(table, part) for part in WorkshopTable.model_fields if part != "printer"}
    found = {f"{part}.{key}" for part, inner in parts.items() for key in _given(inner)}
    return frozenset(found | {f"printer.{one.name}.{key}" for one in table.printer or () for key in _given(one)})


def _given(table: Table) -> dict[str, Any]:
    return {key: value for key in table.model_fields_set if (value := getattr(table, key)) is not None}


def _over(base: Value, table: Table) -> Value:
    return replace(base, **_given(table))  # type: ignore[type-var]


def _printers(known: tuple[Printer, ...], tables: tuple[PrinterTable, ...]) -> tuple[Printer, ...]:
    names = [table.name for table in tables]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise BadRequest(f"two printers are named {twice!r}", remedy="give each [[printer]] a name of its own")
    if not tables:
        raise BadRequest("the list of printers is empty", remedy="list one, or leave it out for typical ones")
    by_name = {printer.name: printer for printer in known}
    return tuple(_printer(table, by_name.get(table.name)) for table in tables)


def _printer(table: PrinterTable, same: Printer | None) -> Printer:
    given = _given(table)
    process = given.get("process")
    if same is None or process not in (None, same.process):
        if process is None:
            raise BadRequest(
                f"the printer {table.name!r} says no process", remedy='add process = "filament" or process = "vat"'
            )
        same = next(printer for printer in TYPICAL_PRINTERS if printer.process is process)
    own = {"origin": "own figures"} if set(given) - {"name", "process"} else {}
    return replace(same, **(own | given))


def file_is_there(path: Path) -> bool:
    """Whether there is such a file at all.

    Raises
    ------
    BadRequest
        If the place cannot be looked at.
    """
    try:
        return path.exists()
    except (OSError, ValueError) as error:
        raise BadRequest(
            f"the workshop file {path} cannot be read: {getattr(error, 'strerror', None) or error}",
            remedy="name another workshop file",
        ) from error
