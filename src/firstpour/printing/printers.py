"""What a printer can do, and what it does to a print: typical figures until the workshop has measured its own."""

from dataclasses import dataclass, fields
from enum import StrEnum

from firstpour.errors import BadRequest

LEAST_LAYER_MM, MOST_LAYER_MM = 0.005, 2.0
"""No usual printer lays thinner or thicker layers (a limit of our own)."""


class Process(StrEnum):
    """The two ways to print a master."""

    FILAMENT = "filament"
    VAT = "vat"


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """One machine with its own figures. Those that shape errors are to be measured on a test ring and entered.

    `sag_ratio`: how far an unsupported face sits low per mm of its span. `growth_mm`: how far an edge grows sideways;
    `growth_down_mm`: how far a face that looks down grows downwards (light that cures through, threads that droop).
    `height_error_ratio`, `plane_error_ratio`: error of size up the print, and of one level axis against the other.
    """

    name: str
    process: Process
    size_mm: tuple[float, float, float]
    layer_heights_mm: tuple[float, ...]
    pixel_mm: float
    """The step in which an edge can be placed: a pixel of a vat screen, the drive's step of a filament machine."""
    support_within_deg: float
    """A face that looks down and is nearer to level than this needs support."""
    mark_mm: float
    """Roughness that a support leaves where it touched."""
    density_g_ml: float
    start_min: float
    """Warming up, levelling, taking off: once a print."""
    minutes_factor: float = 1.0
    """How much longer its prints were seen to take than these figures say."""
    side_step_ratio: float = 0.1
    """Height of the ridges that layers leave on an upright wall, as a share of the layer height (decision 0026)."""
    pixel_step_ratio: float = 0.3
    """Share of the stair of a vat screen's pixels that is left where light spreads between them (decision 0026)."""
    lift_mm: float = 5.0
    """How far off the plate a vat print hangs on its supports."""
    line_width_mm: float = 0.45
    walls: int = 3
    infill_ratio: float = 0.2
    support_ratio: float = 0.15
    """Share of the supported room that is filled with support."""
    flow_mm3_s: float = 8.0
    travel_ratio: float = 0.15
    """Share of the printing time spent moving without printing."""
    layer_change_s: float = 1.5
    layer_cycle_s: float = 9.0
    first_layers: int = 5
    first_layer_cycle_s: float = 40.0
    film_gap_mm: float = 0.1
    pull_mm_s: float = 1.0
    viscosity_pa_s: float = 0.3
    shut_drop_pa: float = 20_000.0
    pull_limit_n: float = 150.0
    """Pull beyond which prints on this machine have come off."""
    sag_ratio: float = 0.0
    growth_mm: float = 0.0
    growth_spread_mm: float = 0.0
    """Spread (one standard deviation) of that growth from print to print, or of what is not known of it."""
    growth_down_mm: float = 0.0
    height_error_ratio: float = 0.0
    plane_error_ratio: float = 0.0
    size_spread_ratio: float = 0.001
    """Spread (one standard deviation) of the printed size about what was asked."""
    overnight: bool = True
    """Whether it may print on while nobody is there."""

    @property
    def handling_min(self) -> float:
        """Hands that start a print and take it off, a minute each at least."""
        return max(2.0, self.start_min)

    def run_min(self, print_min: float) -> float:
        """What a print of so many minutes runs by itself."""
        return max(1.0, print_min - self.start_min)

    origin: str = "typical"

    def __post_init__(self) -> None:
        if not self.layer_heights_mm or any(not LEAST_LAYER_MM <= h <= MOST_LAYER_MM for h in self.layer_heights_mm):
            raise BadRequest(
                f"printer {self.name}: layer heights {self.layer_heights_mm} mm",
                remedy=f"give at least one, each {LEAST_LAYER_MM:g} to {MOST_LAYER_MM:g} mm",
            )
        if len(self.size_mm) != 3 or any(not 0.0 < s < 10_000.0 for s in self.size_mm):
            raise BadRequest(
                f"printer {self.name}: build size {self.size_mm} mm", remedy="give three sizes above 0 mm"
            )
        for name in _ABOVE_ZERO:
            if not 0.0 < getattr(self, name) < float("inf"):
                raise BadRequest(f"printer {self.name}: {name} of {getattr(self, name)}", remedy="give it above 0")
        for name in ("lift_mm", "growth_spread_mm"):
            if not 0.0 <= getattr(self, name) < 100.0:
                raise BadRequest(f"printer {self.name}: {name} of {getattr(self, name)}", remedy="give 0 to 100 mm")
        for name in _RATIOS:
            if not 0.0 <= getattr(self, name) < 1.0:
                raise BadRequest(
                    f"printer {self.name}: {name} of {getattr(self, name)}", remedy="give 0 or more and below 1"
                )
        if not 0.0 <= self.support_within_deg < 90.0:
            raise BadRequest(
                f"printer {self.name}: support below {self.support_within_deg}° from level", remedy="give 0 to 89°"
            )


_ABOVE_ZERO = (
    "pixel_mm",
    "density_g_ml",
    "line_width_mm",
    "flow_mm3_s",
    "layer_cycle_s",
    "first_layer_cycle_s",
    "film_gap_mm",
    "pull_mm_s",
    "viscosity_pa_s",
    "pull_limit_n",
)
_RATIOS = tuple(field.name for field in fields(Printer) if field.name.endswith("_ratio"))

FILAMENT_PRINTER = Printer(
    name="filament printer",
    process=Process.FILAMENT,
    size_mm=(200.0, 200.0, 200.0),
    layer_heights_mm=(0.08, 0.1, 0.15, 0.2, 0.3),
    pixel_mm=0.0125,
    support_within_deg=45.0,
    mark_mm=0.25,
    side_step_ratio=0.28,
    density_g_ml=1.24,
    start_min=10.0,
    sag_ratio=0.004,
    growth_mm=0.08,
    growth_spread_mm=0.04,
    growth_down_mm=0.05,
    height_error_ratio=0.001,
    plane_error_ratio=0.0005,
    size_spread_ratio=0.002,
)
"""Typical of the class, common practice, no source; to be replaced by what this workshop's machine measures."""

VAT_PRINTER = Printer(
    name="vat printer",
    process=Process.VAT,
    size_mm=(140.0, 90.0, 160.0),
    layer_heights_mm=(0.025, 0.05, 0.1),
    pixel_mm=0.05,
    support_within_deg=30.0,
    mark_mm=0.15,
    density_g_ml=1.15,
    start_min=15.0,
    support_ratio=0.05,
    sag_ratio=0.001,
    growth_mm=0.03,
    growth_spread_mm=0.02,
    growth_down_mm=0.08,
    height_error_ratio=0.0015,
    plane_error_ratio=0.0005,
    size_spread_ratio=0.001,
)
"""Typical of the class, common practice, no source; to be replaced by what this workshop's machine measures."""

TYPICAL_PRINTERS = (FILAMENT_PRINTER, VAT_PRINTER)
