"""An insert: a rod, tube, bush, nut, magnet or mesh of given size, set into the mould before the shot."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from firstpour.errors import BadJob
from firstpour.units import LengthUnit

MOST_MM = 1_000.0
Place = tuple[float, float, float]


class InsertShape(StrEnum):
    """What is set in."""

    ROD = "rod"
    """Greased and pulled out of the copy, held in pilot holes: it leaves a hole of its own size."""
    TUBE = "tube"
    """Stays in the copy, on a pin of silicone in its bore."""
    BUSH = "bush"
    """A tube that may have a flange."""
    NUT = "nut"
    """A hexagon nut; a pin of silicone fills its thread."""
    MAGNET = "magnet"
    """A disc, or a ring where it has a bore."""
    MESH = "mesh"
    """Any closed shape, from a part file."""


class Hold(StrEnum):
    """What of the silicone holds an insert until the shot has set."""

    HOLE = "pilot hole"
    PIN = "pin in its bore"
    RECESS = "recess"
    """It stands out of the part; what stands out sits in the silicone."""
    PEGS = "pegs"
    """It lies within the part, on three small pegs with a shoulder each, which leave holes in the copy."""


BORED = (InsertShape.TUBE, InsertShape.BUSH, InsertShape.NUT)
"""What has a bore by its nature."""
OWN_SIZES = {
    InsertShape.NUT: ("across_flats_mm", "length_mm"),
    InsertShape.MESH: (),
}
"""The sizes that a shape must be given; any other is round: diameter and length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert:
    """An insert in the part's coordinates, mm: its middle at `at_mm`, its axis along `along`.

    A mesh lies as in its file, its origin at `at_mm` and its z along `along`. A bush's flange is at the end that
    `along` points to. `bore_mm` is the bore of a tube, bush or ring, or the thread of a nut; `tolerance_mm` how far
    the diameter that counts may be off: of the rod, or of the bore. `copy_of`: a mesh that is the copy of another
    part of the job, around which this one is cast.
    """

    shape: InsertShape
    at_mm: Place = (0.0, 0.0, 0.0)
    along: Place = (0.0, 0.0, 1.0)
    diameter_mm: float = 0.0
    length_mm: float = 0.0
    bore_mm: float = 0.0
    across_flats_mm: float = 0.0
    flange_mm: float = 0.0
    flange_length_mm: float = 0.0
    tolerance_mm: float = 0.05
    file: Path | None = None
    unit: LengthUnit = LengthUnit.MM
    copy_of: str = ""

    def __post_init__(self) -> None:
        if not any(self.along):
            raise BadJob(f"{self.words} lies along no direction", remedy="give along = [x, y, z]")
        needed = OWN_SIZES.get(self.shape, ("diameter_mm", "length_mm"))
        if self.tolerance_mm <= 0.0 or not all(0.0 < getattr(self, key) < MOST_MM for key in needed):
            raise BadJob(f"{self.words} is no size", remedy=f"give {', '.join((*needed, 'tolerance_mm'))} above 0")
        known = {*needed, *_may_have(self.shape)}
        foreign = [key for key in _SIZES if getattr(self, key) and key not in known]
        if foreign:
            raise BadJob(
                f"{self.words} with {_with_words(foreign)}",
                remedy=f"leave {' and '.join(foreign)} out for this shape",
            )
        if (self.file is None) == (self.shape is InsertShape.MESH):
            raise BadJob(
                f"{self.words}, {'without' if self.file is None else 'with'} a file",
                remedy='a shape = "mesh" needs file = "part.stl", no other shape has one',
            )
        if self.shape is not InsertShape.MESH:
            self._check_bore()

    def _check_bore(self) -> None:
        across_mm = self.across_flats_mm or self.diameter_mm
        if (self.shape in BORED and self.bore_mm <= 0.0) or self.bore_mm >= across_mm:
            raise BadJob(
                f"a {self.shape.value} of {across_mm:g} mm with a bore of {self.bore_mm:g} mm",
                remedy=f"give bore_mm above 0 and below {across_mm:g}, or take a rod",
            )
        if bool(self.flange_mm) != bool(self.flange_length_mm) or (
            self.flange_mm and not (self.flange_mm > self.diameter_mm and self.flange_length_mm < self.length_mm)
        ):
            raise BadJob(
                f"{self.words} with a flange of {self.flange_mm:g} × {self.flange_length_mm:g} mm",
                remedy="give flange_mm above diameter_mm and flange_length_mm below length_mm, which includes it",
            )

    @property
    def hole_mm(self) -> float:
        """Diameter of the hole that the copy has of it: of the rod that is pulled, or of the bore; 0 for none."""
        return self.diameter_mm if self.shape is InsertShape.ROD else self.bore_mm

    @property
    def pulled(self) -> bool:
        """Whether it is taken out of the copy again."""
        return self.shape is InsertShape.ROD

    @property
    def words(self) -> str:
        """It in words.

        >>> Insert(shape=InsertShape.ROD, diameter_mm=4, length_mm=10).words
        'a rod of 4 × 10 mm'
        >>> Insert(shape=InsertShape.NUT, across_flats_mm=7, length_mm=3.2, bore_mm=4).words
        'a nut of 7 mm across flats × 3.2 mm'
        """
        if self.copy_of:
            return f"a copy of {self.copy_of}"
        if self.shape is InsertShape.MESH:
            return f"the insert {'mesh' if self.file is None else self.file.name}"
        if self.shape is InsertShape.NUT:
            return f"a nut of {self.across_flats_mm:g} mm across flats × {self.length_mm:g} mm"
        flange = f", flange {self.flange_mm:g} × {self.flange_length_mm:g} mm" if self.flange_mm else ""
        return f"a {self.shape.value} of {self.diameter_mm:g} × {self.length_mm:g} mm{flange}"


_SIZES = ("diameter_mm", "length_mm", "bore_mm", "across_flats_mm", "flange_mm", "flange_length_mm")


def _may_have(shape: InsertShape) -> tuple[str, ...]:
    """Sizes that the shape may be given besides those that it must have."""
    if shape in (InsertShape.ROD, InsertShape.MESH):
        return ()
    return ("bore_mm", "flange_mm", "flange_length_mm") if shape is InsertShape.BUSH else ("bore_mm",)


def _with_words(keys: list[str]) -> str:
    """Keys as one says them.

    >>> _with_words(["bore_mm", "across_flats_mm"])
    'a bore and across flats'
    """
    words = [key.removesuffix("_mm").replace("_", " ") for key in keys]
    return " and ".join(f"a {word}" if word in ("bore", "flange") else word for word in words)
