"""An insert: a rod or a tube of given size, set into the mould before the shot."""

from dataclasses import dataclass
from enum import StrEnum

from firstpour.errors import BadJob

MOST_MM = 1_000.0


class InsertShape(StrEnum):
    """What is set in."""

    ROD = "rod"
    """Greased and pulled out of the copy, held in pilot holes of both halves: it leaves a hole of its own size."""
    TUBE = "tube"
    """Stays in the copy; a bush is a short one. It slides over pins of silicone in its bore."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert:
    """A straight round insert, its middle at `at_mm` and its axis along `along`, in the part's coordinates.

    `bore_mm` is the bore of a tube; `tolerance_mm` how far the diameter that counts may be off: of the rod, or of the
    bore.
    """

    shape: InsertShape
    at_mm: tuple[float, float, float]
    along: tuple[float, float, float]
    diameter_mm: float
    length_mm: float
    bore_mm: float = 0.0
    tolerance_mm: float = 0.05

    def __post_init__(self) -> None:
        if not (0.0 < self.diameter_mm < MOST_MM and 0.0 < self.length_mm < MOST_MM and self.tolerance_mm > 0.0):
            raise BadJob(f"{self.words} is no size", remedy="give diameter_mm, length_mm and tolerance_mm above 0")
        if not any(self.along):
            raise BadJob(f"{self.words} lies along no direction", remedy="give along = [x, y, z]")
        if self.shape is InsertShape.TUBE and not 0.0 < self.bore_mm < self.diameter_mm:
            raise BadJob(
                f"a tube of {self.diameter_mm:g} mm with a bore of {self.bore_mm:g} mm",
                remedy="give bore_mm above 0 and below diameter_mm, or take a rod",
            )
        if self.shape is InsertShape.ROD and self.bore_mm:
            raise BadJob(f"{self.words} with a bore", remedy='leave bore_mm out, or take shape = "tube"')

    @property
    def hole_mm(self) -> float:
        """Diameter of the hole that the copy has of it: of the rod that is pulled, or the tube's bore."""
        return self.diameter_mm if self.shape is InsertShape.ROD else self.bore_mm

    @property
    def words(self) -> str:
        """It in words.

        >>> Insert(shape=InsertShape.ROD, at_mm=(0, 0, 0), along=(0, 0, 1), diameter_mm=4, length_mm=10).words
        'a rod of 4 × 10 mm'
        """
        return f"a {self.shape.value} of {self.diameter_mm:g} × {self.length_mm:g} mm"
