"""The tables of a material file and what each key may hold."""

from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, Strict, create_model

from firstpour.files.checked import ID, Line, Number, Table
from firstpour.materials.figures import AT_TEMPERATURE, FIGURES, FigureName, Origin
from firstpour.materials.material import CountsOn, Kind
from firstpour.units import FACTORS

Above = Annotated[float, Strict(), Field(gt=0, allow_inf_nan=False)]
Grams = Annotated[float, Strict(), Field(gt=0, lt=1e7, allow_inf_nan=False)]
Temperature = Annotated[float, Strict(), Field(ge=-20, le=100, allow_inf_nan=False)]
Factor = Annotated[float, Strict(), Field(gt=0, le=1, allow_inf_nan=False)]
Text = Annotated[Line, Field(min_length=1)]
TEMPERATURE_UNITS = ("°C", "C", "°F", "F", "K")
LARGEST_DOSE_RATIO = 3.0


class FigureTable(Table):
    """One figure: its value, its unit, what it was found at, and where it comes from."""

    value: Number
    low: Number | None = Field(default=None, description="lower end of the range, in the same unit")
    high: Number | None = Field(default=None, description="upper end of the range, in the same unit")
    unit: str
    temperature_c: Temperature | None = None
    mass_g: Annotated[float, Strict(), Field(gt=0, le=1e5, allow_inf_nan=False)] | None = None
    origin: Origin


class RatioTable(Table):
    """A mix ratio, by weight or by volume."""

    a: Above
    b: Above
    by: Literal["weight", "volume"]


class DoseTable(Table):
    """One line of an additive's table: what it does at that dose."""

    dose: Annotated[float, Strict(), Field(ge=0, le=LARGEST_DOSE_RATIO, allow_inf_nan=False)] = Field(
        description="g to 1 g of the part that it counts on"
    )
    pot_life_ratio: Factor = 1.0
    cure_ratio: Factor = 1.0
    shore_points: Annotated[float, Strict(), Field(ge=-60, le=60, allow_inf_nan=False)] = 0.0
    tear_ratio: Factor = 1.0
    shrinkage_added: Annotated[float, Strict(), Field(ge=0, le=0.05, allow_inf_nan=False)] = 0.0


class PackTable(Table):
    """A pack that can be bought."""

    part_a_g: Grams
    part_b_g: Annotated[float, Strict(), Field(ge=0, lt=1e7, allow_inf_nan=False)] = 0.0
    price: Annotated[float, Strict(), Field(ge=0, lt=1e9, allow_inf_nan=False)] | None = Field(
        default=None, description="in your own currency"
    )


@cache
def _figure_in(unit: str, *, at_temperature: bool) -> type[FigureTable]:
    """The table of a figure that may be given in the units of `unit`."""
    units = TEMPERATURE_UNITS if unit == "°C" else tuple(FACTORS[unit])
    fields: dict[str, Any] = {"unit": (Literal[units], ...)}
    if at_temperature:
        fields["temperature_c"] = (Temperature, ...)
    return create_model(f"Figure in {unit}" + " at a temperature" * at_temperature, __base__=FigureTable, **fields)


def _figure_field(name: FigureName) -> tuple[Any, Any]:
    spec = FIGURES[name]
    said = f"{spec.what}; makes sense from {spec.low:g} to {spec.high:g} {spec.unit}"
    return _figure_in(spec.unit, at_temperature=name in AT_TEMPERATURE) | None, Field(default=None, description=said)


if TYPE_CHECKING:
    FiguresTable = Table
else:
    FiguresTable = create_model(
        "FiguresTable", __base__=Table, **{name.value: _figure_field(name) for name in FigureName}
    )


class MaterialFile(Table):
    """The whole of a material file."""

    id: Annotated[str, Field(pattern=ID)]
    name: Text
    kind: Kind
    note: Line = ""
    traits: tuple[Text, ...] = Field(default=(), description="words that compatibility rules and cautions look for")
    works_in: tuple[Text, ...] = Field(
        default=(), description="for an additive: ids or kinds of the materials that it is made for"
    )
    counts_on: CountsOn | None = None
    stir_into: CountsOn | None = Field(
        default=None, description="for an additive: the part it is stirred into before A and B meet"
    )
    accelerator: Text | None = None
    colourant: Text | None = None
    softener: Text | None = None
    ratio: Annotated[tuple[RatioTable, ...], Field(min_length=1, max_length=2)] | None = None
    figures: FiguresTable = FiguresTable()
    dose: tuple[DoseTable, ...] = ()
    pack: tuple[PackTable, ...] = ()
