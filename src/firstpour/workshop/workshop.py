"""The workshop: what stands in it, its shelf, and the day."""

from dataclasses import dataclass, field
from datetime import date

from firstpour.materials.catalogue import Catalogue
from firstpour.mixing.bench_kit import BenchKit
from firstpour.printing.printers import Printer
from firstpour.stock.stock import Pack
from firstpour.store.learned import Learned
from firstpour.workshop.equipment import Equipment


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """The materials known, what is left of them, and what there is to work with."""

    catalogue: Catalogue
    stock: tuple[Pack, ...]
    today: date
    equipment: Equipment = field(default_factory=Equipment)
    learned: Learned = field(default_factory=Learned)
    """What was seen here before, as it bears on the next plan."""

    @property
    def printers(self) -> tuple[Printer, ...]:
        return self.equipment.printers

    @property
    def kit(self) -> BenchKit:
        return self.equipment.kit

    @property
    def temperature_c(self) -> float:
        return self.equipment.room.temperature_c

    @property
    def other_rooms_c(self) -> tuple[float, ...]:
        return self.equipment.other_rooms_c
