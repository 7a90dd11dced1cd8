"""Equal cavities on the lattice that takes the least silicone: rows, staggered or not, turned by halves or not."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import shapely

from firstpour.cavities.footprint import laid
from firstpour.cavities.values import HERE, Arrangement, Footprint, Place
from firstpour.values import BoolArray, FloatArray

ROUGH_MM = 0.1
"""Detail of the shapes that the search leaves out; every gap is wider by twice that."""
STEP_MM, FINE_MM = 1.0, 0.02
"""Steps of the search for a pitch, and how closely it is found."""
STAGGERS = 8
"""Shares of the pitch by which every second row is moved."""
HALF_DEG = 180.0
Fits = Callable[[Arrangement], bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Rows along one axis. Every second cavity of a row is turned where `in_row`, every second row where `by_row`.

    `pitches_mm`: from an even place of a row to the next, and from an odd one; `rows_mm` likewise from row to row.
    Every second row is moved by `stagger_mm`.
    """

    along: int
    pitches_mm: tuple[float, float]
    rows_mm: tuple[float, float] = (np.inf, np.inf)
    stagger_mm: float = 0.0
    in_row: bool = False
    by_row: bool = False

    def at_mm(self, row: int, column: int) -> float:
        """How far along its row a cavity lies."""
        return _summed(self.pitches_mm, column) + (self.stagger_mm if row % 2 else 0.0)

    def turned(self, row: int, column: int) -> bool:
        """Whether a cavity is turned by half."""
        return (self.in_row and column % 2 == 1) != (self.by_row and row % 2 == 1)


def _summed(steps: tuple[float, float], count: int) -> float:
    """So many steps that alternate, the first one first; backwards where `count` is below 0."""
    return (count // 2) * (steps[0] + steps[1]) + (count % 2) * steps[0]


def arrangements(foot: Footprint, *, wall_mm: float, most: int, fits: Fits) -> dict[int, Arrangement]:
    """For each number of cavities from 1 to `most` that fits, the arrangement with the smallest box.

    `fits` tells whether the mould of an arrangement fits the printer. The numbers end at the first that does not.
    """
    found = {1: _box(foot, (HERE,))}
    if most < 2:
        return found
    lattices = lattices_of(foot, wall_mm=wall_mm)
    for count in range(2, most + 1):
        tried = [_box(foot, places) for one in lattices for places in _filled(one, count)]
        good = [one for one in tried if fits(one)]
        if not good:
            break
        found[count] = min(good, key=lambda one: (round(grown_mm2(one, wall_mm), 3), float(one.size_mm.max())))
    return found


def grown_mm2(one: Arrangement, wall_mm: float) -> float:
    """Plan of the block: the box about the silhouettes with the wall around it."""
    return float(np.prod(one.size_mm + 2.0 * wall_mm))


def lattices_of(foot: Footprint, *, wall_mm: float) -> tuple[Lattice, ...]:
    """All lattices that are tried: single rows, past whose sides channels may leave, and several rows."""
    patterns = [(False, False), (True, False), (False, True)] if foot.turns else [(False, False)]
    single = [
        Lattice(along=along, pitches_mm=_Search(foot, foot.row_ways[along], wall_mm).pitches_mm(along, in_row=in_row),
                in_row=in_row)
        for along in (0, 1)
        for in_row in dict.fromkeys(pattern[0] for pattern in patterns)
    ]  # fmt: skip
    search = _Search(foot, foot.ways, wall_mm)
    several = [one for along in (0, 1) for pattern in patterns for one in _rows(search, along, *pattern)]
    return tuple(one for one in (*single, *several) if np.isfinite(one.pitches_mm).all())


def _rows(search: "_Search", along: int, in_row: bool, by_row: bool) -> Iterator[Lattice]:
    """The rows along an axis, moved against each other by each share of the pitch."""
    pitches = search.pitches_mm(along, in_row=in_row)
    if not np.isfinite(pitches).all():
        return
    row = Lattice(along=along, pitches_mm=pitches, in_row=in_row, by_row=by_row)
    for share in np.arange(STAGGERS) / STAGGERS:
        moved = replace(row, stagger_mm=float(share * (sum(pitches) if in_row else pitches[0])))
        rows = search.rows_mm(moved)
        if np.isfinite(rows).all():
            yield replace(moved, rows_mm=rows)


class _Search:
    """Finds how far apart two cavities must lie in a direction."""

    def __init__(self, foot: Footprint, ways: shapely.Geometry, wall_mm: float) -> None:
        rough = [shape.simplify(ROUGH_MM) for shape in (foot.part, ways)]
        self._gap = wall_mm + 2.0 * ROUGH_MM
        turned = Place(shift_mm=np.zeros(2), turn_deg=HALF_DEG)
        self._shapes = {False: rough, True: [laid(shape, turned, foot.centre_mm) for shape in rough]}
        for shape in (*self._shapes[False], *self._shapes[True]):
            shapely.prepare(shape)
        x0, y0, x1, y1 = foot.part.bounds
        self._extent = (x1 - x0, y1 - y0)
        self._found: dict[tuple[int, float, bool, bool], float] = {}

    def apart_mm(self, along: int, aside_mm: float, first: bool, second: bool) -> float:
        """How far along an axis a second cavity must lie, moved `aside_mm` across it, and everything beyond be clear.

        ∞ where a channel of one never comes clear of the other; 0 where it is clear wherever it lies.
        """
        key = (along, round(aside_mm, 3), first, second)
        if key not in self._found:
            self._found[key] = self._apart_mm(*key)
        return self._found[key]

    def _apart_mm(self, along: int, aside_mm: float, first: bool, second: bool) -> float:
        far = 2.0 * self._extent[along] + 3.0 * self._gap
        tried = np.append(np.arange(0.0, far, STEP_MM), far)
        bad = np.flatnonzero(~self._clear(along, tried, aside_mm, first, second))
        if len(bad) == 0:
            return 0.0
        if bad[-1] == len(tried) - 1:
            return np.inf
        fine = np.linspace(tried[bad[-1]], tried[bad[-1] + 1], ceil(STEP_MM / FINE_MM) + 1)
        still = np.flatnonzero(~self._clear(along, fine, aside_mm, first, second))
        return float(fine[still[-1] + 1])

    def pitches_mm(self, along: int, *, in_row: bool) -> tuple[float, float]:
        """Both pitches of a row."""
        alone = self.apart_mm(along, 0.0, False, False)
        if not in_row:
            return alone, alone
        there, back = self.apart_mm(along, 0.0, False, True), self.apart_mm(along, 0.0, True, False)
        return there, max(back, alone - there, self.apart_mm(along, 0.0, True, True) - there)

    def rows_mm(self, one: Lattice) -> tuple[float, float]:
        """How far rows must lie apart, from an even one to the next and from an odd one."""
        there = self._row_mm(one, 0, 1)
        back = max(self._row_mm(one, 1, 2), max(self._row_mm(one, 0, 2), self._row_mm(one, 1, 3)) - there)
        return there, back

    def _row_mm(self, one: Lattice, row: int, other: int) -> float:
        """How far one row must lie from another: every cavity of a period to all within reach."""
        reach = 2 * (ceil((self._extent[one.along] + self._gap) / sum(one.pitches_mm)) + 1)
        pairs = {
            (one.at_mm(other, k) - one.at_mm(row, c), one.turned(row, c), one.turned(other, k))
            for c in range(2 if one.in_row else 1)
            for k in range(-reach, reach + 1)
        }
        needed = 0.0
        for aside, first, second in pairs:
            needed = max(needed, self.apart_mm(1 - one.along, aside, first, second))
            if not np.isfinite(needed):
                break
        return needed

    def _clear(self, along: int, ways: FloatArray, aside: float, first: bool, second: bool) -> BoolArray:
        """Whether a second cavity is clear of the first at each of the `ways` (n,) along an axis: (n,)."""
        shifts = np.full((len(ways), 2), aside)
        shifts[:, along] = ways
        clear = np.ones(len(ways), dtype=np.bool_)
        for other in self._shapes[second]:
            if other.is_empty:
                continue
            count = len(shapely.get_coordinates(other))
            moved = shapely.transform(
                np.full(len(ways), other), lambda xy, each=count: xy + np.repeat(shifts, each, axis=0)
            )
            for own in self._shapes[first]:
                if not own.is_empty:
                    clear &= ~shapely.dwithin(own, moved, self._gap)
        return clear


def _filled(one: Lattice, count: int) -> Iterator[tuple[Place, ...]]:
    """The lattice with `count` cavities in one row, or in more where it has more."""
    for rows in range(2, count + 1) if np.isfinite(one.rows_mm).all() else (1,):
        columns = ceil(count / rows)
        if ceil(count / columns) == rows:
            yield tuple(_place(one, k // columns, k % columns) for k in range(count))


def _place(one: Lattice, row: int, column: int) -> Place:
    along, across = one.at_mm(row, column), _summed(one.rows_mm, row) if row else 0.0
    shift = np.array([along, across] if one.along == 0 else [across, along])
    return Place(shift_mm=shift, turn_deg=HALF_DEG if one.turned(row, column) else 0.0)


def _box(foot: Footprint, places: tuple[Place, ...]) -> Arrangement:
    """The arrangement with the box about its silhouettes, which a turn by half about their middles leaves alone."""
    low, high = np.array(foot.part.bounds).reshape(2, 2)
    shifts: FloatArray = np.array([place.shift_mm for place in places])
    return Arrangement(places=places, low_mm=low + shifts.min(axis=0), high_mm=high + shifts.max(axis=0))
