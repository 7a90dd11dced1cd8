"""What is marked on the pieces: which part and piece it is, which half, where to pour, where to cut a block open."""

import manifold3d
import numpy as np
import shapely
import shapely.affinity

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.box import prism, square_wider
from firstpour.mould.keys import Key
from firstpour.mould.letters import sunk, words_plan, words_width_mm
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block
from firstpour.values import FloatArray

FLOOR_DEEP_MM, FLOOR_STROKE_MM = 0.6, 1.2
"""Letters under a floor: so deep, and so wide a stroke."""
FLOOR_LETTERS_MM = (5.0, 10.0)
"""Lowest and highest letters under a floor."""
MOST_LETTERS = 12
RIM_DEEP_MM, DIMPLE_MM, DIMPLE_GAP_MM = 0.5, 0.7, 1.6
"""Marks sunk in the rim of a half: depth, radius, and the silicone that stays between them and outside of them."""
ARROW_MM = 1.4
"""Width and length of the arrow at a mouth."""
PLACES = (0.25, 0.35, 0.15, 0.65, 0.75, 0.85, 0.5)
"""Where along a side a mark is tried, as a share of its length."""
RIDGE_MM = 0.6
"""How far the ridge that marks the cut stands out from the inside of a box, and half its height."""


def floor_words(outline: shapely.Polygon, lines: tuple[str, ...], *, floor_mm: float) -> manifold3d.Manifold:
    """Words to cut into the underside of a floor at `floor_mm`, read from below; empty where no letter has room."""
    lines = tuple(line[:MOST_LETTERS] for line in lines if line)
    if not lines:
        return manifold3d.Manifold()
    x0, y0, x1, y1 = outline.bounds
    longest = max(lines, key=len)
    width = words_width_mm(longest, height_mm=10.0, stroke_mm=FLOOR_STROKE_MM) / 10.0
    height = min(0.7 * (x1 - x0) / width, 0.5 * (y1 - y0) / (1.5 * len(lines)), FLOOR_LETTERS_MM[1])
    if height < FLOOR_LETTERS_MM[0]:
        return manifold3d.Manifold()
    plans = []
    for row, line in enumerate(lines):
        plan = words_plan(line, height_mm=height, stroke_mm=FLOOR_STROKE_MM)
        plans.append(shapely.affinity.translate(plan, 0.0, 1.5 * height * (0.5 * (len(lines) - 1) - row)))
    both = shapely.affinity.scale(shapely.union_all(plans), -1.0, 1.0, origin=(0.0, 0.0))
    both = shapely.affinity.translate(both, 0.5 * (x0 + x1), 0.5 * (y0 + y1))
    return sunk(both, low_mm=floor_mm - 1.0, high_mm=floor_mm + FLOOR_DEEP_MM)


def rim_marks(
    block: Block, settings: MouldSettings, *, channels: tuple[Channel, ...], keys: tuple[Key, ...], rim_mm: float
) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """What is sunk into the rim of the upper and of the lower half: two dimples and one, and an arrow where to pour.

    Letters would leave slivers of silicone between their strokes. Nothing where the flat rim is too narrow, or where
    all of it is taken by keys and channels.
    """
    nothing = manifold3d.Manifold()
    if settings.rim_mm < DIMPLE_GAP_MM + 2.0 * DIMPLE_MM:
        return nothing, nothing
    taken = shapely.union_all(
        [shapely.LineString(one.path_mm[:, :2]).buffer(one.radius_end_mm + 0.5) for one in channels]
        + [shapely.Point(key.foot_mm[:2]).buffer(key.radius_mm + 0.5) for key in keys]
    )
    plans: list[list[shapely.Geometry]] = [[], []]
    reach = DIMPLE_MM + 0.5 * DIMPLE_GAP_MM
    one = shapely.Point(0.0, 0.0).buffer(DIMPLE_MM, quad_segs=6)
    two = shapely.union_all([shapely.affinity.translate(one, side * reach) for side in (-1.0, 1.0)])
    at = _free_place(block, shapely.box(*two.bounds), taken)
    if at is not None:
        plans = [[shapely.affinity.translate(two, *at)], [shapely.affinity.translate(one, *at)]]
    arrow = _arrow(block, channels, taken)
    if arrow is not None:
        plans[0].append(arrow)
    low, high = rim_mm - RIM_DEEP_MM, rim_mm + RIM_DEEP_MM
    first, second = (sunk(shapely.union_all(plan), low_mm=low, high_mm=high) for plan in plans)
    return first, second


def _free_place(block: Block, room: shapely.Geometry, taken: shapely.Geometry) -> tuple[float, float] | None:
    """A place in the rim along the front side of the block where `room`, its middle at the origin, is free."""
    low, high = block.low_mm, block.high_mm
    y = float(low[1]) + DIMPLE_GAP_MM + DIMPLE_MM
    for share in PLACES:
        x = float(low[0] + share * (high[0] - low[0]))
        if not shapely.affinity.translate(room, x, y).intersects(taken):
            return x, y
    return None


def _arrow(block: Block, channels: tuple[Channel, ...], taken: shapely.Geometry) -> shapely.Geometry | None:
    """An arrow beside the mouth of a gate that leaves by a side of the block, pointing at it."""
    gates = [one for one in channels if one.use is ChannelUse.GATE]
    side = _side_of(gates[0].path_mm[-1], block) if gates else None
    if side is None:
        return None
    axis, sign = side
    mouth, radius = gates[0].path_mm[-1], gates[0].radius_end_mm
    edge = float((block.high_mm if sign > 0 else block.low_mm)[axis])
    across, along = np.zeros(2), np.zeros(2)
    across[axis], along[1 - axis] = -sign, 1.0
    start = np.array(mouth[:2], dtype=np.float64)
    start[axis] = edge - sign * DIMPLE_GAP_MM
    inside = shapely.box(*(block.low_mm[:2] + DIMPLE_GAP_MM - 0.01), *(block.high_mm[:2] - DIMPLE_GAP_MM + 0.01))
    for way in (1.0, -1.0):
        tip = start + 0.5 * ARROW_MM * across + way * (radius + DIMPLE_GAP_MM) * along
        back = tip + way * ARROW_MM * along
        arrow = shapely.Polygon([tip, back + 0.5 * ARROW_MM * across, back - 0.5 * ARROW_MM * across])
        if inside.contains(arrow) and not arrow.intersects(taken):
            return arrow
    return None


def _side_of(mouth: FloatArray, block: Block) -> tuple[int, float] | None:
    """Axis and sign of the upright side of the block by which a mouth (3,) lies outside; None for top and floor."""
    past = np.concatenate([block.low_mm[:2] - mouth[:2], mouth[:2] - block.high_mm[:2]])
    if past.max() <= 0.0:
        return None
    side = int(np.argmax(past))
    return side % 2, 1.0 if side >= 2 else -1.0


def cut_ridge(outline: shapely.Polygon, settings: MouldSettings, *, at_mm: float) -> manifold3d.Manifold:
    """A ridge to add to the inside of a box around a plan: it leaves a groove in the silicone to cut along."""
    inner = square_wider(outline, by_mm=settings.bed_clearance_mm)
    narrow = square_wider(inner, by_mm=-RIDGE_MM)
    waist = prism(narrow, low_mm=at_mm - 0.01, high_mm=at_mm + 0.01)
    halves = [
        manifold3d.Manifold.batch_hull([waist, prism(inner, low_mm=low, high_mm=low + 0.01)])
        for low in (at_mm - RIDGE_MM, at_mm + RIDGE_MM)
    ]
    into_wall = square_wider(inner, by_mm=0.5 * settings.least_wall_mm)
    whole = prism(into_wall, low_mm=at_mm - RIDGE_MM, high_mm=at_mm + RIDGE_MM)
    return whole - halves[0] - halves[1]
