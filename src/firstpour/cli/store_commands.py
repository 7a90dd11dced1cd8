"""Commands on the store as a whole: where it lies, all of it as one zip, and back."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.job_opened import ShelfPath
from firstpour.cli.workshop_commands import WorkshopPath

if TYPE_CHECKING:
    from firstpour.store.whole import Belongings

AsJson = Annotated[bool, show.JSON_OPTION]
Zip = Annotated[Path, typer.Argument(help="The zip.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Attach the group `store`."""
    store = typer.Typer(help="All that the workshop remembers: as one zip, and back.", no_args_is_help=True)
    store.command("where")(where)
    store.command("export")(export)
    store.command("import")(take_in)
    app.add_typer(store, name="store")


def where(shelf: ShelfPath = None, as_json: AsJson = False) -> None:
    """Where the store lies, and of which version it is."""
    from firstpour.store.opening import version_of

    own = _own(shelf, None)
    version = version_of(own.store)
    if as_json:
        show.print_json({"store": own.store.name, "version": version, "photos": str(own.store.photos)})
    else:
        show.print_words(f"{own.store.name}, {'not there yet' if version is None else f'version {version}'}")


def export(target: Zip, shelf: ShelfPath = None, workshop: WorkshopPath = None, as_json: AsJson = False) -> None:
    """Write stock, plans, sessions, photos, materials and the workshop file into one zip."""
    from firstpour.files.places import existing_shelf
    from firstpour.store.whole import export_all

    existing_shelf(shelf)
    _show(export_all(_own(shelf, workshop), target), f"Written to {target}.", as_json=as_json)


def take_in(source: Zip, shelf: ShelfPath = None, workshop: WorkshopPath = None, as_json: AsJson = False) -> None:
    """Take such a zip into a store that is empty."""
    from firstpour.store.whole import import_all

    _show(import_all(_own(shelf, workshop), source), "All of it is in the store.", as_json=as_json)


def _show(counts: dict[str, int], words: str, *, as_json: bool) -> None:
    if as_json:
        show.print_json({"rows": counts})
        return
    show.print_words(words)
    held = ", ".join(f"{count} {name}" for name, count in counts.items() if count)
    show.print_words(f"{held or 'Nothing'}.")


def _own(shelf: Path | None, workshop: Path | None) -> "Belongings":
    from firstpour.files.places import shelf_folder, store_place, workshop_file
    from firstpour.store.whole import Belongings

    folder = shelf_folder(shelf)
    return Belongings(store=store_place(folder), shelf=folder, workshop=workshop_file(workshop))
