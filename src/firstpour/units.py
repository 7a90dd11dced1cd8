"""Conversion at the edge: inside, lengths are mm, volumes mm³ or ml, masses g, times min."""

import math
import re
from enum import StrEnum

from firstpour.errors import BadRequest


class LengthUnit(StrEnum):
    """The unit in which a part file gives its coordinates."""

    MM = "mm"
    CM = "cm"
    IN = "in"


MM_PER_UNIT = {LengthUnit.MM: 1.0, LengthUnit.CM: 10.0, LengthUnit.IN: 25.4}
"""Millimetres in one unit; the inch is exactly 25.4 mm (international yard and pound agreement, 1959)."""

MM3_PER_ML = 1000.0
GRAVITY_M_S2 = 9.81


def ml_from_mm3(volume_mm3: float) -> float:
    """Millilitres in a volume given in mm³.

    >>> ml_from_mm3(2500.0)
    2.5
    """
    return volume_mm3 / MM3_PER_ML


FACTORS: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4},
    "g": {"g": 1.0, "mg": 0.001, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237, "lbs": 453.59237},
    "ml": {"ml": 1.0, "cm3": 1.0, "cm³": 1.0, "l": 1000.0, "mm3": 0.001, "mm³": 0.001}
    | {
        "US fl oz": 29.5735295625,
        "US pt": 473.176473,
        "US qt": 946.352946,
        "US gal": 3785.411784,
        "imp gal": 4546.09,
    },
    "min": {"min": 1.0, "s": 1 / 60, "h": 60.0, "d": 1440.0},
    "d": {"d": 1.0, "h": 1 / 24, "week": 7.0, "weeks": 7.0, "month": 30.0, "months": 30.0, "year": 365.0},
    "g/ml": {"g/ml": 1.0, "g/cm3": 1.0, "g/cm³": 1.0, "kg/l": 1.0, "kg/m3": 0.001, "kg/m³": 0.001},
    "Pa s": {"Pa s": 1.0, "Pa·s": 1.0, "mPa s": 0.001, "mPa·s": 0.001, "cP": 0.001, "cps": 0.001},
    "MPa": {"MPa": 1.0, "N/mm2": 1.0, "N/mm²": 1.0, "kPa": 0.001, "psi": 0.006894757},
    "N/mm": {"N/mm": 1.0, "kN/m": 1.0, "lbf/in": 0.175126835, "pli": 0.175126835},
    "Pa": {"Pa": 1.0, "kPa": 1000.0, "MPa": 1e6, "mbar": 100.0, "bar": 1e5, "psi": 6894.7573},
    "kJ/mol": {"kJ/mol": 1.0},
    "K": {"K": 1.0, "°C": 1.0, "°F": 5 / 9},
    "ratio": {"ratio": 1.0, "%": 0.01, "g/g": 1.0, "mm/mm": 1.0, "in/in": 1.0},
    "Shore A": {"Shore A": 1.0, "A": 1.0},
    "Shore D": {"Shore D": 1.0, "D": 1.0},
    "Shore 00": {"Shore 00": 1.0, "00": 1.0},
}
"""For each of our units: the units in which it may be given, and their size in it (pound and ounce: exact, 1959).

Gallons: 231 cubic inches in the United States, 4.54609 l in the United Kingdom, both exact; a bare gallon is neither.
lbf/in: 4.4482216 N over 25.4 mm. The standard gravity of the pound-force is exact, too (ISO 80000-4).
"""

ZERO_C_IN_K, ZERO_C_IN_F = 273.15, 32.0


def converted(value: float, *, unit: str, to: str) -> float:
    """`value` given in `unit`, in our unit `to`; temperatures in °C, °F or K.

    Raises
    ------
    BadRequest
        If `unit` is no unit of that quantity, or the value is not a finite number.

    >>> converted(1.5, unit="kg", to="g"), converted(73.4, unit="°F", to="°C")
    (1500.0, 23.0)
    """
    if not math.isfinite(value):
        raise BadRequest(f"{value} {unit} is no finite number.", remedy="Give a plain number.")
    if to == "°C":
        return _celsius(value, unit)
    factors = FACTORS[to]
    if unit not in factors:
        raise BadRequest(f"“{unit}” is no unit for a value in {to}.", remedy=f"Use one of: {', '.join(factors)}.")
    return value * factors[unit]


def _celsius(value: float, unit: str) -> float:
    if unit in ("°C", "C"):
        return value
    if unit in ("°F", "F"):
        return round((value - ZERO_C_IN_F) / 1.8, 9)
    if unit == "K":
        return value - ZERO_C_IN_K
    raise BadRequest(f"“{unit}” is no unit for a temperature.", remedy="Use one of: °C, °F, K.")


def quantity(text: str, *, to: str) -> float:
    """The number that `text` means in our unit `to`; a bare number is already in that unit.

    Raises
    ------
    BadRequest
        If the text holds no number or an unknown unit.

    >>> quantity("1.5 h", to="min"), quantity("250", to="g"), quantity("9000 mPa s", to="Pa s")
    (90.0, 250.0, 9.0)
    """
    found = re.fullmatch(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*", text)
    if found is None:
        raise BadRequest(f"“{text}” is no quantity.", remedy=f"Write a number and a unit, e.g. “12 {to}”.")
    number, unit = found.groups()
    return converted(float(number), unit=unit or to, to=to)


def chance_words(chance: float) -> str:
    """A chance in per cent; an estimate never says that something is certain.

    >>> chance_words(0.9999), chance_words(0.42), chance_words(0.0)
    ('over 99 %', '42 %', 'under 1 %')
    """
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def count_words(count: int, one: str, several: str) -> str:
    """A number of things.

    >>> count_words(1, "copy", "copies"), count_words(3, "copy", "copies")
    ('1 copy', '3 copies')
    """
    return f"{count} {one if count == 1 else several}"
