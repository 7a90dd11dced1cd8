"""The tables of job.toml and what each key may hold."""

import dataclasses
from datetime import date
from functools import cache
from typing import Annotated, Any, ClassVar, get_type_hints

from pydantic import BaseModel, ConfigDict, Field, create_model

from firstpour.mould.settings import MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.printing.allowance import FitKind
from firstpour.printing.printers import Process
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit

Number = Annotated[float, Field(allow_inf_nan=False)]
Length = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Vector = tuple[Number, Number, Number]


class Table(BaseModel):
    """What every table is: known keys only."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    nested: ClassVar[dict[str, type["Table"]]] = {}
    """The tables inside this one, by key."""


class MarkTable(Table):
    """Which faces carry a mark: those facing a direction, those in a box, those numbered."""

    facing: Vector | None = None
    within_deg: Annotated[float, Field(gt=0, le=180)] = 30.0
    box_mm: tuple[Vector, Vector] | None = None
    faces: tuple[Annotated[int, Field(ge=0)], ...] | None = None


class PlaceTable(Table):
    """A place on the part."""

    at_mm: Vector


class FitTable(Table):
    """A diameter that the copy must keep: a hole takes something in, a shaft goes into something."""

    kind: FitKind
    nominal_mm: Length
    tolerance_mm: Length
    near_mm: Vector | None = None


class PartTable(Table):
    """One `[[part]]`."""

    nested: ClassVar[dict[str, type[Table]]] = {
        "show": MarkTable,
        "hidden": MarkTable,
        "keep_clear": MarkTable,
        "gate": PlaceTable,
        "vent": PlaceTable,
        "fit": FitTable,
    }
    name: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    file: str | None = None
    sample: Sample | None = None
    units: LengthUnit = LengthUnit.MM
    copies: Annotated[int, Field(ge=1, le=10_000)] = 1
    draw: Vector | None = None
    up: Vector | None = None
    kind: MouldKind | None = None
    hardness: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    process: Process | None = None
    silicone: str | None = None
    casting: str | None = None
    paint: str | None = None
    clear: bool = False
    moulds: Annotated[int, Field(ge=1, le=100)] = 1
    colourant_ratio: Share = 0.0
    accelerator_ratio: Share = 0.0
    silicone_shrinkage_ratio: Share | None = None
    casting_shrinkage_ratio: Share | None = None
    show: tuple[MarkTable, ...] = ()
    hidden: tuple[MarkTable, ...] = ()
    keep_clear: tuple[MarkTable, ...] = ()
    gate: tuple[PlaceTable, ...] = ()
    vent: tuple[PlaceTable, ...] = ()
    fit: tuple[FitTable, ...] = ()


class JobTable(Table):
    """The `[job]`."""

    name: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    due: date | None = None


class RoomTable(Table):
    """The `[room]` in which it is poured."""

    temperature_c: Annotated[float, Field(ge=-20, le=60, allow_inf_nan=False)] = 23.0


class PrinterTable(Table):
    """The `[printer]`: what it can print in one go."""

    size_mm: tuple[Length, Length, Length]


class JobFile(Table):
    """The whole of job.toml; `[mould]` is checked against the mould's own settings."""

    nested: ClassVar[dict[str, type[Table]]] = {
        "job": JobTable,
        "printer": PrinterTable,
        "room": RoomTable,
        "part": PartTable,
    }
    job: JobTable = JobTable()
    printer: PrinterTable | None = None
    room: RoomTable = RoomTable()
    mould: dict[str, Any] = {}
    part: tuple[PartTable, ...] = ()


@cache
def settings_file() -> type[BaseModel]:
    """The `[mould]` table by itself: one optional key for each field of `MouldSettings`."""
    hints = get_type_hints(MouldSettings)
    fields: dict[str, Any] = {
        entry.name: (hints[entry.name], entry.default) for entry in dataclasses.fields(MouldSettings)
    }
    config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
    table = create_model("MouldTable", __config__=config, **fields)
    return create_model("SettingsFile", __config__=config, mould=(table, ...))


def keys_of(path: tuple[str, ...]) -> list[str]:
    """The keys that the table at `path` may have, in declared order.

    >>> keys_of(("job",))
    ['name', 'due']
    """
    if path[:1] == ("mould",):
        return [entry.name for entry in dataclasses.fields(MouldSettings)]
    table: type[Table] = JobFile
    for step in path:
        table = table.nested.get(step, table)
    return list(table.model_fields)
