"""Straight and free ways of a gate or a vent from the part out of the block, clear of the part."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from firstpour.fill.places import polyline_distance_mm
from firstpour.fill.surface_ways import CLEAR_MM
from firstpour.kernels import locate
from firstpour.kernels.nodes import node_columns
from firstpour.part.part import Part
from firstpour.surface.dexels import Dexels, cut_dexels, top_map_mm
from firstpour.values import FloatArray, frame_along

TILTS_DEG = (0.0, 15.0, 30.0, 45.0, 60.0)
TURNS = 12
BEND_STEP_MM = 4.0
BEND_TILTS_DEG = (40.0, 65.0, 90.0)
RIM = 8
BESIDE_MM = 1.5
"""Least silicone between a channel along the parting surface and the part: the least wall (decision 0033)."""
BETWEEN_MM = 0.6
"""Circles on which a wall of the part is looked for about a channel: half the least wall that is commonly cast."""
BESIDE_TURNS = 40
BESIDE_LEANS_DEG = np.arange(-75.0, 80.0, 15.0)
"""Slants at which silicone beside a channel is measured, too: where it leaves the part askew a wedge lies behind."""
FOOT_REACH = 1.0
"""A foot hangs over where the part falls away by more than so many of its radii under its rim: steeper than 45°."""
LEAST_FACING = 0.35
"""Cosine of the angle between a face and the draw, the least for a channel straight along it: 70° off."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What a channel must keep clear of: the part, spheres (k, 4: x, y, z, radius) and channels already laid.

    `box` rows span the block and `low_mm`, `high_mm` bound it along them; channels end past it, above `part_top_mm`.
    """

    dexels: Dexels
    start: FloatArray
    up: FloatArray
    box: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray
    part_top_mm: float
    spheres: FloatArray
    laid: tuple[tuple[FloatArray, float], ...] = ()


def lay_ground(
    part: Part,
    *,
    up: FloatArray,
    draw: FloatArray | None,
    wall_mm: float,
    spheres: FloatArray | None,
    resolution: int,
) -> Ground:
    """The ground for a part in a block that stands `wall_mm` off it on every side, its floor across `draw`."""
    dexels = cut_dexels(part.mesh, up, resolution=resolution)
    box = frame_along(up if draw is None else draw)
    inside = part.mesh.vertices_mm @ box.T
    return Ground(
        dexels=dexels,
        start=node_columns(dexels.offsets)[1],
        up=dexels.frame[2],
        box=box,
        low_mm=inside.min(axis=0) - wall_mm,
        high_mm=inside.max(axis=0) + wall_mm,
        part_top_mm=float((part.mesh.vertices_mm @ dexels.frame[2]).max()),
        spheres=np.empty((0, 4)) if spheres is None else np.asarray(spheres, dtype=np.float64).reshape(-1, 4),
    )


def free_way(
    ground: Ground, at_mm: FloatArray, *, normal: FloatArray, radius_mm: float, straight: bool = False
) -> FloatArray | None:
    """The first clear way out of a block that is cut open along it: straight up, or (not `straight`) slanted.

    A way that starts on a steep face leaves it squarely first; where the part hangs over it, it goes out from under
    the part and then up. None if no way is clear.
    """
    if straight:
        path = np.stack([at_mm, _way_out(ground, at_mm, ground.up, radius_mm)])
        return path if is_clear(ground, path, normal=normal, radius_mm=radius_mm) else None
    leave = at_mm + normal * (2 * radius_mm + ground.dexels.pitch_mm)
    for direction in _directions(ground.up):
        bends = [at_mm] if direction @ normal > 0.5 else [at_mm, leave]
        path = np.stack([*bends, _way_out(ground, bends[-1], direction, radius_mm)])
        if is_clear(ground, path, normal=normal, radius_mm=radius_mm):
            return path
    for bend in _bends(ground, at_mm, normal):
        path = np.stack([at_mm, bend, _way_out(ground, bend, ground.up, radius_mm)])
        if is_clear(ground, path, normal=normal, radius_mm=radius_mm):
            return path
    return None


def way_along_draw(
    ground: Ground, at_mm: FloatArray, *, normal: FloatArray, radius_mm: float, draw: FloatArray
) -> FloatArray | None:
    """The straight way along the draw, out through one half, on the side that looks up; None if it is not clear."""
    out = draw / np.linalg.norm(draw)
    out = out if out @ ground.up >= 0 else -out
    if out @ normal < LEAST_FACING:
        return None
    path = np.stack([at_mm, _way_out(ground, at_mm, out, radius_mm)])
    return path if is_clear(ground, path, normal=normal, radius_mm=radius_mm) else None


def stands_on_part(ground: Ground, path_mm: FloatArray, *, radius_mm: float) -> bool:
    """Whether the whole foot of a channel along `path_mm` stands on the part, its rim within `FOOT_REACH` radii.

    Under a foot that hangs over an edge lies a film of silicone that tears off at the first opening.
    """
    d = ground.dexels
    along = (path_mm[1] - path_mm[0]) / np.linalg.norm(path_mm[1] - path_mm[0])
    u, v = frame_along(along)[:2]
    turn = np.arange(2 * RIM) * np.pi / RIM
    rim = path_mm[0] + radius_mm * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v)
    depths = np.linspace(0.0, FOOT_REACH * radius_mm, 2 * RIM)[1:]
    pixels = (rim[:, None] - depths[:, None] * along).reshape(-1, 3) @ d.frame.T
    pixels[:, :2] = (pixels[:, :2] - d.origin_mm) / d.pitch_mm
    inside = locate.inside_solid(pixels, d.z_mm, ground.start, d.nx, d.ny)
    return bool(inside.reshape(len(rim), -1).any(axis=1).all())


def keeps_off(ground: Ground, path_mm: FloatArray, *, radius_mm: float, mouth_mm: float) -> bool:
    """Whether a channel that grows from `radius_mm` to `mouth_mm` keeps `BESIDE_MM` off the part once it has left it.

    It has left the part after two radii and twice `BESIDE_MM` of its way. By dexels, at points a pitch apart on the
    axis and on circles around it, no farther apart than half a thin wall, and that far from its side at a slant, too.
    """
    d = ground.dexels
    lengths = np.linalg.norm(np.diff(path_mm, axis=0), axis=1)
    ahead = np.concatenate([[0.0], np.cumsum(lengths)])
    first = 2.0 * (radius_mm + BESIDE_MM)
    at = np.linspace(first, ahead[-1], max(2, int(np.ceil((ahead[-1] - first) / d.pitch_mm)) + 1))
    axis = np.column_stack([np.interp(at, ahead, path_mm[:, k]) for k in range(3)])
    along = np.diff(path_mm, axis=0)[np.clip(np.searchsorted(ahead, at, side="right") - 1, 0, len(lengths) - 1)]
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    u = np.cross(along, np.eye(3)[np.argmin(np.abs(along), axis=1)])
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    v = np.cross(along, u)
    turn = np.arange(BESIDE_TURNS) * 2 * np.pi / BESIDE_TURNS
    wide_mm = radius_mm + at / ahead[-1] * (mouth_mm - radius_mm)
    circles = np.cos(turn)[:, None, None] * u + np.sin(turn)[:, None, None] * v
    shares = np.linspace(0.0, 1.0, 1 + int(np.ceil((wide_mm.max() + BESIDE_MM) / BETWEEN_MM)))
    places = axis + shares[:, None, None, None] * (wide_mm[:, None] + BESIDE_MM) * circles
    lean = np.radians(BESIDE_LEANS_DEG)[:, None, None, None]
    leaning = axis + wide_mm[:, None] * circles + BESIDE_MM * (np.cos(lean) * circles + np.sin(lean) * along)
    places = np.concatenate([places, leaning])
    pixels = places.reshape(-1, 3) @ d.frame.T
    pixels[:, :2] = (pixels[:, :2] - d.origin_mm) / d.pitch_mm
    return not locate.inside_solid(pixels, d.z_mm, ground.start, d.nx, d.ny).any()


def _bends(ground: Ground, at_mm: FloatArray, normal: FloatArray) -> FloatArray:
    """Places (k, 3) inside the block to go to before turning up, the nearest first; nothing stands over them."""
    a, b = frame_along(ground.up)[:2]
    tilts, turns = np.meshgrid(np.radians(BEND_TILTS_DEG), np.arange(TURNS) * 2 * np.pi / TURNS)
    ways = np.cos(tilts.ravel())[:, None] * ground.up
    ways = ways + np.sin(tilts.ravel())[:, None] * (
        np.cos(turns.ravel())[:, None] * a + np.sin(turns.ravel())[:, None] * b
    )
    ways = ways[ways @ normal > 0.1]
    reach = np.arange(BEND_STEP_MM, float(np.linalg.norm(ground.high_mm - ground.low_mm)), BEND_STEP_MM)
    places = (at_mm + reach[:, None, None] * ways).reshape(-1, 3)
    inside = places @ ground.box.T
    kept = ((inside > ground.low_mm + CLEAR_MM) & (inside < ground.high_mm - CLEAR_MM)).all(axis=1)
    found: FloatArray = places[kept & ~_overhung(ground, places)]
    return found


def _overhung(ground: Ground, places: FloatArray) -> NDArray[np.bool_]:
    """Whether the part lies over or at each place (k, 3), by the line nearest to it."""
    d = ground.dexels
    turned = places @ d.frame.T
    i, j = np.rint((turned[:, :2] - d.origin_mm) / d.pitch_mm).astype(int).T
    over: NDArray[np.bool_] = (i >= 0) & (j >= 0) & (i < d.nx) & (j < d.ny)
    top = top_map_mm(d)
    over[over] = top[j[over], i[over]] > turned[over, 2]
    return over


def _directions(up: FloatArray) -> list[FloatArray]:
    found = []
    a, b = frame_along(up)[:2]
    for tilt in np.radians(TILTS_DEG):
        turns = np.arange(TURNS if tilt else 1) * 2 * np.pi / TURNS
        found += [np.cos(tilt) * up + np.sin(tilt) * (np.cos(turn) * a + np.sin(turn) * b) for turn in turns]
    return found


def _way_out(ground: Ground, point: FloatArray, direction: FloatArray, radius_mm: float) -> FloatArray:
    """Where a line from inside the block has left it by its own radius and 1 mm."""
    place, along = ground.box @ point, ground.box @ direction
    with np.errstate(divide="ignore", invalid="ignore"):
        ways = np.where(along > 0, (ground.high_mm - place) / along, (ground.low_mm - place) / along)
    way = float(np.min(np.where(np.abs(along) > 1e-9, ways, np.inf)))
    out: FloatArray = point + (max(0.0, way) + radius_mm + 1.0) * direction
    return out


def is_clear(ground: Ground, path_mm: FloatArray, *, normal: FloatArray, radius_mm: float) -> bool:
    """Whether a channel along `path_mm` keeps `CLEAR_MM` off the part (but where it starts), keys and other channels.

    It must end above the part. Checked at points a pitch apart on the axis and on a rim one radius and `CLEAR_MM` off
    it, by dexels; the rim counts from where it has left the plane of the face it starts on.
    """
    d = ground.dexels
    if path_mm[-1] @ ground.up < ground.part_top_mm:
        return False
    rim_mm = radius_mm + CLEAR_MM
    axis, rim = _samples(path_mm, step_mm=d.pitch_mm, rim_mm=rim_mm)
    away = np.linalg.norm(axis - path_mm[0], axis=1)
    facing = max(0.2, float((path_mm[1] - path_mm[0]) @ normal / np.linalg.norm(path_mm[1] - path_mm[0])))
    left = rim_mm * min(2.0, np.sqrt(max(0.0, 1.0 / facing**2 - 1.0))) + CLEAR_MM
    free = np.concatenate([axis[away > 1.5 * d.pitch_mm], rim[away > left].reshape(-1, 3)])
    pixels = free @ d.frame.T
    pixels[:, :2] = (pixels[:, :2] - d.origin_mm) / d.pitch_mm
    if locate.inside_solid(pixels, d.z_mm, ground.start, d.nx, d.ny).any():
        return False
    if len(ground.spheres):
        off = polyline_distance_mm(ground.spheres[:, :3], path_mm)
        if (off < ground.spheres[:, 3] + radius_mm + CLEAR_MM).any():
            return False
    return all(
        float(polyline_distance_mm(axis, other).min()) >= radius_mm + other_mm + CLEAR_MM
        for other, other_mm in ground.laid
    )


def _samples(path_mm: FloatArray, *, step_mm: float, rim_mm: float) -> tuple[FloatArray, FloatArray]:
    """Points (k, 3) along the path, and points (k, RIM, 3) on a circle across it around each."""
    axis, rim = [], []
    turn = np.arange(RIM) * 2 * np.pi / RIM
    for a, b in pairwise(path_mm):
        count = int(np.ceil(np.linalg.norm(b - a) / step_mm)) + 1
        line = a + np.linspace(0, 1, count)[:, None] * (b - a)
        u, v = frame_along(b - a)[:2]
        circle = rim_mm * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v)
        axis.append(line)
        rim.append(line[:, None] + circle)
    return np.concatenate(axis), np.concatenate(rim)
