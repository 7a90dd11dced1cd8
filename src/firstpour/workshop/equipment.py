"""What stands in the workshop and what it is like there: printers, scale, cups, vacuum, pressure, room and hours."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from firstpour.errors import BadJob, BadRequest
from firstpour.mixing.bench_kit import BenchKit, Pace
from firstpour.printing.printers import TYPICAL_PRINTERS, Printer, Process
from firstpour.workshop.hours import Hours


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Scale and cups, and how fast the maker works."""

    scale_step_g: float = 0.1
    containers_ml: tuple[float, ...] = (100.0, 250.0, 500.0, 1000.0, 2500.0, 5000.0)
    pace: Pace = Pace.STEADY


@dataclass(frozen=True, slots=True, kw_only=True)
class VacuumChamber:
    """The chamber that takes air out of a mix. `left_pa`: pressure that it leaves, absolute."""

    available: bool = True
    size_ml: float = 10_000.0
    left_pa: float = 3_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PressurePot:
    """The pot that shrinks bubbles while a casting cures; pressures above the room's, never above `rated_pa`."""

    available: bool = False
    size_ml: float = 9_000.0
    rated_pa: float = 400_000.0
    used_pa: float = 280_000.0

    def __post_init__(self) -> None:
        if self.used_pa > self.rated_pa:
            raise BadRequest(
                f"the pressure pot is used at {self.used_pa / 1e5:g} bar, "
                f"above the {self.rated_pa / 1e5:g} bar that it is rated for",
                remedy="lower pressure_pot.used_pa: a pot above its rating bursts",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How warm it is. `by_hour_c`: 24 temperatures from midnight on, where known."""

    temperature_c: float = 23.0
    by_hour_c: tuple[float, ...] = ()

    def at_c(self, hour: int) -> float:
        """The temperature in that hour of the day.

        >>> Room(by_hour_c=tuple(range(24))).at_c(25), Room(temperature_c=19.0).at_c(3)
        (1, 19.0)
        """
        return self.by_hour_c[hour % 24] if self.by_hour_c else self.temperature_c


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """All of it, as it stands for a job: typical of a home workshop where the maker has not said otherwise.

    The typical figures are common practice, no source. `given` names what the maker said, as `room.temperature_c`.
    """

    printers: tuple[Printer, ...] = TYPICAL_PRINTERS
    bench: Bench = field(default_factory=Bench)
    vacuum: VacuumChamber = field(default_factory=VacuumChamber)
    pressure_pot: PressurePot = field(default_factory=PressurePot)
    room: Room = field(default_factory=Room)
    hours: Hours = field(default_factory=Hours)
    given: frozenset[str] = frozenset()
    pace_ratio: float = 1.0
    """How much longer the maker was seen to take at a pour than the pace of the bench says."""

    @property
    def kit(self) -> BenchKit:
        """What mixing asks for. What is degassed has to find room in the chamber."""
        return BenchKit(
            scale_step_g=self.bench.scale_step_g,
            largest_container_ml=max(self.bench.containers_ml),
            chamber_ml=self.vacuum.size_ml,
            vacuum=self.vacuum.available,
            pressure=self.pressure_pot.available,
            pace=self.bench.pace,
            pace_ratio=self.pace_ratio,
        )

    @property
    def other_rooms_c(self) -> tuple[float, ...]:
        """Where a pour is looked at as well: in the coldest and the warmest hour, else in a cold and a warm room."""
        hours_c = self.room.by_hour_c
        return (min(hours_c), max(hours_c)) if hours_c else (18.0, 23.0, 28.0)


def printers_for(printers: Sequence[Printer], process: Process | None) -> tuple[Printer, ...]:
    """Those of that process, or all.

    Raises
    ------
    BadJob
        If there is none.
    """
    found = tuple(one for one in printers if process in (None, one.process))
    if not found:
        raise BadJob(
            f"there is no {process or ''} printer in the workshop",
            remedy="enter a printer in the workshop, or take another process for the part",
        )
    return found


def pieces_printer(printers: Sequence[Printer], process: Process | None = None) -> Printer:
    """The printer for mould pieces: the filament printer with most room, the vat printer with most where none is.

    Raises
    ------
    BadJob
        If there is none of that process.

    >>> pieces_printer(TYPICAL_PRINTERS).name
    'filament printer'
    """
    found = printers_for(printers, process)
    filament = [one for one in found if one.process is Process.FILAMENT]
    return max(filament or found, key=_room_mm3)


def _room_mm3(printer: Printer) -> float:
    width_mm, depth_mm, height_mm = printer.size_mm
    return width_mm * depth_mm * height_mm
