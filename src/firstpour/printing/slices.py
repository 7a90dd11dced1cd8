"""The part cut into layers along a print direction: areas, perimeters, starts in the air and shut hollows."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.kernels import slices as kernel
from firstpour.surface.dexels import Dexels, cut_dexels, frame_of
from firstpour.surface.regions import joined
from firstpour.values import FloatArray, IntArray, Mesh, frozen_array

MOST_LAYERS = 100_000
RESOLUTION = 192
FIRST_LAYERS = 5
"""What begins within so many layers of the plate is held by it or by the first supports: not in the air."""


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
class ShutHollow:
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
    """What a raster of lines `pitch_mm` apart shows: hollows shut, starts in the air, by layer the area shut (n,)."""

    footing: Footing
    pitch_mm: float
    shut: tuple[ShutHollow, ...]
    shut_area_mm2: FloatArray
    in_air_mm: FloatArray
    """(k, 3), in the part's coordinates: where layers start in the air, apart from the first few."""
    in_air_face: IntArray
    """(k,) the face that starts there."""


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

    Hollows below `least_mm3` are left out of the list, not out of the areas. What is smaller than a pixel is not
    seen, nor a slit no higher than half a layer.
    """
    dexels = cut_dexels(mesh, slices.direction, resolution=resolution, margin=1)
    floor = float((mesh.vertices_mm @ dexels.frame[2]).min())
    lifted, passage_mm = footing is Footing.SUPPORTS, 0.5 * slices.layer_mm
    opens = kernel.open_levels(dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny, floor, passage_mm, lifted)
    low, high, line = _voids(dexels, floor)
    shut = np.minimum(high, opens)
    shut = np.where(shut - low > passage_mm, shut, low)
    cell = dexels.pitch_mm**2
    in_air_mm, in_air_face = _starts_in_air(dexels, floor, slices.layer_mm)
    return Hollows(
        footing=footing,
        pitch_mm=dexels.pitch_mm,
        shut=_shut_hollows(dexels, low, shut, np.isinf(opens), line, floor, least_mm3),
        shut_area_mm2=frozen_array(cell * _covered(low, shut, floor + slices.z_mm), np.float64),
        in_air_mm=frozen_array(in_air_mm, np.float64),
        in_air_face=frozen_array(in_air_face, np.int64),
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


def _shut_hollows(
    dexels: Dexels,
    low: FloatArray,
    shut: FloatArray,
    sealed: NDArray[np.bool_],
    line: NDArray[np.int64],
    floor: float,
    least_mm3: float,
) -> tuple[ShutHollow, ...]:
    """Join the sealed spans of neighbouring lines into shut hollows, largest first."""
    chosen = np.flatnonzero(shut > low)
    if len(chosen) == 0:
        return ()
    labels = _joined_spans(dexels, low[chosen], shut[chosen], line[chosen])
    found = []
    for label in range(int(labels.max()) + 1):
        member = chosen[labels == label]
        volume = float((shut[member] - low[member]).sum()) * dexels.pitch_mm**2
        if not volume >= least_mm3:
            continue
        levels = np.unique(low[member])
        area = float(_covered(low[member], shut[member], levels).max()) * dexels.pitch_mm**2
        lowest = member[int(np.argmin(low[member]))]
        found.append(
            ShutHollow(
                volume_mm3=volume,
                area_mm2=area,
                closes_mm=float(low[member].min()) - floor,
                opens_mm=None if sealed[member].any() else float(shut[member].max()) - floor,
                at_mm=frozen_array(dexels.point_mm(line[lowest], low[lowest]), np.float64),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.volume_mm3))


def _joined_spans(dexels: Dexels, low: FloatArray, high: FloatArray, line: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number the connected sets of spans on a grid of lines; spans come in the order of their lines."""
    offsets = np.searchsorted(line, np.arange(dexels.nx * dexels.ny + 1)) * 2
    z = np.empty(2 * len(low))
    z[0::2], z[1::2] = low, high
    links = kernel.touching_spans(offsets, z, dexels.nx, dexels.ny)
    return joined(len(low), links)


def _starts_in_air(dexels: Dexels, floor: float, layer_mm: float) -> tuple[FloatArray, IntArray]:
    """Where solid starts in the air above the first few layers: places (k, 3) and faces (k,)."""
    starts = np.ascontiguousarray(dexels.z_mm[0::2])
    links = kernel.touching_spans(dexels.offsets, dexels.z_mm, dexels.nx, dexels.ny)
    levels = starts[links].max(axis=1) if len(links) else np.zeros(0)
    order = np.argsort(levels, kind="stable")
    begun = kernel.join_solids(starts, links, order, levels, layer_mm)
    chosen = np.flatnonzero(begun & (starts > floor + FIRST_LAYERS * layer_mm))
    lines = np.searchsorted(dexels.offsets, 2 * chosen, side="right") - 1
    places = [dexels.point_mm(int(line), float(starts[one])) for line, one in zip(lines, chosen, strict=True)]
    return np.array(places).reshape(-1, 3), dexels.face[2 * chosen].astype(np.int64)
