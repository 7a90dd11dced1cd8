"""Conversion at the edge: inside, lengths are mm, volumes mm³ or ml, masses g, times min."""

from enum import StrEnum


class LengthUnit(StrEnum):
    """The unit in which a part file gives its coordinates."""

    MM = "mm"
    CM = "cm"
    IN = "in"


MM_PER_UNIT = {LengthUnit.MM: 1.0, LengthUnit.CM: 10.0, LengthUnit.IN: 25.4}
"""Millimetres in one unit; the inch is exactly 25.4 mm (international yard and pound agreement, 1959)."""

MM3_PER_ML = 1000.0


def ml_from_mm3(volume_mm3: float) -> float:
    """Millilitres in a volume given in mm³.

    >>> ml_from_mm3(2500.0)
    2.5
    """
    return volume_mm3 / MM3_PER_ML
