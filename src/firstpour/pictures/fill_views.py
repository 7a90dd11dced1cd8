"""The cavity of a filling as images: seen through from the side, and from above, with the level at a height."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstpour.fill.values import Fill
from firstpour.values import BoolArray, FloatArray

Rgb = NDArray[np.uint8]

MOULD = (221, 228, 234)
OUTLINE = (70, 78, 84)
MATERIAL = (116, 146, 171)
EMPTY = (248, 250, 250)
AIR = (169, 140, 164)
"""Quiet tones of our own: pale silicone, the material a darker shade of it, air in the plum that means trouble."""
MARGIN = 2  # pixels round the cavity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """The cavity seen through from the side: how much of it lies behind each pixel, material and trapped air (mm).

    `material_mm`, `air_mm` (rows from below, columns): the middle of pixel (r, c) lies `left_mm` + c · `step_mm`
    along `across` (2,) of the dexels' u, v, and `floor_mm` + r · `step_mm` up.
    """

    material_mm: FloatArray
    air_mm: FloatArray
    across: FloatArray
    left_mm: float
    floor_mm: float
    step_mm: float


def look_through(fill: Fill, *, across: FloatArray | None = None) -> Side:
    """Look along the level with `across` (2,) to the right.

    By default that lies from the gate to the largest pocket or vent, else along the longer side.
    """
    d = fill.dexels
    counts = np.diff(d.offsets) // 2
    line = np.repeat(np.arange(d.nx * d.ny), counts)
    uv = d.origin_mm + np.stack([line % d.nx, line // d.nx], axis=1) * d.pitch_mm
    across = _across(fill) if across is None else across
    place = uv @ across
    step = d.pitch_mm
    left, floor = float(place.min()) - MARGIN * step, float(d.z_mm.min()) - MARGIN * step
    shape = (
        int((float(d.z_mm.max()) - floor) / step) + MARGIN + 2,
        int((float(place.max()) - left) / step) + MARGIN + 2,
    )
    column = (place - left) / step
    bottom, top = d.z_mm[0::2], d.z_mm[1::2]
    sealed = np.clip(fill.trapped_from_mm, bottom, top)
    material = _project(column, (bottom - floor) / step, (sealed - floor) / step, shape) * step
    air = _project(column, (sealed - floor) / step, (top - floor) / step, shape) * step
    return Side(material_mm=material, air_mm=air, across=across, left_mm=left, floor_mm=floor, step_mm=step)


def sealed_air(fill: Fill, side: Side, *, level_mm: float) -> FloatArray:
    """Like `side.air_mm`, but only of the pockets cut off once the level has come to `level_mm`."""
    if np.isinf(level_mm):
        return side.air_mm
    d = fill.dexels
    held = np.flatnonzero((fill.trapped_from_mm <= level_mm) & (d.z_mm[1::2] > fill.trapped_from_mm))
    line = (np.searchsorted(d.offsets, 2 * held, side="right") - 1).astype(np.int64)
    uv = d.origin_mm + np.stack([line % d.nx, line // d.nx], axis=1) * d.pitch_mm
    column = (uv @ side.across - side.left_mm) / side.step_mm
    low = np.maximum(fill.trapped_from_mm[held], d.z_mm[2 * held])
    low, high = ((z - side.floor_mm) / side.step_mm for z in (low, d.z_mm[2 * held + 1]))
    shape = (side.air_mm.shape[0], side.air_mm.shape[1])
    return _project(column, low, high, shape) * side.step_mm


def _across(fill: Fill) -> FloatArray:
    d = fill.dexels
    gate = d.frame @ fill.gate_mm
    for other in [*(pocket.top_mm for pocket in fill.pockets[:1]), *fill.vents_mm]:
        apart = (d.frame @ other - gate)[:2]
        if np.linalg.norm(apart) > 4 * d.pitch_mm:
            along: FloatArray = apart / np.linalg.norm(apart)
            return along
    return np.array([1.0, 0.0]) if d.nx >= d.ny else np.array([0.0, 1.0])


def _project(column: FloatArray, low: FloatArray, high: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """How many lines lie behind each pixel: each line's stretch from `low` to `high` (rows) shared by two columns."""
    change = np.zeros((shape[0] + 1, shape[1] + 1))
    first = np.floor(column).astype(int)
    for c, share in ((first, 1 - (column - first)), (first + 1, column - first)):
        for row, sign in ((low, 1.0), (high, -1.0)):
            r = np.floor(row).astype(int)
            np.add.at(change, (r, c), sign * share * (1 - (row - r)))
            np.add.at(change, (r + 1, c), sign * share * (row - r))
    lines: FloatArray = np.maximum(np.cumsum(change, axis=0)[: shape[0], : shape[1]], 0.0)
    return lines


def side_mask(side: Side) -> FloatArray:
    """How much of each pixel of the side view the cavity covers, 0–1, top row first."""
    share: FloatArray = np.clip((side.material_mm + side.air_mm) / (1.5 * side.step_mm), 0, 1)[::-1]
    return share


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tones:
    """The side view all full and all empty (rows, columns, 3), and the outline in it; rows from below."""

    full: FloatArray
    empty: FloatArray
    edge: BoolArray


def tones_of(side: Side) -> Tones:
    """What the side view looks like whatever the level."""
    thick = side.material_mm + side.air_mm
    deep = np.sqrt(thick / max(float(thick.max()), 1e-9))[..., None]
    solid = thick > 0.75 * side.step_mm
    edge = np.zeros_like(solid)
    edge[1:] |= solid[1:] != solid[:-1]
    edge[:, 1:] |= solid[:, 1:] != solid[:, :-1]
    return Tones(full=np.array(MATERIAL) * (1.12 - 0.32 * deep), empty=np.array(EMPTY) * (1 - 0.10 * deep), edge=edge)


def paint_side(fill: Fill, side: Side, tones: Tones, *, level_mm: float) -> tuple[Rgb, FloatArray]:
    """The side view (rows, columns, 3) with material up to `level_mm`, and where air is held (0–1); top row first."""
    rows = side.floor_mm + np.arange(len(side.air_mm)) * side.step_mm
    wet = np.clip((level_mm - rows) / side.step_mm + 0.5, 0, 1)[:, None, None]
    inside = wet * tones.full + (1 - wet) * tones.empty
    held = np.clip(sealed_air(fill, side, level_mm=level_mm) / (1.5 * side.step_mm), 0, 1)
    there = held > 0
    share = held[there][:, None]
    inside[there] = (1 - 0.9 * share) * inside[there] + 0.9 * share * np.array(AIR)
    inside[tones.edge] = 0.55 * inside[tones.edge] + 0.45 * np.array(OUTLINE)
    painted: Rgb = inside.clip(0, 255).astype(np.uint8)
    return painted[::-1], held[::-1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Above:
    """The roof seen from above, by column of the dexels (n,): whether there is one, how high, how light it is."""

    hit: BoolArray
    roof_mm: FloatArray
    light: FloatArray


def look_down(fill: Fill) -> Above:
    """Look at the roof of the cavity from above."""
    d = fill.dexels
    hit = np.diff(d.offsets) > 0
    roof = np.full(d.nx * d.ny, np.nan)
    roof[hit] = d.z_mm[d.offsets[1:][hit] - 1]
    return Above(hit=hit, roof_mm=roof, light=_light(roof.reshape(d.ny, d.nx), d.pitch_mm).ravel())


def paint_above(fill: Fill, above: Above, *, level_mm: float) -> tuple[Rgb, BoolArray, BoolArray]:
    """The roof seen from above (ny, nx, 3), shaded, with material where it is under; where it is; where air stays."""
    d, hit = fill.dexels, above.hit
    last = d.offsets[1:][hit] - 1
    air = np.zeros(d.nx * d.ny, bool)
    sealed = fill.trapped_from_mm[last // 2]
    air[hit] = (d.z_mm[last] > sealed) & (sealed <= level_mm)
    tones = np.array([EMPTY, MATERIAL, AIR])[np.where(air, 2, above.roof_mm <= level_mm)]
    image = np.where(hit[:, None], tones * above.light[:, None], MOULD).clip(0, 255).astype(np.uint8)
    shape = (d.ny, d.nx)
    return image.reshape(*shape, 3)[::-1], hit.reshape(shape)[::-1], air.reshape(shape)[::-1]


def _light(roof: FloatArray, pitch_mm: float) -> FloatArray:
    dv, du = np.gradient(roof, pitch_mm)
    normal = np.stack([-du, -dv, np.ones_like(roof)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    lit = normal @ (np.array([-0.4, 0.5, 0.77]))
    shade: FloatArray = np.nan_to_num(0.55 + 0.5 * np.clip(lit, 0, 1), nan=0.75)
    return shade
