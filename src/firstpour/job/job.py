"""What is asked for: the job and each of its parts."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from pathlib import Path

from firstpour.cavities.values import Cavities
from firstpour.inserts.values import Insert
from firstpour.mould.settings import MouldSettings
from firstpour.part.marks import MarkRule
from firstpour.parting.values import MouldKind
from firstpour.printing.allowance import Fit
from firstpour.printing.printers import Process
from firstpour.samples.samples import Sample
from firstpour.units import LengthUnit
from firstpour.workshop.equipment import Equipment, pieces_printer

Vector = tuple[float, float, float]


class Preference(StrEnum):
    """What the maker would rather have of a route."""

    SOONEST = "soonest"
    CHEAPEST = "cheapest"
    FINISH = "best finish"
    HANDS = "least hands"


class Making(StrEnum):
    """How the copies shall come about, where the maker fixes it."""

    PRINT = "print directly"
    CAST = "cast"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRequest:
    """One part of the job: the file or the sample, how many copies, and what its maker fixed in advance."""

    name: str
    file: Path | None = None
    sample: Sample | None = None
    unit: LengthUnit = LengthUnit.MM
    copies: int = 1
    marks: tuple[MarkRule, ...] = ()
    draw: Vector | None = None
    kind: MouldKind | None = None
    gates_mm: tuple[Vector, ...] = ()
    vents_mm: tuple[Vector, ...] = ()
    up: Vector | None = None
    hardness: str | None = None
    """How the copies shall feel: a Shore hardness or words; no materials are chosen where it is not given."""
    process: Process | None = None
    """How the master or the trays are printed; the better one for the master, filament for trays, if not given."""
    fits: tuple[Fit, ...] = ()
    inserts: tuple[Insert, ...] = ()
    around: str | None = None
    """Name of the part around whose copies this one is cast; such a copy is among the inserts."""
    route: Making | None = None
    """None: by the preference of the job, else cast."""
    print_in: str | None = None
    """Id of the material that the copies themselves are printed in."""
    silicone: str | None = None
    casting: str | None = None
    paint: str | None = None
    clear: bool = False
    moulds: int = 1
    cavities: Cavities = 1
    """Copies that one mould gives at once, or `MOST`, or `DATE`."""
    basin: bool | None = None
    """Whether the gates of several cavities are filled from one basin; None: where one mix fills them only so."""
    colourant_ratio: float = 0.0
    accelerator_ratio: float = 0.0
    silicone_accelerator_ratio: float = 0.0
    silicone_shrinkage_ratio: float | None = None
    casting_shrinkage_ratio: float | None = None
    members: tuple["Member", ...] = ()
    """Different parts that lie together in one mould: then a copy is a set, as many of each as one shot gives."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One of several parts in one mould, and how many of it that mould gives at once."""

    request: PartRequest
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What is to be made, by when, in what kind of mould; `equipment` is the workshop as it stands for this job."""

    name: str
    parts: tuple[PartRequest, ...]
    begin: date | None = None
    due: date | None = None
    settings: MouldSettings = field(default_factory=MouldSettings)
    equipment: Equipment = field(default_factory=Equipment)
    prefer: Preference | None = None
    hands_per_h: float | None = None
    """What an hour of one's own is worth, in the currency of the prices; not counted where not given."""
    printer_per_h: float | None = None
    """What an hour of a printer costs; not counted where not given."""

    def first_day(self, today: date) -> date:
        """The day on which the work begins: as the job says, else tomorrow."""
        return self.begin or today + timedelta(days=1)

    @property
    def printer_mm(self) -> Vector:
        """What the printer of the mould pieces takes in one go."""
        return pieces_printer(self.equipment.printers).size_mm

    @property
    def temperature_c(self) -> float:
        """How warm it is where it is poured."""
        return self.equipment.room.temperature_c
