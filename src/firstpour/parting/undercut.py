"""What holds the part back along a draw direction: regions of void between solids, and the reach of each face.

Everything is decided on dexels and so carries their pitch; what is smaller is not resolved.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstpour.kernels import voids as kernel
from firstpour.parting.values import Reach, UndercutRegion
from firstpour.surface.dexels import Dexels, bottom_map_mm, dexels_of, grid_along, top_map_mm
from firstpour.values import FloatArray, IntArray, Mesh, face_areas_mm2, face_normals

RESOLUTION = 512
MARGIN = 2
VERTICAL_COSINE = 1e-3
"""A face within 0.06° of the draw counts as vertical (draft 0): coordinates in single precision say no more."""
SMALLEST_REGION_PIXELS = 8.0
"""A region below 8 pitch³ is noise of the raster; it stays in the total, and is not listed."""
PROBE_PIXELS = 1.0
SAMPLES_PER_FACE = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Undercut:
    """What blocks the draw along +d and −d: the void (mm³), area out of reach (mm²), regions, reach (m,) a face."""

    volume_mm3: float
    area_mm2: float
    pitch_mm: float
    regions: tuple[UndercutRegion, ...]
    reach: NDArray[np.uint8]
    height_mm: float


def find_undercut(mesh: Mesh, direction: FloatArray, *, resolution: int = RESOLUTION) -> Undercut:
    """Regions of void that block the draw along ±`direction`, and what each face is reached from.

    Depth is how far the silicone in a region must give way sideways to come free: the longest way, over the lines of
    the region, to the nearest line beside it that is free along the draw; a straight way is taken, so with
    winding undercuts it is a lower bound (our own estimate).

    Raises
    ------
    BadRequest, UnreadablePart
        As `part.dexels.grid_along`.
    """
    grid = grid_along(mesh, direction, resolution=resolution, margin=MARGIN)
    dexels = dexels_of(grid, mesh.faces)
    first = kernel.first_void(dexels.offsets)
    line, low, high = kernel.list_voids(dexels.offsets, dexels.z_mm, first)
    region = kernel.join_voids(dexels.offsets, dexels.z_mm, first, dexels.nx, dexels.ny)
    regions = _regions(dexels, first=first, line=line, low=low, high=high, region=region)
    reach, area_mm2 = _reach(mesh, dexels, grid.pix)
    return Undercut(
        volume_mm3=float((high - low).sum()) * dexels.pitch_mm**2,
        area_mm2=area_mm2,
        pitch_mm=dexels.pitch_mm,
        regions=regions,
        reach=reach,
        height_mm=float(np.ptp(grid.pix[:, 2])),
    )


def _regions(
    dexels: Dexels, *, first: IntArray, line: IntArray, low: FloatArray, high: FloatArray, region: IntArray
) -> tuple[UndercutRegion, ...]:
    """Describe each region, largest first."""
    if len(region) == 0:
        return ()
    volumes_mm3 = np.bincount(region, weights=high - low) * dexels.pitch_mm**2
    exit_region, exit_line = kernel.list_exits(dexels.offsets, dexels.z_mm, first, region, dexels.nx, dexels.ny)
    voids_of, exits_of = _by_region(region, len(volumes_mm3)), _by_region(exit_region, len(volumes_mm3))
    found = []
    for r in np.argsort(-volumes_mm3):
        if volumes_mm3[r] < SMALLEST_REGION_PIXELS * dexels.pitch_mm**3:
            break
        voids = voids_of[r]
        crossing = dexels.offsets[line[voids]] + 2 * (voids - first[line[voids]]) + 1
        found.append(
            UndercutRegion(
                volume_mm3=float(volumes_mm3[r]),
                depth_mm=_depth_mm(dexels, lines=line[voids], exits=exit_line[exits_of[r]]),
                faces=np.unique(dexels.face[np.concatenate([crossing, crossing + 1])]).astype(np.int64),
                centre_mm=_centre_mm(dexels, lines=line[voids], low=low[voids], high=high[voids]),
            )
        )
    return tuple(found)


def _by_region(region: IntArray, count: int) -> list[IntArray]:
    """The entries of each of `count` regions."""
    order = np.argsort(region, kind="stable")
    return np.split(order, np.cumsum(np.bincount(region, minlength=count))[:-1])


def _places_mm(dexels: Dexels, lines: IntArray) -> FloatArray:
    """Where lines stand across the draw: (k, 2) in the frame."""
    pixels = np.stack([lines % dexels.nx, lines // dexels.nx], axis=1)
    places: FloatArray = dexels.origin_mm + pixels * dexels.pitch_mm
    return places


def _depth_mm(dexels: Dexels, *, lines: IntArray, exits: IntArray) -> float | None:
    """Longest way from a line of the region to the nearest exit, from line to the border between two lines."""
    if len(exits) == 0:
        return None
    ways, _ = cKDTree(_places_mm(dexels, np.unique(exits))).query(_places_mm(dexels, np.unique(lines)))
    return max(0.0, float(ways.max()) - 0.5 * dexels.pitch_mm)


def _centre_mm(dexels: Dexels, *, lines: IntArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Middle of the region in the part's own coordinates."""
    in_frame = np.column_stack([_places_mm(dexels, lines), 0.5 * (low + high)])
    middle: FloatArray = np.average(in_frame, axis=0, weights=high - low) @ dexels.frame
    return middle


def _reach(mesh: Mesh, dexels: Dexels, pix: FloatArray) -> tuple[NDArray[np.uint8], float]:
    """The reach of each face, and the area (mm²) reached from neither side."""
    normals = face_normals(mesh) @ dexels.frame.T
    areas_mm2 = face_areas_mm2(mesh)
    across = normals * PROBE_PIXELS
    across[:, 2] *= dexels.pitch_mm
    per_face = np.clip(np.ceil(areas_mm2 / dexels.pitch_mm**2 / 4.0), 1, SAMPLES_PER_FACE).astype(np.int64)
    shares = kernel.reach_shares(
        pix,
        mesh.faces,
        across,
        bottom_map_mm(dexels),
        top_map_mm(dexels),
        dexels.nx,
        dexels.ny,
        per_face,
    )
    up, down = normals[:, 2] > VERTICAL_COSINE, normals[:, 2] < -VERTICAL_COSINE
    above = np.where(down, 0.0, shares[:, 0])
    below = np.where(up, 0.0, shares[:, 1])
    blocked = np.where(up, 1.0 - above, np.where(down, 1.0 - below, shares[:, 2]))
    reach = np.full(len(mesh.faces), int(Reach.NEITHER), np.uint8)
    reach[above > 0.5] = int(Reach.ABOVE)
    reach[(below > 0.5) & ~(above > 0.5)] = int(Reach.BELOW)
    reach[(below > 0.5) & (above > 0.5)] = int(Reach.BOTH)
    return reach, float((areas_mm2 * blocked).sum())
