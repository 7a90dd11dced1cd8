"""What the finished halves show: the length of the seam, the steep share of the surface, thin silicone."""

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from firstpour.parting.halves import Halves
from firstpour.parting.sheet import Sheet, sheet_height_mm
from firstpour.surface.solids import from_solid
from firstpour.surface.thickness import ThinPlaces, thin_places
from firstpour.values import BoolArray, FloatArray, IntArray

STEEP_DEG = 70.0
FEATHER_MM = 2.6
"""Beside the seam silicone may run out within this: an edge of 30° is as thick as the least wall by then."""
ON_SHEET_MM = 0.02
PITCH_RATIO, LEAST_PITCH_RATIO = 0.4, 1 / 300
"""Lines that measure thickness stand apart by this share of the least wall, or of the block if that is more."""
LEAST_FIN_MM2, LEAST_GROOVE_MM2 = 4.0, 2.0
"""Smaller thin places are not told: a fin may lose its feather, a groove that tears out is lost on every copy."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Thin:
    """Silicone thinner than the least wall: over what area, how thin at the thinnest, and where (3,)."""

    area_mm2: float
    least_mm: float
    at_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Showing:
    """What the halves show, lengths in the frame of the draw.

    `fin` is silicone thinner than `least_wall_mm` that the parting surface leaves, `groove` such silicone in a groove
    of the part's own; None where there is none.
    """

    seam_length_mm: float
    surface_mm2: float
    steep_mm2: float
    least_wall_mm: float
    fin: Thin | None
    groove: Thin | None


def show_halves(halves: Halves, *, least_wall_mm: float) -> Showing:
    """Measure the halves."""
    surface_mm2, steep_mm2 = _areas_mm2(halves.sheet)
    fin, groove = _thin(halves, least_wall_mm=least_wall_mm)
    return Showing(
        seam_length_mm=_length_mm(halves),
        surface_mm2=surface_mm2,
        steep_mm2=steep_mm2,
        least_wall_mm=least_wall_mm,
        fin=fin,
        groove=groove,
    )


def _length_mm(halves: Halves) -> float:
    """Length of the seam's closed loops, or single edges, on the part."""
    steps = (np.diff(line, axis=0) if len(line) == 2 else np.roll(line, -1, axis=0) - line for line in halves.seam_mm)
    return float(sum(np.linalg.norm(step, axis=1).sum() for step in steps))


def _areas_mm2(sheet: Sheet) -> tuple[float, float]:
    """Area of the parting surface outside the part, and of its places steeper than `STEEP_DEG` to a plane."""
    a, b, c = (sheet.points_mm[sheet.tri[:, k]] for k in range(3))
    vectors = 0.5 * np.cross(b - a, c - a)
    areas_mm2 = np.linalg.norm(vectors, axis=1)
    steep = np.abs(vectors[:, 2]) < np.cos(np.radians(STEEP_DEG)) * areas_mm2
    return float(areas_mm2.sum()), float(areas_mm2[steep].sum())


def _thin(halves: Halves, *, least_wall_mm: float) -> tuple[Thin | None, Thin | None]:
    """Thin silicone by the parting surface, and in grooves of the part."""
    size_mm = float(np.ptp(halves.sheet.points_mm, axis=0).max())
    pitch_mm = max(PITCH_RATIO * least_wall_mm, LEAST_PITCH_RATIO * size_mm)
    seam = cKDTree(np.concatenate([np.empty((0, 3)), *halves.seam_mm]))
    fins, grooves = [], []
    for half in (halves.upper, halves.lower):
        places = thin_places(from_solid(half), below_mm=least_wall_mm, pitch_mm=pitch_mm)
        if len(places.thickness_mm) == 0:
            continue
        on_sheet = np.stack([_on_sheet(halves.sheet, places.ends_mm[:, k]) for k in (0, 1)], axis=1)
        cut = np.logical_or(on_sheet[:, 0], on_sheet[:, 1])
        beside_seam = seam.query(places.ends_mm.mean(axis=1))[0] < FEATHER_MM
        grooves.append(_picked(places, np.flatnonzero(~cut)))
        fins.append(_picked(places, np.flatnonzero(cut & ~beside_seam)))
    return _worst(fins, least_mm2=LEAST_FIN_MM2), _worst(grooves, least_mm2=LEAST_GROOVE_MM2)


def _on_sheet(sheet: Sheet, points_mm: FloatArray) -> BoolArray:
    """Which points (k, 3) lie on the parting surface, which ends at the part's outline."""
    on: BoolArray = np.abs(sheet_height_mm(sheet, points_mm[:, :2]) - points_mm[:, 2]) < ON_SHEET_MM
    on[on] = shapely.contains_xy(sheet.region.buffer(ON_SHEET_MM), points_mm[on, :2])
    return on


def _picked(places: ThinPlaces, wanted: IntArray) -> ThinPlaces:
    return ThinPlaces(
        ends_mm=places.ends_mm[wanted],
        thickness_mm=places.thickness_mm[wanted],
        area_mm2=places.area_mm2[wanted],
    )


def _worst(found: list[ThinPlaces], *, least_mm2: float) -> Thin | None:
    """All thin places as one, or None where they are too small to tell."""
    area_mm2 = sum(float(places.area_mm2.sum()) for places in found)
    if area_mm2 < least_mm2:
        return None
    some = [places for places in found if len(places.thickness_mm)]
    thinnest = min(some, key=lambda places: float(places.thickness_mm.min()))
    k = int(np.argmin(thinnest.thickness_mm))
    return Thin(area_mm2=area_mm2, least_mm=float(thinnest.thickness_mm[k]), at_mm=thinnest.ends_mm[k].mean(axis=0))
