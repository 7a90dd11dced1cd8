"""Room for keys on the parting surface: near the corners of the block, clear of the part and of what is taken."""

from collections.abc import Sequence

import numpy as np
import shapely

from firstpour.parting.block import Block
from firstpour.values import FloatArray

RIM_GAP_MM = 2.0
"""Silicone between a key and the rim of the block (common practice, no source)."""
SITES = 60
"""Places tried along each side of the room."""
APART_RATIO = 0.25
"""Keys stand at least this share of the block's shorter side apart."""


def corner_sites(
    part: shapely.Geometry,
    block: Block,
    *,
    wall_mm: float,
    key_radius_mm: float,
    taken: Sequence[shapely.Geometry] = (),
    every_mm: float = np.inf,
) -> FloatArray:
    """Places (k, 2) for keys: for each corner of the block the nearest with room, those kept that are well apart.

    Then, one after the other, the place that is farthest from all keys, while it is `every_mm` or more away.

    There is room where the key is clear of `part` (the plan of what the seam encloses) by the silicone wall, of the
    rim, and of what is `taken` (plans in which no middle of a key may lie). Fewer than three where there is none.
    """
    room = shapely.box(*block.low_mm[:2], *block.high_mm[:2]).buffer(-(key_radius_mm + RIM_GAP_MM))
    room = room.difference(part.simplify(0.2).buffer(wall_mm + key_radius_mm))
    for other in taken:
        room = room.difference(other)
    if room.is_empty:
        return np.empty((0, 2))
    x0, y0, x1, y1 = room.bounds
    x, y = np.meshgrid(np.linspace(x0, x1, SITES), np.linspace(y0, y1, SITES))
    shapely.prepare(room)
    inside = shapely.intersects_xy(room, x, y)
    sites = np.column_stack([x[inside], y[inside]])
    return _between(_near_corners(sites, block), sites, every_mm)


def _between(chosen: FloatArray, sites: FloatArray, every_mm: float) -> FloatArray:
    """The places chosen and those between them, so that none of the `sites` is `every_mm` from all of them."""
    if len(chosen) == 0 or not np.isfinite(every_mm):
        return chosen
    away = np.linalg.norm(sites[:, None] - chosen, axis=2).min(axis=1)
    while away.max() >= every_mm:
        farthest = sites[int(np.argmax(away))]
        chosen = np.vstack([chosen, farthest])
        away = np.minimum(away, np.linalg.norm(sites - farthest, axis=1))
    return chosen


def _near_corners(sites: FloatArray, block: Block) -> FloatArray:
    """For each corner the site nearest to it, those kept that lie well apart."""
    if len(sites) == 0:
        return sites
    (x0, y0), (x1, y1) = block.low_mm[:2], block.high_mm[:2]
    apart = APART_RATIO * float(min(x1 - x0, y1 - y0))
    chosen: list[FloatArray] = []
    for corner in np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]):
        nearest = sites[np.argmin(np.linalg.norm(sites - corner, axis=1))]
        if all(np.linalg.norm(nearest - other) > apart for other in chosen):
            chosen.append(nearest)
    return np.array(chosen)
