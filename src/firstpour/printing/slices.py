"""The part cut into layers along a print direction: areas, perimeters, islands and cups."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.kernels import slices as kernel
from firstpour.surface.dexels import Dexels, cut_dexels, frame_of
from firstpour.surface.regions import joined
from firstpour.values import FloatArray, Mesh, frozen_array

MOST_LAYERS = 100_000
RESOLUTION = 192
FIRST_LAYERS = 5
"""What begins within so many layers of the plate is held by the plate or by the first supports: no island."""


class Footing(StrEnum):
    """How the print stands: flat on the plate, or lifted off it on supports."""

    PLATE = "plate"
    SUPPORTS = "supports"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slices:
    """By layer, from the plate up: height of its middle `z_mm` (n,) above the plate, `area_mm2`, `perimeter_mm`.

    All (n,), from exact plane cuts through the middle of each layer.
    """

    direction: FloatArray
    layer_mm: float
    height_mm: float
    z_mm: FloatArray
    area_mm2: FloatArray
    perimeter_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cup:
    """Void that the film would seal while it is printed: it holds liquid and pulls a vacuum.

    `closes_mm` and `opens_mm` are heights above the plate (`opens_mm` None: it never opens). `at_mm` (3,) lies at its
    lowest line, in the part's coordinates: a vent hole does most there. `area_mm2` is the largest section.
    """

    volume_mm3: float
    area_mm2: float
    closes_mm: float
    opens_mm: float | None
    at_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hollows:
    """What a raster of lines `pitch_mm` apart shows of a print: cups, islands, and by layer the sealed area (n,)."""

    footing: Footing
    pitch_mm: float
    cups: tuple[Cup, ...]
    cup_area_mm2: FloatArray
    islands_mm: FloatArray
    """(k, 3), in the part's coordinates: where layers begin in the air, apart from the first few."""


def slice_part(mesh: Mesh, direction: FloatArray, *, layer_mm: float) -> Slices:
    """Cut a closed mesh by planes through the middle of each layer along `direction`.

    Raises
    ------
    BadRequest
        If `direction` cannot be meant, `layer_mm` is not above 0, or it makes more than 100,000 layers.
    """
    frame = frame_of(direction)
    if not (np.isfinite(layer_mm) and layer_mm > 0.0):
        raise BadRequest(
            f"a layer height of {layer_mm} mm", remedy="give a layer height above 0 mm, for example 0.05"
        )
    turned = mesh.vertices_mm @ frame.T
    low, high = turned.min(axis=0), turned.max(axis=0)
    height_mm = float(high[2] - low[2])
    layers = max(1, int(np.ceil(height_mm / layer_mm - 1e-6)))
    if layers > MOST_LAYERS:
        raise BadRequest(
            f"{layers} layers of {layer_mm} mm in {height_mm:.0f} mm",
            remedy="check the units of the part, or use thicker layers",
        )
    turned -= np.array([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2]])
    area, perimeter = kernel.cut_layers(turned, mesh.faces, 0.5 * layer_mm, layer_mm, layers)
    return Slices(
        direction=frozen_array(frame[2], np.float64),
        layer_mm=layer_mm,
        height_mm=height_mm,
        z_mm=frozen_array((np.arange(layers) + 0.5) * layer_mm, np.float64),
        area_mm2=frozen_array(np.maximum(area, 0.0), np.float64),
        perimeter_mm=frozen_array(perimeter, np.float64),
    )


def find_hollows(
    mesh: Mesh, slices: Slices, *, footing: Footing, resolution: int = RESOLUTION, least_mm3: float = 20.0
) -> Hollows:
    """Find what holds liquid and what begins in the air, on a raster of `resolution` lines a side.

    Cups below `least_mm3` are left out of the list, not out of the areas. What is smaller than a pixel is not seen,
    nor a slit no higher than half a layer.
    """
    dexels = cut_dexels(mesh, slices.direction, resolution=resolution, margin=1)
    floor = float((mesh.vertices_mm @ dexels.frame[2]).min())
    lifted, passage_mm = footing is Footing.SUPPORTS, 0.5 * slices.layer_mm
    opens = kernel.open_levels(dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny, floor, passage_mm, lifted)
    low, high, line = _voids(dexels, floor)
    shut = np.minimum(high, opens)
    shut = np.where(shut - low > passage_mm, shut, low)
    cell = dexels.pitch_mm**2
    return Hollows(
        footing=footing,
        pitch_mm=dexels.pitch_mm,
        cups=_cups(dexels, low, shut, np.isinf(opens), line, floor, least_mm3),
        cup_area_mm2=frozen_array(cell * _covered(low, shut, floor + slices.z_mm), np.float64),
        islands_mm=frozen_array(_islands(dexels, floor, slices.layer_mm), np.float64),
    )


def _voids(dexels: Dexels, floor: float) -> tuple[FloatArray, FloatArray, NDArray[np.int64]]:
    """Lower end, upper end and line of every void, in the order of `kernels.slices.open_levels`."""
    lines = dexels.nx * dexels.ny
    runs = np.diff(dexels.offsets) // 2
    line = np.repeat(np.arange(lines), runs + 1)
    starts = dexels.offsets[:-1] // 2 + np.arange(lines)
    low, high = np.full(len(line), floor), np.full(len(line), np.inf)
    first = np.zeros(len(line), np.bool_)
    first[starts] = True
    last = np.zeros(len(line), np.bool_)
    last[starts + runs] = True
    low[~first] = dexels.z_mm[1::2]
    high[~last] = dexels.z_mm[0::2]
    return low, high, line


def _covered(low: FloatArray, high: FloatArray, levels: FloatArray) -> FloatArray:
    """How many of the spans [low, high) hold each of the rising levels."""
    real = high > low
    begun = np.searchsorted(np.sort(low[real]), levels, side="right")
    ended = np.searchsorted(np.sort(high[real]), levels, side="right")
    held: FloatArray = (begun - ended).astype(np.float64)
    return held


def _cups(
    dexels: Dexels,
    low: FloatArray,
    shut: FloatArray,
    sealed: NDArray[np.bool_],
    line: NDArray[np.int64],
    floor: float,
    least_mm3: float,
) -> tuple[Cup, ...]:
    """Join the sealed spans of neighbouring lines into cups, largest first."""
    chosen = np.flatnonzero(shut > low)
    if len(chosen) == 0:
        return ()
    labels = _joined_spans(dexels, low[chosen], shut[chosen], line[chosen])
    cups = []
    for label in range(int(labels.max()) + 1):
        member = chosen[labels == label]
        volume = float((shut[member] - low[member]).sum()) * dexels.pitch_mm**2
        if not volume >= least_mm3:
            continue
        levels = np.unique(low[member])
        area = float(_covered(low[member], shut[member], levels).max()) * dexels.pitch_mm**2
        lowest = member[int(np.argmin(low[member]))]
        cups.append(
            Cup(
                volume_mm3=volume,
                area_mm2=area,
                closes_mm=float(low[member].min()) - floor,
                opens_mm=None if sealed[member].any() else float(shut[member].max()) - floor,
                at_mm=frozen_array(dexels.point_mm(line[lowest], low[lowest]), np.float64),
            )
        )
    return tuple(sorted(cups, key=lambda cup: -cup.volume_mm3))


def _joined_spans(dexels: Dexels, low: FloatArray, high: FloatArray, line: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number the connected sets of spans on a grid of lines; spans come in the order of their lines."""
    offsets = np.searchsorted(line, np.arange(dexels.nx * dexels.ny + 1)) * 2
    z = np.empty(2 * len(low))
    z[0::2], z[1::2] = low, high
    links = kernel.touching_spans(offsets, z, dexels.nx, dexels.ny)
    return joined(len(low), links)


def _islands(dexels: Dexels, floor: float, layer_mm: float) -> FloatArray:
    """Where solid begins in the air above the first few layers: (k, 3)."""
    starts = np.ascontiguousarray(dexels.z_mm[0::2])
    links = kernel.touching_spans(dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny)
    levels = starts[links].max(axis=1) if len(links) else np.zeros(0)
    order = np.argsort(levels, kind="stable")
    island = kernel.join_solids(starts, links, order, levels, layer_mm)
    chosen = np.flatnonzero(island & (starts > floor + FIRST_LAYERS * layer_mm))
    lines = np.searchsorted(dexels.offsets, 2 * chosen, side="right") - 1
    if len(chosen) == 0:
        return np.zeros((0, 3))
    return np.array([dexels.point_mm(int(lines[k]), float(starts[one])) for k, one in enumerate(chosen)])
