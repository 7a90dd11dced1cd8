"""Different parts side by side in one mould: nested by their true silhouettes, never nearer than the wall.

The search is that of spyrrow, a general-purpose library for irregular strip packing. What it gives is measured again
on the true silhouettes, and a plain row of the parts is never given up for something larger.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
import spyrrow

from firstpour.cavities.footprint import laid
from firstpour.cavities.values import Footprint, Place
from firstpour.values import FloatArray

ROUGH_MM = 0.1
"""Detail of the silhouettes that the search leaves out; they are grown by as much first."""
SEARCH_S, CLOSE_UP_S, SEED = 1, 1, 1
"""Seconds for one strip, and the seed of the search."""
TURNS_DEG = tuple(float(turn) for turn in range(0, 360, 15))
STRIPS = (0.8, 1.0, 1.3, 1.7)
"""Strips that are tried, as shares of the side of a square that would hold everything."""
PLAY_MM, WIDENINGS = 0.05, 3
"""A nest that lies nearer than the wall is sought again so much wider than what lacks, so many times."""
AS_NEAR_MM = 1e-6
ROOMY = 1.1
"""A strip is so much wider than what is to lie in it: in a tighter one the search may find no first place."""
PANIC = "PanicException"
"""What the library raises where it finds no first place; its type has no name to import."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nested:
    """Where one copy lies: `part` is the number of its footprint."""

    part: int
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nest:
    """All copies side by side, and the box (2, 2) about their silhouettes."""

    copies: tuple[Nested, ...]
    box_mm: FloatArray

    @property
    def size_mm(self) -> FloatArray:
        """Length and width (2,) of the box."""
        size: FloatArray = self.box_mm[1] - self.box_mm[0]
        return size


def nest(feet: Sequence[Footprint], counts: Sequence[int], *, wall_mm: float, room_mm: FloatArray) -> Nest:
    """Lay `counts` copies of each footprint where the block about them is smallest, with `wall_mm` between any two.

    `room_mm` (2,) is what the printer leaves for the silhouettes; a nest that keeps within it goes before a smaller
    one that does not.
    """
    found = [in_a_row(feet, counts, wall_mm=wall_mm)]
    area_mm2 = sum(count * foot.part.buffer(0.5 * wall_mm).area for foot, count in zip(feet, counts, strict=True))
    for share in STRIPS:
        found += _strip(feet, counts, wall_mm=wall_mm, width_mm=share * float(np.sqrt(area_mm2)))

    def weighed(one: Nest) -> tuple[bool, float]:
        within = bool((np.sort(one.size_mm) <= np.sort(room_mm)).all())
        return not within, float(np.prod(one.size_mm + 2.0 * wall_mm))

    return min(found, key=weighed)


def in_a_row(feet: Sequence[Footprint], counts: Sequence[int], *, wall_mm: float) -> Nest:
    """All copies in one row, box beside box, each with its longer side across the row."""
    copies, at_mm = [], 0.0
    for k, (foot, count) in enumerate(zip(feet, counts, strict=True)):
        low, high = _box(_whole(foot))
        turn_deg = 90.0 if high[0] - low[0] > high[1] - low[1] else 0.0
        low, high = _box(laid(_whole(foot), Place(shift_mm=np.zeros(2), turn_deg=turn_deg), foot.centre_mm))
        for _ in range(count):
            shift = np.array([at_mm - low[0], -0.5 * (low[1] + high[1])])
            copies.append(Nested(part=k, place=Place(shift_mm=shift, turn_deg=turn_deg)))
            at_mm += float(high[0] - low[0]) + wall_mm
    return _nest(feet, tuple(copies))


def least_apart_mm(feet: Sequence[Footprint], copies: Sequence[Nested]) -> float:
    """The least distance between any two copies, or a copy and what leaves another; ∞ for one."""
    parts = [laid(feet[one.part].part, one.place, feet[one.part].centre_mm) for one in copies]
    ways = [laid(feet[one.part].ways, one.place, feet[one.part].centre_mm) for one in copies]
    gaps = [
        one.distance(other)
        for a, b in combinations(range(len(copies)), 2)
        for one, other in ((parts[a], parts[b]), (parts[a], ways[b]), (ways[a], parts[b]))
        if not one.is_empty and not other.is_empty
    ]
    return float(min(gaps, default=np.inf))


def _strip(feet: Sequence[Footprint], counts: Sequence[int], *, wall_mm: float, width_mm: float) -> list[Nest]:
    """The copies in a strip of that width, as short as the search finds; nothing where one is too large for it."""
    shapes = [_shape(foot) for foot in feet]
    if any(ROOMY * _narrowest_mm(shape) > width_mm for shape in shapes):
        return []
    gap_mm = wall_mm
    for _ in range(WIDENINGS):
        items = [
            spyrrow.Item(str(k), list(shape.exterior.coords)[:-1], count, list(TURNS_DEG))
            for k, (shape, count) in enumerate(zip(shapes, counts, strict=True))
        ]
        config = spyrrow.StripPackingConfig(
            min_items_separation=gap_mm,
            total_computation_time=None,
            exploration_time=SEARCH_S,
            compression_time=CLOSE_UP_S,
            num_workers=1,
            seed=SEED,
        )
        strip = spyrrow.StripPackingInstance("mould", strip_height=width_mm + 2.0 * gap_mm, items=items)
        try:
            solved = strip.solve(config)
        except BaseException as error:
            if type(error).__name__ != PANIC:
                raise
            return []
        copies = tuple(_nested(feet, one) for one in sorted(solved.placed_items, key=lambda one: int(one.id)))
        short_mm = wall_mm - least_apart_mm(feet, copies)
        if short_mm <= AS_NEAR_MM:
            return [_nest(feet, copies)]
        gap_mm += short_mm + PLAY_MM
    return []


def _nested(feet: Sequence[Footprint], one: "spyrrow.PlacedItem") -> Nested:
    """A copy as the search laid it: turned about its middle, which then lies at the translation."""
    number = int(one.id)
    shift = np.array(one.translation) - feet[number].centre_mm
    return Nested(part=number, place=Place(shift_mm=shift, turn_deg=float(one.rotation)))


def _shape(foot: Footprint) -> shapely.Polygon:
    """The silhouette and what leaves it, without holes and fine detail, its middle at the origin."""
    whole = _whole(foot)
    outline = whole if isinstance(whole, shapely.Polygon) else whole.convex_hull
    grown = shapely.Polygon(outline.exterior).buffer(ROUGH_MM).simplify(ROUGH_MM)
    return shapely.transform(grown, lambda xy: xy - foot.centre_mm)


def _whole(foot: Footprint) -> shapely.Geometry:
    return shapely.union_all([foot.part, foot.ways])


def _narrowest_mm(shape: shapely.Polygon) -> float:
    """The least width of the shape over the turns that are tried."""
    angles = np.radians(TURNS_DEG)
    across = np.ptp(shapely.get_coordinates(shape) @ np.stack([np.sin(angles), np.cos(angles)]), axis=0)
    return float(across.min())


def _nest(feet: Sequence[Footprint], copies: tuple[Nested, ...]) -> Nest:
    """The copies with the box about them."""
    shapes = [laid(_whole(feet[one.part]), one.place, feet[one.part].centre_mm) for one in copies]
    return Nest(copies=copies, box_mm=_box(shapely.union_all(shapes)))


def _box(shape: shapely.Geometry) -> FloatArray:
    """Lowest and highest corner (2, 2)."""
    return np.array(shape.bounds).reshape(2, 2)
