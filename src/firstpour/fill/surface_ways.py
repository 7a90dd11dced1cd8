"""Ways for channels along the parting surface: half in each half, rising all the way, clear of the part."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from scipy.ndimage import distance_transform_edt, map_coordinates
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from firstpour.surface.dexels import cut_dexels
from firstpour.values import BoolArray, FloatArray, IntArray, Mesh, Remembered

CLEAR_MM = 2.0
"""Least silicone between a channel and the part beside it, a key or another channel. An estimate of our own."""
CELLS = 140
"""Cells of the plan along the longer side of the block."""
STEPS = ((1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 2), (2, -1), (1, -2))
DIP_RATIO = 0.02
"""A way may sink by this share of its length and still counts as rising: about 1°."""
CLOSE_COST = 6.0
"""Ways cost this many times their length where they have yet to come clear of the part that they start on."""
FREE_TURN, LEAVE_RATIO = 0.0, 0.6
"""Beside its start a way keeps so far off the part, as a share of how far it has come: first as it likes, then 37° to
the outline or more. An estimate of our own."""
LEAN_COST = 20.0
"""What a way costs more, times the square of the slope across it, along the draw: where the surface leans over
sideways a round channel has undercuts in both halves. An estimate of our own."""
POINT_STEP_MM = 2.0
FLAT_MM = 0.05
"""Points of a way that lie this near to a straight line are left out."""
LEAST_OUT = {True: (0.5,), False: (0.5, 0.0)}
"""Which sides of the block a gate (True) or a vent may leave by: least cosine of the side's own direction with up. A
vent leaves by a side that stands upright only where no way leads to one on top: there it runs over first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class PartingSurface:
    """What the fill must know of the parting: the frame of the draw, the block in it, the surface's height.

    `height_mm` gives for places (n, 2) in that frame the heights (n,); `seam_mm` are closed polylines (k, 3) in the
    part's own coordinates. `beside`: other parts lie beside it, so that channels leave along the draw alone.
    """

    frame: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray
    height_mm: Callable[[FloatArray], FloatArray]
    seam_mm: tuple[FloatArray, ...]
    beside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """The parting surface seen along the draw, in cells `cell_mm` wide, the first at `origin_mm` (2,).

    `away_mm` (ny, nx): distance from the part's outline, 0 on the part; `height_mm` and `level_mm` (ny, nx): along
    the draw and along up; `top_mm`: level of the part's highest place.
    """

    surface: PartingSurface
    up: FloatArray
    origin_mm: FloatArray
    cell_mm: float
    away_mm: FloatArray
    height_mm: FloatArray
    level_mm: FloatArray
    top_mm: float

    def cells_at(self, xy_mm: FloatArray) -> FloatArray:
        """Places (n, 2) in cells."""
        cells: FloatArray = (xy_mm.reshape(-1, 2) - self.origin_mm) / self.cell_mm
        return cells

    def away_at(self, xy_mm: FloatArray) -> FloatArray:
        """Distance (n,) of places (n, 2) from the part's outline, between cells by straight lines."""
        x, y = self.cells_at(xy_mm).T
        away: FloatArray = map_coordinates(self.away_mm, [y, x], order=1, mode="nearest")
        return away


def lay_plan(mesh: Mesh, surface: PartingSurface, *, up: FloatArray) -> Plan:
    """The plan of the parting surface around `mesh` (in the part's coordinates), for a pour with `up` on top."""
    along = _ALONG_DRAW.of(surface, mesh, lambda: _along_draw(mesh, surface))
    rising = surface.frame @ up
    return Plan(
        surface=surface,
        up=up,
        origin_mm=along.origin_mm,
        cell_mm=along.cell_mm,
        away_mm=along.away_mm,
        height_mm=along.height_mm,
        level_mm=(along.places_mm @ rising).reshape(along.height_mm.shape),
        top_mm=float((along.part_mm @ rising).max()),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _AlongDraw:
    """What of a `Plan` is the same whichever way up the mould is poured.

    `places_mm` (ny · nx, 3) are the cells on the surface, `part_mm` (n, 3) the part, both in the frame of the draw.
    """

    origin_mm: FloatArray
    cell_mm: float
    away_mm: FloatArray
    height_mm: FloatArray
    places_mm: FloatArray
    part_mm: FloatArray


_ALONG_DRAW: Remembered[PartingSurface, _AlongDraw] = Remembered(1)
"""Worked out once for all the pours that are tried."""


def _along_draw(mesh: Mesh, surface: PartingSurface) -> _AlongDraw:
    size = (surface.high_mm - surface.low_mm)[:2]
    turned = mesh.vertices_mm @ surface.frame.T
    extent = np.ptp(turned[:, :2], axis=0).max()
    dexels = cut_dexels(mesh, surface.frame[2], resolution=max(8, round(CELLS * float(extent / size.max()))))
    cell = dexels.pitch_mm
    before = np.floor((dexels.origin_mm - surface.low_mm[:2]) / cell).astype(int)
    origin = dexels.origin_mm - before * cell
    nx, ny = (int(np.floor((surface.high_mm[k] - origin[k]) / cell)) + 1 for k in (0, 1))
    part = np.zeros((ny, nx), bool)
    part[before[1] : before[1] + dexels.ny, before[0] : before[0] + dexels.nx] = (
        np.diff(dexels.offsets).reshape(dexels.ny, dexels.nx) > 0
    )
    i, j = np.rint((turned[:, :2] - origin) / cell).astype(int).T
    part[np.clip(j, 0, ny - 1), np.clip(i, 0, nx - 1)] = True
    y, x = np.mgrid[:ny, :nx]
    xy = origin + cell * np.column_stack([x.ravel(), y.ravel()])
    height = surface.height_mm(xy)
    return _AlongDraw(
        origin_mm=origin,
        cell_mm=cell,
        away_mm=np.maximum(0.0, distance_transform_edt(~part) - 0.5) * cell,
        height_mm=height.reshape(ny, nx),
        places_mm=np.column_stack([xy, height]),
        part_mm=turned,
    )


def surface_way(
    plan: Plan,
    at_mm: FloatArray,
    *,
    radius_mm: float,
    mouth_mm: float,
    gate: bool,
    clear: Callable[[FloatArray], bool],
    taken: tuple[tuple[FloatArray, float], ...] = (),
) -> FloatArray | None:
    """The shortest way (k, 3) along the surface from `at_mm` on the seam out of the block; None where there is none.

    It rises all the way, keeps `CLEAR_MM` off the part but where it starts, off keys and the channels in `taken`
    (paths and radii), and ends above the part, outside the block. `clear` says in space whether a way found in plan
    keeps off the part as wide as it grows; where it does not, one is looked for that leaves the part more squarely.
    """
    start = plan.surface.frame @ at_mm
    for least_out, leave in product(LEAST_OUT[gate], (FREE_TURN, LEAVE_RATIO)):
        for wide_mm in (radius_mm, mouth_mm):
            mouths = _mouths(plan, mouth_mm, least_out=least_out)
            blocked = _blocked(plan, taken, wide_mm)
            cells = _shortest(plan, start, wide_mm=wide_mm, mouths=mouths, blocked=blocked, leave=leave)
            if cells is None:
                break
            path = _led_out(plan, _drawn_tight(plan, start, cells, wide_mm, blocked), mouth_mm)
            way: FloatArray = path @ plan.surface.frame
            if clear(way):
                return way
    return None


def _blocked(plan: Plan, taken: tuple[tuple[FloatArray, float], ...], wide_mm: float) -> BoolArray:
    """Cells (ny, nx) too near to a channel that is there already."""
    near = np.zeros(plan.away_mm.shape, bool)
    if not taken:
        return near
    ny, nx = plan.away_mm.shape
    y, x = np.mgrid[:ny, :nx]
    for path, radius in taken:
        line = plan.cells_at((path @ plan.surface.frame.T)[:, :2])
        reach = (radius + wide_mm + CLEAR_MM) / plan.cell_mm
        for a, b in pairwise(line):
            along = b - a
            t = ((x - a[0]) * along[0] + (y - a[1]) * along[1]) / max(1e-12, float(along @ along))
            t = np.clip(t, 0.0, 1.0)
            near |= np.hypot(x - a[0] - t * along[0], y - a[1] - t * along[1]) < reach
    return near


def _shortest(
    plan: Plan, start: FloatArray, *, wide_mm: float, mouths: BoolArray, blocked: BoolArray, leave: float
) -> IntArray | None:
    """Cells (k, 2: x, y) of the cheapest way from beside `start` to `mouths` (ny, nx); `leave` as `LEAVE_RATIO`."""
    ny, nx = plan.away_mm.shape
    y, x = np.mgrid[:ny, :nx]
    from_start = np.linalg.norm(np.stack([x, y], axis=-1) - plan.cells_at(start[:2]), axis=-1) * plan.cell_mm
    clear = plan.away_mm >= wide_mm + CLEAR_MM
    beside = (from_start <= 1.5 * (wide_mm + CLEAR_MM) + 2 * plan.cell_mm) & (plan.away_mm > 0.0)
    beside &= plan.away_mm >= leave * from_start - 2 * plan.cell_mm
    free = (clear | beside) & ~blocked
    mouths = free & clear & mouths
    first = np.where(free, from_start, np.inf)
    if not mouths.any() or first.min() > wide_mm + 2 * plan.cell_mm:
        return None
    begin = int(np.argmin(first))
    cost, back = dijkstra(
        _graph(plan, free, clear), indices=begin, return_predecessors=True, limit=4.0 * plan.cell_mm * (nx + ny) * 6
    )
    ends = np.flatnonzero(mouths)
    end = int(ends[np.argmin(cost[ends])])
    if not np.isfinite(cost[end]):
        return None
    way = [end]
    while way[-1] != begin:
        way.append(int(back[way[-1]]))
    return np.array([[n % nx, n // nx] for n in way[::-1]])


def _mouths(plan: Plan, mouth_mm: float, *, least_out: float) -> BoolArray:
    """Cells (ny, nx) on the rim where all of a mouth lies above the part, on a side that looks up enough."""
    ny, nx = plan.away_mm.shape
    mouths = np.zeros((ny, nx), bool)
    keep = int(np.ceil((mouth_mm + CLEAR_MM) / plan.cell_mm))
    along_up = plan.surface.frame @ plan.up
    for side, out in (
        (np.s_[keep : ny - keep, 0], -along_up[0]),
        (np.s_[keep : ny - keep, nx - 1], along_up[0]),
        (np.s_[0, keep : nx - keep], -along_up[1]),
        (np.s_[ny - 1, keep : nx - keep], along_up[1]),
    ):
        if out >= least_out:
            hangs_mm = mouth_mm * np.sqrt(max(0.0, 1.0 - out * out))
            mouths[side] = plan.level_mm[side] - hangs_mm >= plan.top_mm
    return mouths


def _graph(plan: Plan, free: BoolArray, clear: BoolArray) -> csr_array:
    """Steps from free cell to free cell that do not sink, at their length in space."""
    ny, nx = free.shape
    number = np.arange(ny * nx).reshape(ny, nx)
    starts, stops, lengths = [], [], []
    slopes = np.array(np.gradient(plan.height_mm, plan.cell_mm))
    for dx, dy in STEPS:
        ay, by = (np.s_[: ny - dy], np.s_[dy:]) if dy >= 0 else (np.s_[-dy:], np.s_[: ny + dy])
        ax, bx = np.s_[: nx - dx], np.s_[dx:]
        both = free[ay, ax] & free[by, bx]
        across = plan.height_mm[by, bx] - plan.height_mm[ay, ax]
        length = np.sqrt((dx * dx + dy * dy) * plan.cell_mm**2 + across**2)
        rise = plan.level_mm[by, bx] - plan.level_mm[ay, ax]
        cost = length * np.where(clear[ay, ax] & clear[by, bx], 1.0, CLOSE_COST)
        slope = 0.5 * (slopes[:, ay, ax] + slopes[:, by, bx])
        cost = cost * (1.0 + LEAN_COST * ((slope[0] * dx - slope[1] * dy) / np.hypot(dx, dy)) ** 2)
        for one, two, sense in ((number[ay, ax], number[by, bx], 1.0), (number[by, bx], number[ay, ax], -1.0)):
            rising = both & (sense * rise >= -DIP_RATIO * length)
            starts.append(one[rising])
            stops.append(two[rising])
            lengths.append(cost[rising])
    links = (np.concatenate(starts), np.concatenate(stops))
    return csr_array((np.concatenate(lengths), links), shape=(ny * nx, ny * nx))


def _drawn_tight(plan: Plan, start: FloatArray, cells: IntArray, wide_mm: float, blocked: BoolArray) -> FloatArray:
    """The way in plan pulled straight where nothing is in the way, then laid on the surface: (k, 3) in the frame."""
    xy = np.vstack([start[:2], plan.origin_mm + plan.cell_mm * cells])
    kept, here = [0], 0
    while here < len(xy) - 1:
        ahead = len(xy) - 1
        while ahead > here + 1 and not _open_between(plan, xy[here], xy[ahead], start, wide_mm, blocked):
            ahead -= max(1, (ahead - here) // 8)
        here = max(ahead, here + 1)
        kept.append(here)
    between = []
    for a, b in pairwise(xy[kept]):
        count = max(1, int(np.ceil(np.linalg.norm(b - a) / POINT_STEP_MM)))
        between.append(a + np.linspace(0, 1, count + 1)[1:, None] * (b - a))
    places = np.concatenate(between)
    return _without_straight(np.vstack([start, np.column_stack([places, plan.surface.height_mm(places)])]))


def _open_between(
    plan: Plan, a: FloatArray, b: FloatArray, start: FloatArray, wide_mm: float, blocked: BoolArray
) -> bool:
    """Whether the straight line in plan from a to b is clear and never sinks."""
    count = max(2, int(np.ceil(np.linalg.norm(b - a) / plan.cell_mm)) + 1)
    xy = a + np.linspace(0, 1, count)[:, None] * (b - a)
    away = plan.away_at(xy)
    beside = np.linalg.norm(xy - start[:2], axis=1)
    if (away + 0.5 * plan.cell_mm < np.minimum(wide_mm + CLEAR_MM + 0.5 * plan.cell_mm, 0.7 * beside)).any():
        return False
    x, y = np.rint(plan.cells_at(xy)).astype(int).T
    if blocked[np.clip(y, 0, blocked.shape[0] - 1), np.clip(x, 0, blocked.shape[1] - 1)].any():
        return False
    cy, cx = plan.cells_at(xy).T[::-1]
    level = map_coordinates(plan.level_mm, [cy, cx], order=1, mode="nearest")
    return bool((np.diff(level) >= -DIP_RATIO * plan.cell_mm).all())


def _without_straight(points: FloatArray) -> FloatArray:
    """The polyline without points that lie within `FLAT_MM` of the straight line past them."""
    kept = [0]
    for k in range(1, len(points) - 1):
        a, b = points[kept[-1]], points[k + 1]
        along = (b - a) / max(1e-12, float(np.linalg.norm(b - a)))
        off = points[kept[-1] + 1 : k + 1] - a
        if np.linalg.norm(off - (off @ along)[:, None] * along, axis=1).max() > FLAT_MM:
            kept.append(k)
    fewer: FloatArray = points[[*kept, len(points) - 1]]
    return fewer


def _led_out(plan: Plan, path: FloatArray, mouth_mm: float) -> FloatArray:
    """The way drawn on, level in the frame, until its mouth lies outside the block."""
    low, high = plan.surface.low_mm[:2], plan.surface.high_mm[:2]
    end = path[-1, :2]
    gaps = np.concatenate([end - low, high - end])
    side = int(np.argmin(gaps))
    out = np.zeros(3)
    out[side % 2] = -1.0 if side < 2 else 1.0
    return np.vstack([path, path[-1] + (float(gaps[side]) + mouth_mm + 1.0) * out])
