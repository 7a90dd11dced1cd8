"""Keys: rounded cones on the parting surface that let the halves close in one way only."""

from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely

from firstpour.fill.values import Channel
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block
from firstpour.parting.key_room import corner_sites
from firstpour.parting.sheet import Sheet
from firstpour.values import FloatArray

CHANNEL_GAP_MM = 1.0
LEAST_COVER_MM = 3.0
"""Silicone that stays over the tip of a key."""
LEAST_HEIGHT_RATIO = 0.5
"""A key lower than this share of its radius holds nothing (our own choice)."""
STEEP_COS = float(np.cos(np.radians(45.0)))
"""On a steeper parting surface a key stands only if there is no other place: silicone beside its foot runs thin."""
LEAST_PLAN_MM2 = 1e-4
SMALLER = (1.0, 0.75, 0.5)
"""Keys are made so much smaller before none are made."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Key:
    """A cone, its foot at `foot_mm` (3,) on the parting surface; stands on the lower half or hangs on the upper."""

    foot_mm: FloatArray
    radius_mm: float
    height_mm: float
    on_lower: bool


def place_keys(
    sheet: Sheet,
    block: Block,
    settings: MouldSettings,
    *,
    channels: tuple[Channel, ...] = (),
    every_mm: float = np.inf,
) -> tuple[Key, ...]:
    """Three or four keys near the corners, clear of the part by the wall and of the channels; fewer where none fit.

    More stand between them, so that no place with room for one lies `every_mm` from all of them.

    The first hangs on the upper half and the rest stand on the lower, so that turning one half about never fits.
    """
    part = shapely.box(*block.low_mm[:2], *block.high_mm[:2]).difference(sheet.region)
    steep = steep_places(sheet)
    for share in SMALLER:
        for off in (steep,) if steep.is_empty else (steep, shapely.Polygon()):
            keys = _keys_of(share * settings.key_radius_mm, part, sheet, block, settings, channels, every_mm, off=off)
            if len(keys) >= 3:
                return keys
    return ()


def steep_places(sheet: Sheet) -> shapely.Geometry:
    """The plan of where the parting surface is steeper than 45°."""
    a, b, c = (sheet.points_mm[sheet.tri[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    steep = np.abs(normals[:, 2]) < STEEP_COS * np.linalg.norm(normals, axis=1)
    steep &= np.abs(normals[:, 2]) > LEAST_PLAN_MM2
    return shapely.union_all(shapely.polygons(sheet.points_mm[sheet.tri[steep]][:, :, :2]), grid_size=1e-3)


def _keys_of(
    radius_mm: float,
    part: shapely.Geometry,
    sheet: Sheet,
    block: Block,
    settings: MouldSettings,
    channels: tuple[Channel, ...],
    every_mm: float,
    *,
    off: shapely.Geometry,
) -> tuple[Key, ...]:
    """Keys of one radius, off a plan, each as high as the silicone over its tip allows; those too low left out."""
    taken = [] if off.is_empty else [off.buffer(radius_mm)]
    taken += [
        shapely.LineString(one.path_mm[:, :2]).buffer(one.radius_end_mm + radius_mm + CHANNEL_GAP_MM)
        for one in channels
    ]
    chosen = corner_sites(
        part, block, wall_mm=settings.wall_mm, key_radius_mm=radius_mm, taken=taken, every_mm=every_mm
    )
    if len(chosen) < 3:
        return ()
    heights = sheet_heights(sheet, chosen)
    cover = np.minimum(block.high_mm[2] - heights, heights - block.low_mm[2]) - LEAST_COVER_MM
    kept = [k for k in range(len(chosen)) if cover[k] >= LEAST_HEIGHT_RATIO * radius_mm]
    return tuple(
        Key(
            foot_mm=np.array([*chosen[k], heights[k]]),
            radius_mm=radius_mm,
            height_mm=min(2.0 * radius_mm, float(cover[k])),
            on_lower=n > 0,
        )
        for n, k in enumerate(kept)
    )


def sheet_heights(sheet: Sheet, xy: FloatArray) -> FloatArray:
    """Height (k,) of the parting surface at places (k, 2) that lie on it."""
    a, b, c = (sheet.points_mm[sheet.tri[:, k]] for k in range(3))
    area = _cross(b - a, c - a)
    area = np.where(area == 0.0, np.inf, area)
    heights = []
    for place in xy:
        to_b, to_c = _cross(place - a[:, :2], c - a) / area, _cross(b - a, place - a[:, :2]) / area
        least = np.minimum(np.minimum(to_b, to_c), 1.0 - to_b - to_c)
        t = int(np.argmax(np.where(np.isfinite(area), least, -np.inf)))
        heights.append(a[t, 2] + to_b[t] * (b[t, 2] - a[t, 2]) + to_c[t] * (c[t, 2] - a[t, 2]))
    return np.array(heights)


def _cross(u: FloatArray, v: FloatArray) -> FloatArray:
    product: FloatArray = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return product


def key_solid(key: Key, *, clearance_mm: float = 0.0) -> manifold3d.Manifold:
    """The key as a solid, its foot sunk into the half that carries it; grown by `clearance_mm` for its seat."""
    r, h, c = key.radius_mm, key.height_mm, clearance_mm
    profile = [(0.0, -0.5 * r), (r + c, -0.5 * r), (r + c, 0.0), (0.8 * r + c, 0.6 * h), (0.55 * r + c, 0.9 * h)]
    profile += [(0.25 * r + c, h + c), (0.0, h + c)]
    cone = manifold3d.CrossSection([np.array(profile)]).revolve(32)
    if not key.on_lower:
        cone = cone.mirror((0.0, 0.0, 1.0))
    return cone.translate(tuple(float(value) for value in key.foot_mm))


def closes_one_way(keys: tuple[Key, ...], block: Block) -> bool:
    """Whether no turn of the upper half about the draw, other than none, brings keys to seats."""
    size = (block.high_mm - block.low_mm)[:2]
    centre = 0.5 * (block.high_mm + block.low_mm)[:2]
    turns = [np.array([[-1.0, 0.0], [0.0, -1.0]])]
    if abs(size[0] - size[1]) < 2.0:
        quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
        turns += [quarter, quarter.T]
    return len(keys) >= 3 and not any(_fits(keys, turn, centre) for turn in turns)


def _fits(keys: tuple[Key, ...], turn: FloatArray, centre: FloatArray) -> bool:
    """Whether each seat of the turned upper half meets a key of its own kind."""
    for key in keys:
        place = centre + turn @ (key.foot_mm[:2] - centre)
        near = [k for k in keys if np.linalg.norm(k.foot_mm[:2] - place) < 0.5 * k.radius_mm]
        if not near or near[0].on_lower != key.on_lower:
            return False
    return True
