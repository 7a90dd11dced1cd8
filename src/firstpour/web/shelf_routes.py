"""Routes on the shelf and the workshop."""

from datetime import datetime
from pathlib import Path

from fastapi import APIRouter

from firstpour.files.catalogue import load_catalogue
from firstpour.files.material_entries import material_entry, pack_entry
from firstpour.files.places import existing_shelf, shelf_folder, store_place, workshop_file
from firstpour.files.workshop_edit import WorkshopFile
from firstpour.files.workshop_toml import equipment_tables, read_equipment
from firstpour.materials.amounts import grams_said
from firstpour.materials.catalogue import Catalogue
from firstpour.stock.said import pack_said
from firstpour.stock.stock import Amount, Pack
from firstpour.store import stock_rows
from firstpour.web.refusals import REFUSED, NotThere
from firstpour.web.serving import Served, Serving
from firstpour.web.shelf_entries import (
    CountWish,
    NewPackWish,
    PacksEntry,
    ShelfEntry,
    TakeWish,
    WorkshopEntry,
    WorkshopKeysWish,
)
from firstpour.workshop.equipment import Equipment

api = APIRouter(prefix="/api", responses=REFUSED, tags=["shelf and workshop"])


@api.get("/shelf")
def shelf(serving: Served) -> ShelfEntry:
    """Every pack on the shelf, and every material that is known."""
    folder = existing_shelf(serving.shelf)
    catalogue = load_catalogue(folder)
    return ShelfEntry(
        folder=str(folder),
        packs=_packs(stock_rows.load_stock(store_place(folder)), catalogue, serving).packs,
        materials=[material_entry(one) for one in catalogue.materials.values()],
    )


@api.post("/shelf/packs", status_code=201)
def add_packs(serving: Served, wish: NewPackWish) -> PacksEntry:
    """Put packs on the shelf."""
    folder = shelf_folder(serving.shelf)
    catalogue = load_catalogue(folder)
    one = catalogue.get(wish.material)
    new = pack_said(
        one,
        size=wish.size,
        left=wish.left,
        price=wish.price,
        bought_on=wish.bought_on,
        opened_on=wish.opened_on,
        today=serving.clock().date(),
    )
    return _packs(
        stock_rows.add_packs(store_place(folder), [new] * wish.count, at=_moment(serving)), catalogue, serving
    )


@api.post("/shelf/take")
def take(serving: Served, wish: TakeWish) -> PacksEntry:
    """Take some of a material, from the opened packs first."""
    folder = existing_shelf(serving.shelf)
    catalogue = load_catalogue(folder)
    one = catalogue.get(wish.material)
    grams = grams_said(wish.amount, one)
    changed = stock_rows.take(store_place(folder), one, Amount(a_g=grams.a_g, b_g=grams.b_g), at=_moment(serving))
    return _packs(changed, catalogue, serving)


@api.put("/shelf/packs/{pack}")
def count(serving: Served, pack: int, wish: CountWish) -> PacksEntry:
    """Set what was counted or weighed as left in a pack."""
    folder = existing_shelf(serving.shelf)
    catalogue = load_catalogue(folder)
    grams = grams_said(wish.left, catalogue.get(_pack(folder, pack).material_id))
    changed = stock_rows.count(
        store_place(folder), pack, left=Amount(a_g=grams.a_g, b_g=grams.b_g), at=_moment(serving)
    )
    return _packs((changed,), catalogue, serving)


@api.delete("/shelf/packs/{pack}", status_code=204)
def remove(serving: Served, pack: int) -> None:
    """Take a pack out of the stock."""
    folder = existing_shelf(serving.shelf)
    _pack(folder, pack)
    stock_rows.remove(store_place(folder), pack, at=_moment(serving))


@api.get("/workshop")
def workshop(serving: Served) -> WorkshopEntry:
    """What there is to work with."""
    return _workshop(read_equipment(serving.workshop), serving)


@api.put("/workshop")
def set_workshop(serving: Served, wish: WorkshopKeysWish) -> WorkshopEntry:
    """Set keys of the workshop: all of them, or none where one cannot be meant."""
    file = WorkshopFile(workshop_file(serving.workshop))
    file.set_words([f"{key}={value}" for key, value in wish.keys.items()])
    return _workshop(file.save(), serving)


def _pack(folder: Path, number: int) -> Pack:
    found = next((one for one in stock_rows.load_stock(store_place(folder)) if one.id == number), None)
    if found is None:
        raise NotThere(f"no pack {number} is on the shelf", remedy="look at the packs on the shelf")
    return found


def _packs(packs: tuple[Pack, ...], catalogue: Catalogue, serving: Serving) -> PacksEntry:
    today = serving.clock().date()
    return PacksEntry(packs=[pack_entry(one, catalogue.materials.get(one.material_id), today=today) for one in packs])


def _moment(serving: Serving) -> datetime:
    """Now, as the stock notes it: the workshop's own clock."""
    return serving.clock().replace(tzinfo=None)


def _workshop(equipment: Equipment, serving: Serving) -> WorkshopEntry:
    tables = equipment_tables(equipment)
    return WorkshopEntry(file=str(workshop_file(serving.workshop)), given=sorted(equipment.given), **tables)
