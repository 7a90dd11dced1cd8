"""What the shelf and the workshop are sent and what they answer."""

from datetime import date
from typing import Annotated

from pydantic import Field

from firstpour.files.checked import Table
from firstpour.files.entry import Entry
from firstpour.files.job_tables import MaterialId
from firstpour.files.material_entries import MaterialEntry, PackEntry


class ShelfEntry(Entry):
    """The shelf and every material that is known."""

    folder: str
    packs: list[PackEntry]
    materials: list[MaterialEntry]


class PacksEntry(Entry):
    """The packs that a change touched."""

    packs: list[PackEntry]


class NewPackWish(Table):
    """Packs to put on the shelf."""

    material: MaterialId
    size: Annotated[str, Field(min_length=1, max_length=80, description="“500 g”, “500 g + 500 g”, “1 kg kit”.")]
    count: Annotated[int, Field(ge=1, le=1000)] = 1
    left: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    price: Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)] | None = None
    bought_on: date | None = None
    opened_on: date | None = None


class TakeWish(Table):
    """Some of a material to take off the shelf."""

    material: MaterialId
    amount: Annotated[str, Field(min_length=1, max_length=80, description="“250 g”, or “130 g + 120 g”.")]


class CountWish(Table):
    """What was counted or weighed as left in a pack."""

    left: Annotated[str, Field(min_length=1, max_length=80)]


class WorkshopKeysWish(Table):
    """Keys of the workshop to set, such as `room.temperature_c`: `19`; hours as `9:00-12:00, 13:00-17:00`."""

    keys: Annotated[
        dict[Annotated[str, Field(max_length=200)], Annotated[str, Field(max_length=2000)]], Field(max_length=200)
    ]


class WorkshopEntry(Entry):
    """What there is to work with; `given` names the keys that are the maker's own, the rest is typical."""

    file: str
    given: list[str]
    bench: dict[str, object]
    vacuum: dict[str, object]
    pressure_pot: dict[str, object]
    room: dict[str, object]
    hours: dict[str, object]
    printer: list[dict[str, object]]
