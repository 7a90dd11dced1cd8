"""The tables of job.toml and what each key may hold."""

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, Strict

from firstpour.cavities.values import MOST_CAVITIES
from firstpour.files.checked import Day, Flag, Length, Line, Name, Share, Table, Vector, table_of
from firstpour.files.workshop_tables import WorkshopTable
from firstpour.inserts.values import InsertShape
from firstpour.job.job import Making, Preference
from firstpour.mould.settings import MOST, MOST_MM, MouldSettings
from firstpour.parting.values import MouldKind
from firstpour.printing.allowance import FitKind
from firstpour.printing.printers import Process
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit

Count = Annotated[int, Strict(), Field(ge=1, le=10_000)]
MaterialId = Annotated[Line, Field(min_length=1, max_length=64)]
Rate = Annotated[float, Strict(), Field(ge=0, le=1e6, allow_inf_nan=False)]
SETTING_LIMITS = {
    "": Annotated[float, Strict(), Field(ge=0, le=MOST, allow_inf_nan=False)],
    "_mm": Annotated[float, Strict(), Field(ge=0, le=MOST_MM, allow_inf_nan=False)],
    "_ratio": Annotated[float, Strict(), Field(ge=0, lt=0.2, allow_inf_nan=False)],
}


class MarkTable(Table):
    """Which faces carry a mark: those facing a direction, those in a box, those numbered."""

    facing: Vector | None = None
    within_deg: Annotated[float, Strict(), Field(gt=0, le=180)] = 30.0
    box_mm: tuple[Vector, Vector] | None = None
    faces: tuple[Annotated[int, Strict(), Field(ge=0, lt=2**40)], ...] | None = None


class PlaceTable(Table):
    """A place on the part."""

    at_mm: Vector


class FitTable(Table):
    """A diameter that the copy must keep: a hole takes something in, a shaft goes into something."""

    kind: FitKind
    nominal_mm: Length
    tolerance_mm: Length
    near_mm: Vector | None = None


class InsertTable(Table):
    """What is set into the mould before the shot: a rod that is pulled out again, or what stays in the copy."""

    shape: InsertShape
    at_mm: Vector | None = None
    along: Vector | None = None
    diameter_mm: Length | None = None
    length_mm: Length | None = None
    bore_mm: Length | None = None
    across_flats_mm: Length | None = None
    flange_mm: Length | None = None
    flange_length_mm: Length | None = None
    tolerance_mm: Length = 0.05
    file: Line | None = None
    units: LengthUnit | None = None


class PartTable(Table):
    """One `[[part]]`."""

    name: Name | None = None
    file: Line | None = None
    sample: Sample | None = None
    units: LengthUnit = LengthUnit.MM
    copies: Count = 1
    draw: Vector | None = None
    up: Vector | None = None
    kind: MouldKind | None = None
    hardness: Annotated[Line, Field(min_length=1, max_length=40)] | None = None
    process: Process | None = None
    route: Making | None = None
    print_in: MaterialId | None = None
    around: Name | None = None
    silicone: MaterialId | None = None
    casting: MaterialId | None = None
    paint: MaterialId | None = None
    clear: Flag = False
    moulds: Annotated[int, Strict(), Field(ge=1, le=100)] = 1
    cavities: Annotated[int, Strict(), Field(ge=1, le=MOST_CAVITIES)] | Literal["most", "date"] = 1
    basin: Flag | None = None
    colourant_ratio: Share = 0.0
    accelerator_ratio: Share = 0.0
    silicone_accelerator_ratio: Share = 0.0
    silicone_shrinkage_ratio: Share | None = None
    casting_shrinkage_ratio: Share | None = None
    show: tuple[MarkTable, ...] = ()
    hidden: tuple[MarkTable, ...] = ()
    keep_clear: tuple[MarkTable, ...] = ()
    gate: tuple[PlaceTable, ...] = ()
    vent: tuple[PlaceTable, ...] = ()
    fit: tuple[FitTable, ...] = ()
    insert: tuple[InsertTable, ...] = ()


class TogetherTable(Table):
    """One `[[together]]`: different parts of one material in one mould."""

    name: Name | None = None
    parts: Annotated[tuple[Name, ...], Field(min_length=2, max_length=MOST_CAVITIES)]


class JobTable(Table):
    """The `[job]`."""

    name: Name | None = None
    begin: Day | None = None
    due: Day | None = None
    prefer: Preference | None = None
    hands_per_h: Rate | None = None
    printer_per_h: Rate | None = None


if TYPE_CHECKING:
    MouldTable = Table
else:
    MouldTable = table_of(MouldSettings, name="MouldTable", limits=SETTING_LIMITS, defaults=MouldSettings())


class SettingsFile(Table):
    """The `[mould]` table by itself."""

    mould: MouldTable = MouldTable()


class JobFile(Table):
    """The whole of job.toml."""

    job: JobTable = JobTable()
    workshop: WorkshopTable = WorkshopTable()
    mould: MouldTable = MouldTable()
    part: tuple[PartTable, ...] = ()
    together: tuple[TogetherTable, ...] = ()
