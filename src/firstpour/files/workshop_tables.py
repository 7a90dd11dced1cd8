"""The tables of workshop.toml, which a job's `[workshop]` may hold as well, and what each key may hold."""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, Field, Strict

from firstpour.errors import BadRequest
from firstpour.files.checked import Flag, Length, Line, Name, Table, table_of
from firstpour.mixing.bench_kit import Pace
from firstpour.printing.printers import LEAST_LAYER_MM, MOST_LAYER_MM, Printer
from firstpour.workshop.hours import Weekday, Window, windows_from

Celsius = Annotated[float, Strict(), Field(ge=-20, le=60, allow_inf_nan=False)]
Volume = Annotated[float, Strict(), Field(ge=1, le=1e6, allow_inf_nan=False)]
Layer = Annotated[float, Strict(), Field(ge=LEAST_LAYER_MM, le=MOST_LAYER_MM, allow_inf_nan=False)]


def _between(low: float, high: float) -> Any:
    return Annotated[float, Strict(), Field(ge=low, le=high, allow_inf_nan=False)]


def _windows(given: tuple[str, ...]) -> tuple[str, ...]:
    """As they were written, once they can be read."""
    try:
        windows_from(", ".join(given))
    except BadRequest as error:
        raise ValueError(f'stretches such as ["09:00-12:00", "13:00-17:00"]: {error.problem}') from error
    return given


def _time_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError("a time zone by its region and place, such as Atlantic/Azores, or UTC") from error
    return name


Windows = Annotated[tuple[Line, ...], AfterValidator(_windows)]
PRINTER_LIMITS = {
    "name": Name,
    "origin": Annotated[Line, Field(min_length=1, max_length=40)],
    "size_mm": tuple[Length, Length, Length],
    "layer_heights_mm": Annotated[tuple[Layer, ...], Field(min_length=1, max_length=20)],
    "overnight": Flag,
    "walls": Annotated[int, Strict(), Field(ge=1, le=50)],
    "first_layers": Annotated[int, Strict(), Field(ge=0, le=100)],
    "_mm": _between(0, 10),
    "_deg": _between(0, 89),
    "_ratio": _between(0, 0.99),
    "_g_ml": _between(0.3, 10),
    "_min": _between(0, 600),
    "_s": _between(0, 600),
    "lift_mm": _between(0, 99),
    "flow_mm3_s": _between(0.01, 1000),
    "pull_mm_s": _between(0.01, 100),
    "_pa": _between(0, 1e6),
    "_pa_s": _between(0.001, 100),
    "_n": _between(0.1, 1e5),
}
"""Sensible ranges of a printer's figures by the end of the key: wide, to catch a slip of the pen or a wrong unit."""

if TYPE_CHECKING:
    _Figures = Table
else:
    _Figures = table_of(Printer, name="PrinterFigures", limits=PRINTER_LIMITS, left_out=("name", "minutes_factor"))


class PrinterTable(_Figures):
    """One `[[printer]]`; what is not given is that of the printer it starts from."""

    name: Name


class BenchTable(Table):
    """The `[bench]`: scale, cups and pace."""

    scale_step_g: Annotated[float, Strict(), Field(ge=0.001, le=100, allow_inf_nan=False)] | None = None
    containers_ml: Annotated[tuple[Volume, ...], Field(min_length=1, max_length=50)] | None = None
    pace: Pace | None = None


class VacuumTable(Table):
    """The `[vacuum]` chamber."""

    available: Flag | None = None
    size_ml: Volume | None = None
    left_pa: Annotated[float, Strict(), Field(ge=1, le=101_325, allow_inf_nan=False)] | None = None


class PressurePotTable(Table):
    """The `[pressure_pot]`."""

    available: Flag | None = None
    size_ml: Volume | None = None
    rated_pa: Annotated[float, Strict(), Field(ge=1e4, le=2e6, allow_inf_nan=False)] | None = None
    used_pa: Annotated[float, Strict(), Field(ge=1e4, le=2e6, allow_inf_nan=False)] | None = None


class RoomTable(Table):
    """The `[room]` in which it is poured."""

    temperature_c: Celsius | None = None
    by_hour_c: Annotated[tuple[Celsius, ...], Field(min_length=24, max_length=24)] | None = None


class HoursTable(Table):
    """The `[hours]` in which somebody is there."""

    monday: Windows | None = None
    tuesday: Windows | None = None
    wednesday: Windows | None = None
    thursday: Windows | None = None
    friday: Windows | None = None
    saturday: Windows | None = None
    sunday: Windows | None = None
    days_off: tuple[date, ...] | None = None
    time_zone: Annotated[Line, AfterValidator(_time_zone)] | None = None

    def given_week(self) -> dict[Weekday, tuple[Window, ...]]:
        """The windows of the weekdays that are given."""
        written = {day: getattr(self, day.value) for day in Weekday}
        return {day: windows_from(", ".join(words)) for day, words in written.items() if words is not None}


class WorkshopTable(Table):
    """The whole of workshop.toml, or the `[workshop]` of a job."""

    bench: BenchTable = BenchTable()
    vacuum: VacuumTable = VacuumTable()
    pressure_pot: PressurePotTable = PressurePotTable()
    room: RoomTable = RoomTable()
    hours: HoursTable = HoursTable()
    printer: Annotated[tuple[PrinterTable, ...], Field(max_length=50)] | None = None
