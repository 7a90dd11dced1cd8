"""What the commands on the shelf share: opening it, reading amounts, showing packs."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstpour.cli import show

if TYPE_CHECKING:
    from firstpour.materials.catalogue import Catalogue
    from firstpour.stock.stock import Pack


def opened(shelf: Path | None) -> "tuple[Path, Catalogue, tuple[Pack, ...]]":
    """The folder of a shelf that is there, every material known, and the packs on it."""
    from firstpour.files.places import existing_shelf

    return _contents(existing_shelf(shelf))


def opened_or_new(shelf: Path | None) -> "tuple[Path, Catalogue, tuple[Pack, ...]]":
    """The same, of a shelf that may be a new one."""
    from firstpour.files.places import shelf_folder

    return _contents(shelf_folder(shelf))


def _contents(folder: Path) -> "tuple[Path, Catalogue, tuple[Pack, ...]]":
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.places import store_place
    from firstpour.store.stock_rows import load_stock

    return folder, load_catalogue(folder), load_stock(store_place(folder))


def now() -> Any:
    """The time of day here."""
    from datetime import datetime

    return datetime.now()


def show_packs(packs: "tuple[Pack, ...]", catalogue: "Catalogue") -> None:
    """A table of packs."""
    from firstpour.files.material_entries import pack_entry

    today = now().date()
    rows = []
    for pack in packs:
        entry = pack_entry(pack, catalogue.materials.get(pack.material_id), today=today)
        left = f"{pack.left_a_g:.0f} + {pack.left_b_g:.0f}" if pack.size_b_g else f"{pack.left_a_g:.0f}"
        state = {True: "good", False: "out of date", None: "unknown material"}[entry.good]
        rows.append((entry.name, str(pack.id), left, str(entry.good_until or "-"), state))
    show.print_table("On the shelf", ["material", "pack", "left g", "good until", ""], rows)


def show_changed(changed: "tuple[Pack, ...]", catalogue: "Catalogue", *, as_json: bool) -> None:
    """The packs that a command changed."""
    from firstpour.files.material_entries import pack_entry

    if as_json:
        today = now().date()
        rows = [pack_entry(pack, catalogue.materials.get(pack.material_id), today=today) for pack in changed]
        show.print_json({"packs": rows})
        return
    show_packs(changed, catalogue)
