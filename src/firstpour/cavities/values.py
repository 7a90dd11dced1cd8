"""What the arrangement of cavities is asked and what it answers."""

from dataclasses import dataclass

import numpy as np
import shapely

from firstpour.values import FloatArray, frozen_array

MOST = "most"
"""In place of a number of cavities: as many as printer, silicone, largest mix and pot life allow."""
DATE = "date"
"""In place of a number of cavities: the number that is the best for the date, of those that go."""
MOST_CAVITIES = 48
"""No mould that one person handles has more (a limit of our own)."""
Cavities = int | str
"""A number, `MOST` or `DATE`."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Footprint:
    """One cavity seen along the draw, in the frame of the draw.

    `part` is its true silhouette; `ways` is what its gate and vents cross on their way out of a block of any size,
    `row_ways` likewise in a single row along each axis, which is no wider than one cavity's block. `turns`: whether
    it may be turned by half about the draw.
    """

    part: shapely.Polygon | shapely.MultiPolygon
    ways: shapely.Geometry
    row_ways: tuple[shapely.Geometry, shapely.Geometry]
    turns: bool

    @property
    def centre_mm(self) -> FloatArray:
        """Middle of the silhouette's box (2,), about which it is turned."""
        x0, y0, x1, y1 = self.part.bounds
        return np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """Where a cavity lies: turned by `turn_deg` about the draw through its middle, and shifted by `shift_mm` (2,)."""

    shift_mm: FloatArray
    turn_deg: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "shift_mm", frozen_array(self.shift_mm, np.float64))


HERE = Place(shift_mm=np.zeros(2))
"""The first cavity lies where the part lies, so that every place of the part stays true of it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arrangement:
    """Cavities side by side, the first where the part is. `low_mm`, `high_mm` (2,): the box about all silhouettes."""

    places: tuple[Place, ...]
    low_mm: FloatArray
    high_mm: FloatArray

    @property
    def size_mm(self) -> FloatArray:
        """Length and width (2,) of the box about all silhouettes."""
        size: FloatArray = self.high_mm - self.low_mm
        return size

    @property
    def area_mm2(self) -> float:
        """Area of that box."""
        return float(np.prod(self.size_mm))
