"""The shelf and the room in which it is used."""

from dataclasses import dataclass, field
from datetime import date

from firstpour.materials.catalogue import Catalogue
from firstpour.mixing.bench_kit import BenchKit
from firstpour.stock.stock import Pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """The shelf and the room in which it is used."""

    catalogue: Catalogue
    stock: tuple[Pack, ...]
    today: date
    temperature_c: float = 23.0
    kit: BenchKit = field(default_factory=BenchKit)
    other_rooms_c: tuple[float, ...] = (18.0, 23.0, 28.0)
    """Temperatures at which each pour is looked at as well."""
