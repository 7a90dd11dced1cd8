"""Commands on the workshop file: what there is to work with, and changing it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from firstpour.cli import show

if TYPE_CHECKING:
    from firstpour.workshop.equipment import Equipment

AsJson = Annotated[bool, show.JSON_OPTION]
OPTION = typer.Option("--workshop", help="Your workshop file, if not the usual one.")
WorkshopPath = Annotated[Path | None, OPTION]
KeyValues = Annotated[list[str], typer.Argument(help="KEY=VALUE, e.g. room.temperature_c=19 or vacuum=no.")]
Figures = Annotated[list[str] | None, typer.Argument(help="KEY=VALUE, e.g. process=vat “pixel_mm=0.05”.")]
PrinterName = Annotated[str, typer.Argument(help="What you call the printer.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Attach the group `workshop`."""
    workshop = typer.Typer(help="Your printers, scale, cups, vacuum, room and hours.", no_args_is_help=True)
    workshop.command("show")(show_workshop)
    workshop.command("set")(set_keys)
    workshop.command("add-printer")(add_printer)
    workshop.command("remove-printer")(remove_printer)
    app.add_typer(workshop, name="workshop")


def show_workshop(
    printer: Annotated[str | None, typer.Option(help="Show every figure of this printer instead.")] = None,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """What there is to work with, and which of it is typical because you have not said."""
    from firstpour.files.places import workshop_file
    from firstpour.files.workshop_toml import read_equipment

    equipment, path = read_equipment(workshop), workshop_file(workshop)
    if printer is None:
        _show(equipment, path, as_json=as_json)
    else:
        _show_printer(equipment, printer, as_json=as_json)


def set_keys(words: KeyValues, workshop: WorkshopPath = None, as_json: AsJson = False) -> None:
    """Set what your workshop has: KEY=VALUE, as many as you like."""
    file = _file(workshop)
    file.set_words(words)
    _show(file.save(), file.path, as_json=as_json)


def add_printer(
    name: PrinterName,
    words: Figures = None,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """Enter a printer; what you do not give is typical of its process."""
    file = _file(workshop)
    file.add_printer(name, words or ())
    _show(file.save(), file.path, as_json=as_json)


def remove_printer(name: PrinterName, workshop: WorkshopPath = None, as_json: AsJson = False) -> None:
    """Take a printer out of the workshop."""
    file = _file(workshop)
    file.remove_printer(name)
    _show(file.save(), file.path, as_json=as_json)


def _file(workshop: Path | None) -> Any:
    from firstpour.files.places import workshop_file
    from firstpour.files.workshop_edit import WorkshopFile

    return WorkshopFile(workshop_file(workshop))


def _show(equipment: "Equipment", path: Path, *, as_json: bool) -> None:
    from firstpour.files.workshop_toml import equipment_tables

    tables = equipment_tables(equipment)
    if as_json:
        show.print_json({"file": str(path), "given": sorted(equipment.given), **tables})
        return
    show.print_words(f"{path}" if path.exists() else f"{path} is not there yet: all of this is typical.")
    parts = {part: table for part, table in tables.items() if part != "printer"}
    rows = [
        (f"{part}.{key}", _words(key, value), _origin(f"{part}.{key}", equipment))
        for part, table in parts.items()
        for key, value in table.items()
    ]
    show.print_table("The workshop", ["key", "value", ""], rows)
    printers = [
        (one["name"], one["process"], show.size_words(one["size_mm"]), _words("", one["overnight"]), one["origin"])
        for one in tables["printer"]
    ]
    show.print_table("Printers", ["name", "process", "size mm", "overnight", "figures"], printers)
    show.print_words("Change a key: firstpour workshop set KEY=VALUE; a printer: add-printer, remove-printer.")


def _show_printer(equipment: "Equipment", name: str, *, as_json: bool) -> None:
    from firstpour.errors import BadRequest
    from firstpour.files.workshop_toml import equipment_tables

    tables = {one["name"]: one for one in equipment_tables(equipment)["printer"]}
    if name not in tables:
        raise BadRequest(f"there is no printer {name!r} in the workshop", remedy=f"there are: {', '.join(tables)}")
    if as_json:
        show.print_json(tables[name])
        return
    rows = [
        (key, _words(key, value), _origin(f"printer.{name}.{key}", equipment)) for key, value in tables[name].items()
    ]
    show.print_table(name, ["key", "value", ""], rows)


def _origin(key: str, equipment: "Equipment") -> str:
    return "yours" if key in equipment.given else "typical"


def _words(key: str, value: Any) -> str:
    """A value as one reads it.

    >>> _words("used_pa", 280000.0), _words("monday", []), _words("available", False), _words("size_mm", (1.0, 2.5))
    ('280000 (2.8 bar)', 'closed', 'no', '1, 2.5')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        empty = "none" if key == "days_off" else "closed"
        return ", ".join(f"{one:g}" if isinstance(one, float) else str(one) for one in value) or empty
    if isinstance(value, float):
        return f"{value:g} ({value / 1e5:.3g} bar)" if key.endswith("_pa") and value >= 1000 else f"{value:g}"
    return str(value)
