"""The figures a material record may hold: unit, what it is, and the range outside which it cannot be meant."""

from dataclasses import dataclass
from enum import StrEnum


class Origin(StrEnum):
    """Where a figure comes from. `typical` is the class's usual value, to be replaced by the data sheet's."""

    TYPICAL = "typical"
    DATA_SHEET = "data sheet"
    MEASURED = "measured here"


class FigureName(StrEnum):
    """The figures, as their keys are written in a material file."""

    DENSITY = "density"
    DENSITY_A = "density_a"
    DENSITY_B = "density_b"
    VISCOSITY = "viscosity"
    POT_LIFE = "pot_life"
    DEMOULD = "demould"
    FULL_CURE = "full_cure"
    ACTIVATION_ENERGY = "activation_energy"
    POT_LIFE_SECOND = "pot_life_second"
    ADIABATIC_RISE = "adiabatic_rise"
    COLDEST = "coldest"
    WARMEST = "warmest"
    SHORE_A = "shore_a"
    SHORE_D = "shore_d"
    SHORE_00 = "shore_00"
    SHRINKAGE = "shrinkage"
    ELONGATION = "elongation"
    TENSILE = "tensile"
    TEAR = "tear"
    MIXING = "mixing"
    DEGAS = "degas"
    DEGAS_ROOM = "degas_room"
    RATIO_TOLERANCE = "ratio_tolerance"
    LARGEST_MASS = "largest_mass"
    KEEPS_UNOPENED = "keeps_unopened"
    KEEPS_OPENED = "keeps_opened"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure in our unit, with the temperature and mass it was found at and where it comes from.

    `low` and `high` hold what materials of its class show (or what a data sheet allows); None where it stands alone.
    """

    value: float
    origin: Origin
    temperature_c: float | None = None
    mass_g: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def lowest(self) -> float:
        """The lower end of its range; the value itself where it has none.

        >>> Figure(value=25.0, origin=Origin.TYPICAL, low=20.0, high=35.0).lowest
        20.0
        """
        return self.value if self.low is None else self.low

    @property
    def highest(self) -> float:
        """The upper end of its range; the value itself where it has none."""
        return self.value if self.high is None else self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureSpec:
    """Our unit, the words for it, and the range that makes sense."""

    unit: str
    what: str
    low: float
    high: float


def _spec(unit: str, what: str, low: float, high: float) -> FigureSpec:
    return FigureSpec(unit=unit, what=what, low=low, high=high)


_N = FigureName
FIGURES: dict[FigureName, FigureSpec] = {
    _N.DENSITY: _spec("g/ml", "density of the material as it is, mixed or single", 0.05, 8.0),
    _N.DENSITY_A: _spec("g/ml", "density of part A", 0.5, 3.0),
    _N.DENSITY_B: _spec("g/ml", "density of part B", 0.5, 3.0),
    _N.VISCOSITY: _spec("Pa s", "viscosity just mixed", 0.01, 500.0),
    _N.POT_LIFE: _spec("min", "pot life", 0.5, 600.0),
    _N.DEMOULD: _spec("min", "demould time", 3.0, 14400.0),
    _N.FULL_CURE: _spec("min", "time to full cure", 10.0, 43200.0),
    _N.ACTIVATION_ENERGY: _spec("kJ/mol", "activation energy of the cure", 10.0, 150.0),
    _N.POT_LIFE_SECOND: _spec("min", "pot life at a second mass", 0.5, 600.0),
    _N.ADIABATIC_RISE: _spec("K", "rise in temperature of a mix that keeps all its heat", 1.0, 300.0),
    _N.COLDEST: _spec("°C", "coldest room it may be worked in", -5.0, 40.0),
    _N.WARMEST: _spec("°C", "warmest room it may be worked in", 5.0, 60.0),
    _N.SHORE_A: _spec("Shore A", "hardness Shore A", 0.0, 100.0),
    _N.SHORE_D: _spec("Shore D", "hardness Shore D", 0.0, 100.0),
    _N.SHORE_00: _spec("Shore 00", "hardness Shore 00, the scale of gels", 0.0, 100.0),
    _N.SHRINKAGE: _spec("ratio", "linear shrinkage", -0.01, 0.1),
    _N.ELONGATION: _spec("ratio", "elongation at break", 0.001, 15.0),
    _N.TENSILE: _spec("MPa", "tensile strength", 0.1, 150.0),
    _N.TEAR: _spec("N/mm", "tear strength", 0.5, 150.0),
    _N.MIXING: _spec("min", "mixing time", 0.2, 20.0),
    _N.DEGAS: _spec("min", "time under vacuum", 0.5, 30.0),
    _N.DEGAS_ROOM: _spec("ratio", "room to rise under vacuum, container ÷ mix", 1.0, 8.0),
    _N.RATIO_TOLERANCE: _spec("ratio", "tolerance of the mix ratio", 0.001, 0.2),
    _N.LARGEST_MASS: _spec("g", "largest mass mixed at once", 10.0, 50000.0),
    _N.KEEPS_UNOPENED: _spec("d", "shelf life unopened", 1.0, 3650.0),
    _N.KEEPS_OPENED: _spec("d", "shelf life once opened", 1.0, 3650.0),
}
"""One line a figure, in the order in which `firstpour shelf add` asks for them."""

AT_TEMPERATURE = (_N.POT_LIFE, _N.POT_LIFE_SECOND, _N.DEMOULD, _N.FULL_CURE, _N.VISCOSITY)
"""Figures that mean nothing without the temperature they were found at."""
