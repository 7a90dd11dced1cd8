"""What the silicone must do to come out of each undercut: stretch, squeeze, bend, or be cut.

All of it is read off the dexels along the draw: the void's footprint, where it opens into free space, and what lies
over it. `formulas.stretching` holds the formulas; decision 0020 says what they were held against.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy import ndimage
from scipy.spatial import ConvexHull, QhullError

from firstpour.formulas.stretching import (
    bent_tongue_ratio,
    lip_stretch_ratio,
    plug_squeeze_ratio,
    plug_stretch_ratio,
    silicone_share_ratio,
    swung_wall_ratio,
)
from firstpour.formulas.tearing import tearing_energy_n_mm
from firstpour.kernels.openings import loops_by_region
from firstpour.parting.values import Half, Stretch, Way
from firstpour.parting.voids import Exits, Voids
from firstpour.surface.dexels import bottom_map_mm, top_map_mm
from firstpour.values import BoolArray, FloatArray, IntArray

SAFETY = 3.0
"""A mould is stretched to a third of its elongation at break at most: an estimate of our own (decision 0004)."""
NICK_MM = 1.0
"""A nick at the lip of an undercut, from a bubble or a fingernail (decision 0016)."""
MOST_TEARING = 4.9
CORNERS = np.ones((3, 3), np.bool_)
MOST_SQUEEZE = 0.7
MOST_STRETCH = 10.0
"""More is not told apart: no silicone stretches to eleven times its length."""
INSIDE_RATIO = 0.1
"""A band cannot lift silicone out of a pocket: of an undercut over a bulge no more than this share may lie in one."""
SKIN_RATIO = 0.025
"""So shallow, as a share of the wall, an undercut is passed by the skin of the silicone alone, whatever its shape: it
is pressed in by the depth over the wall (our own estimate; rough rims and coarse meshes are full of such)."""
STEP_PIXELS = 3.0
LEAST_OPEN_RATIO = 0.2
"""Of several holes that an undercut opens into, those with fewer exits than this share of the most are noise."""
MOST_POINTS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Give:
    """What gives: the wall of silicone, its elongation at break, tear strength and modulus, and the copy's modulus.

    Typical of a soft addition-cure silicone, to be replaced by the data sheet's; a copy without a modulus is
    rigid, as every printed master is.
    """

    wall_mm: float = 8.0
    elongation_ratio: float = 3.0
    tear_n_mm: float = 15.0
    silicone_mpa: float = 0.7
    copy_mpa: float = math.inf

    @property
    def allowed_ratio(self) -> float:
        """The stretch that the silicone may see: a third of its elongation, and of what runs a nick of 1 mm.

        The second is found by halving; it ends at nearly five times the length, where the law of tearing ends.
        """
        low, high = 0.0, MOST_TEARING
        for _ in range(30):
            middle = 0.5 * (low + high)
            energy = tearing_energy_n_mm(modulus_mpa=self.silicone_mpa, stretch_ratio=middle, nick_mm=NICK_MM)
            low, high = (low, middle) if SAFETY * energy > self.tear_n_mm else (middle, high)
        return min(self.elongation_ratio / SAFETY, low)

    def share_ratio(self, way: Way) -> float:
        """The silicone's share of the give."""
        return silicone_share_ratio(silicone_mpa=self.silicone_mpa, copy_mpa=self.copy_mpa, plug=way is Way.PLUG)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Levels:
    """Seen along the draw (ny, nx): height of the nearest undercut, whether it is solid there, top and bottom."""

    level_mm: FloatArray
    solid: BoolArray
    top_mm: FloatArray
    bottom_mm: FloatArray
    pitch_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Side:
    """The view of one half: solid that it must pass, its connected patches, and the free space beside them."""

    half: Half
    levels: _Levels
    voids: Voids
    covers: IntArray
    """(ny, nx) Number of the patch of solid that the half must pass, 0 where there is none."""
    frees: IntArray
    """(ny, nx) Number of the patch of free space, 0 where there is none."""
    exits: Exits
    lengths_mm: dict[tuple[str, int], float] = field(default_factory=dict)
    planes: dict[int, FloatArray | None] = field(default_factory=dict)
    nearest: list[IntArray] = field(default_factory=list)
    """Row and column of the nearest pixel of a hole (2, ny, nx), once it was asked for."""

    @property
    def outside(self) -> int:
        """The free space around the part."""
        return int(self.frees[0, 0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Region:
    """One region: lines and heights of its voids, how far each is from free space, and the free lines beside them."""

    lines: IntArray
    high_mm: FloatArray
    beside: IntArray
    away_mm: FloatArray

    @property
    def depth_mm(self) -> float:
        """How far the silicone must give."""
        return float(self.away_mm.max())


def stretches(
    voids: Voids,
    exits: Mapping[Half, Exits],
    *,
    regions: Sequence[int],
    ways_mm: Sequence[FloatArray],
    give: Give,
) -> tuple[Stretch, ...]:
    """What the silicone must do in each of `regions` of the voids, whose `ways_mm` to free space are given.

    `exits`: those of each half that the mould has; an undercut goes to the half where it asks the least.
    """
    if len(regions) == 0:
        return ()
    levels = _levels(voids, regions)
    sides = [_side(half, levels, voids, one) for half, one in exits.items()]
    dexels = voids.dexels
    loops_of = loops_by_region(
        dexels.offsets, dexels.z_mm, voids.first, voids.region, len(voids.volumes_mm3), dexels.nx, dexels.ny
    )
    found = []
    for number, away_mm in zip(regions, ways_mm, strict=True):
        loops, around = loops_of[number, 0], loops_of[number, 1] <= 0
        if loops > 0 and len(away_mm) > 0:
            found.append(Stretch(way=Way.LOOP, half=sides[0].half, stretch_ratio=None, loops=int(loops)))
            continue
        ways = [_way_out(side, number, away_mm, give, closed=bool(around)) for side in sides]
        found.append(min(ways, key=lambda way: (way.way is Way.SHUT, way.stretch_ratio or 0.0)))
    return tuple(found)


def _levels(voids: Voids, regions: Sequence[int]) -> _Levels:
    """The maps that all regions share."""
    dexels = voids.dexels
    shape = (dexels.ny, dexels.nx)
    listed = np.isin(voids.region, regions)
    order = np.argsort((voids.high_mm - voids.low_mm)[listed], kind="stable")
    lines = voids.line[listed][order]
    known = np.zeros(shape, np.bool_)
    known.ravel()[lines] = True
    level = np.zeros(shape)
    level.ravel()[lines] = (0.5 * (voids.low_mm + voids.high_mm))[listed][order]
    nearest = ndimage.distance_transform_edt(~known, return_distances=False, return_indices=True)
    level = level[nearest[0], nearest[1]]
    crossed = np.repeat(np.arange(dexels.nx * dexels.ny), np.diff(dexels.offsets))
    below = np.bincount(crossed, weights=dexels.z_mm <= level.ravel()[crossed], minlength=level.size)
    solid = (below.astype(np.int64) % 2 == 1).reshape(shape)
    return _Levels(
        level_mm=level,
        solid=solid,
        top_mm=top_map_mm(dexels),
        bottom_mm=bottom_map_mm(dexels),
        pitch_mm=dexels.pitch_mm,
    )


def _side(half: Half, levels: _Levels, voids: Voids, exits: Exits) -> _Side:
    """What one half has to pass."""
    upper = half is Half.UPPER
    covered = levels.top_mm > levels.level_mm if upper else levels.bottom_mm < levels.level_mm
    return _Side(
        half=half,
        levels=levels,
        voids=voids,
        covers=ndimage.label(covered, structure=CORNERS)[0].astype(np.int64),
        frees=ndimage.label(~covered)[0].astype(np.int64),
        exits=exits,
    )


def _way_out(side: _Side, number: int, away_mm: FloatArray, give: Give, *, closed: bool) -> Stretch:
    """What the silicone of region `number` must do in this half."""
    voids, exits = side.voids, side.exits
    beside = exits.beside[exits.of(number)]
    if len(away_mm) == 0 or len(beside) == 0:
        return Stretch(way=Way.SHUT, half=side.half, stretch_ratio=None)
    held = voids.of(number)
    region = _Region(
        lines=voids.line[held],
        high_mm=voids.high_mm[held] - voids.low_mm[held],
        beside=beside[beside >= 0],
        away_mm=away_mm,
    )
    if region.depth_mm <= SKIN_RATIO * give.wall_mm:
        return _out(Way.TONGUE, side.half, region.depth_mm / give.wall_mm, give)
    opens = side.frees.ravel()[region.beside]
    if _most(opens, otherwise=side.outside) == side.outside:
        return _over_bulge(side, region, closed=closed, give=give)
    return _through_necks(side, region, opens[opens > 0], closed=closed, give=give)


def _over_bulge(side: _Side, region: _Region, *, closed: bool, give: Give) -> Stretch:
    """A lip that must pass what lies over it; one that does not close around the part may bend or swing as well."""
    cover = _most(side.covers.ravel()[region.lines], otherwise=0)
    around = MOST_STRETCH
    if _inside_ratio(side, region, cover) <= INSIDE_RATIO:
        lip_mm, bulge_mm = _length_mm(side, "lip", cover), _length_mm(side, "bulge", cover)
        around = lip_stretch_ratio(lip_mm=lip_mm, bulge_mm=bulge_mm)
    if closed:
        return _out(Way.LIP, side.half, around, give)
    swung = swung_wall_ratio(
        give_mm=region.depth_mm,
        wall_mm=give.wall_mm,
        high_mm=_over_mm(side, cover) + give.wall_mm,
        wide_mm=_wide_mm(region, side.levels) + 2.0 * give.wall_mm,
    )
    drawn = min(_bent_ratio(region), swung) + plug_stretch_ratio(_throat_ratio(region, pitch_mm=side.levels.pitch_mm))
    return _out(Way.TONGUE, side.half, min(around, drawn), give)


def _through_necks(side: _Side, region: _Region, opens: IntArray, *, closed: bool, give: Give) -> Stretch:
    """Plugs in holes (`opens`: the hole at each exit) that must pass the holes' necks; the tightest counts.

    A plug that widens on one side only may bend as well.
    """
    holes, exits = np.unique(opens[opens != side.outside], return_counts=True)
    most = max(
        plug_squeeze_ratio(plug_mm=_length_mm(side, "plug", hole), neck_mm=_length_mm(side, "neck", hole))
        for hole in holes[exits >= LEAST_OPEN_RATIO * exits.max()].tolist()
    )
    squeeze = min(most, MOST_SQUEEZE)
    bent = _bent_ratio(region) + plug_stretch_ratio(_throat_ratio(region, pitch_mm=side.levels.pitch_mm))
    if not closed and bent < plug_stretch_ratio(squeeze):
        return _out(Way.TONGUE, side.half, bent, give)
    squeeze *= give.share_ratio(Way.PLUG)
    stretch = min(plug_stretch_ratio(squeeze), MOST_STRETCH)
    return Stretch(way=Way.PLUG, half=side.half, stretch_ratio=stretch, squeeze_ratio=squeeze)


def _bent_ratio(region: _Region) -> float:
    return bent_tongue_ratio(thick_mm=float(region.high_mm.mean()), long_mm=region.depth_mm)


def _throat_ratio(region: _Region, *, pitch_mm: float) -> float:
    """How much a tongue is squeezed that is wider within than where it comes out: 1 − √(area at the mouth ÷ most)."""
    areas = np.bincount((region.away_mm / (STEP_PIXELS * pitch_mm)).astype(np.int64), weights=region.high_mm)
    return min(1.0 - float(np.sqrt(areas[0] / areas.max())), MOST_SQUEEZE) if areas[0] > 0.0 else MOST_SQUEEZE


def _inside_ratio(side: _Side, region: _Region, cover: int) -> float:
    """Share of the region that lies in a pocket: inside a band drawn tight around the solid at its level."""
    planes = _hull_planes(side, cover)
    if planes is None:
        return 0.0
    nx = side.voids.dexels.nx
    lines = region.lines[:: 1 + len(region.lines) // MOST_POINTS]
    points = np.column_stack([lines % nx, lines // nx])
    return float(((points @ planes[:, :2].T + planes[:, 2]).max(axis=1) < -1.0).mean())


def _hull_planes(side: _Side, cover: int) -> FloatArray | None:
    """Edges (k, 3) of the band around a cover's solid at the level of its undercuts: a·x + b·y + c < 0 inside."""
    if cover not in side.planes:
        hull = _hull(_shape(side, "lip", cover))
        side.planes[cover] = None if hull is None else np.asarray(hull.equations)
    return side.planes[cover]


def _out(way: Way, half: Half, stretch: float, give: Give) -> Stretch:
    return Stretch(way=way, half=half, stretch_ratio=min(stretch, MOST_STRETCH) * give.share_ratio(way))


def _length_mm(side: _Side, what: str, number: int) -> float:
    """Length of a band drawn tight around the lip or the bulge of a cover, or the plug or the neck of a hole."""
    key = (what, number)
    if key not in side.lengths_mm:
        side.lengths_mm[key] = band_mm(_shape(side, what, number), pitch_mm=side.levels.pitch_mm)
    return side.lengths_mm[key]


def _shape(side: _Side, what: str, number: int) -> BoolArray:
    cover: BoolArray = side.covers == number
    if what in ("bulge", "lip"):
        return cover if what == "bulge" else cover & side.levels.solid
    hole: BoolArray = side.frees == number
    return hole if what == "neck" else hole | _opening_into(side, hole)


def _opening_into(side: _Side, hole: BoolArray) -> BoolArray:
    """Footprint (ny, nx) of the undercuts that open into a hole, as far as no other hole is nearer."""
    voids, beside = side.voids, side.exits.beside
    regions = np.unique(side.exits.region[(beside >= 0) & hole.ravel()[beside]])
    footprint = np.zeros(hole.shape, np.bool_)
    for number in regions:
        footprint.ravel()[voids.line[voids.of(int(number))]] = True
    if not side.nearest:
        solid = (side.frees == 0) | (side.frees == side.outside)
        side.nearest.append(ndimage.distance_transform_edt(solid, return_distances=False, return_indices=True))
    rows, columns = side.nearest[0]
    mine: BoolArray = footprint & hole[rows, columns]
    return mine


def band_mm(shape: BoolArray, *, pitch_mm: float) -> float:
    """Length of a band drawn tight around the pixels of `shape` (ny, nx), as if each were a disc of half a pixel."""
    hull = _hull(shape)
    if hull is not None:
        return (float(hull.area) + 0.5 * np.pi) * pitch_mm
    points = np.argwhere(shape)
    long = 0.0 if len(points) == 0 else float(np.linalg.norm(np.ptp(points, axis=0)))
    return (2.0 * long + 0.5 * np.pi) * pitch_mm


def _hull(shape: BoolArray) -> ConvexHull | None:
    """The convex hull of the pixels (x, y) of `shape`; None where they lie in one line."""
    rows = np.flatnonzero(shape.any(axis=1))
    if len(rows) < 2:
        return None
    first = shape[rows].argmax(axis=1)
    last = shape.shape[1] - 1 - shape[rows, ::-1].argmax(axis=1)
    try:
        return ConvexHull(np.column_stack([np.concatenate([first, last]), np.concatenate([rows, rows])]))
    except QhullError:
        return None


def _over_mm(side: _Side, cover: int) -> float:
    """How far what a half must pass stands over the undercut below it."""
    levels, there = side.levels, side.covers == cover
    if side.half is Half.UPPER:
        return float((levels.top_mm - levels.level_mm)[there].max())
    return float((levels.level_mm - levels.bottom_mm)[there].max())


def _wide_mm(region: _Region, levels: _Levels) -> float:
    """How wide the undercut opens: the longer side of the box of its opening."""
    beside = region.beside
    if len(beside) == 0:
        return levels.pitch_mm
    nx = levels.level_mm.shape[1]
    return float(max(np.ptp(beside % nx), np.ptp(beside // nx)) + 1) * levels.pitch_mm


def _most(numbers: IntArray, *, otherwise: int) -> int:
    """The number above 0 that comes most often."""
    numbers = numbers[numbers > 0]
    return otherwise if len(numbers) == 0 else int(np.bincount(numbers).argmax())
