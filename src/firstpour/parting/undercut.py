"""What holds the part back along a draw direction: regions of void between solids, and the reach of each face.

Everything is decided on dexels and so carries their pitch; what is smaller is not resolved.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from firstpour.kernels import voids as kernel
from firstpour.parting.stretch import Give, stretches
from firstpour.parting.values import Half, Opening, Reach, Stretch, UndercutRegion
from firstpour.parting.voids import Exits, Voids, exits_of, find_voids, on_plane
from firstpour.surface.dexels import Dexels, bottom_map_mm, dexels_of, grid_along, top_map_mm
from firstpour.values import FloatArray, IntArray, Mesh, face_areas_mm2, face_normals

RESOLUTION = 512
MARGIN = 2
VERTICAL_COSINE = 1e-3
"""A face within 0.06° of the draw counts as vertical (draft 0): coordinates in single precision say no more."""
PROBE_PIXELS = 1.0
SAMPLES_PER_FACE = 400
MOST_REGIONS = 200
"""So many regions are listed, the largest first; the rest stays in the total."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Undercut:
    """What blocks the draw along +d and −d: the void (mm³), area out of reach (mm²), regions, reach (m,) a face."""

    volume_mm3: float
    area_mm2: float
    pitch_mm: float
    regions: tuple[UndercutRegion, ...]
    reach: NDArray[np.uint8]
    height_mm: float


def find_undercut(
    mesh: Mesh,
    direction: FloatArray,
    *,
    resolution: int = RESOLUTION,
    opening: Opening = Opening.TWO_HALVES,
    give: Give | None = None,
) -> Undercut:
    """Regions of void that block the draw along ±`direction`, and what each face is reached from.

    Depth is how far the silicone in a region must give way sideways to come free: the longest way, over the lines of
    the region, to the nearest line beside it that is free along the draw; a straight way is taken, so with
    winding undercuts it is a lower bound (our own estimate). With `opening` an open face, the plane at the low end
    of the part closes all that lies above it, and the draw is +`direction` alone.

    Raises
    ------
    BadRequest, UnreadablePart
        As `part.dexels.grid_along`.
    """
    grid = grid_along(mesh, direction, resolution=resolution, margin=MARGIN)
    dexels = dexels_of(grid, mesh.faces)
    voids = find_voids(dexels if opening is Opening.TWO_HALVES else on_plane(dexels))
    reach, area_mm2 = _reach(mesh, dexels, grid.pix)
    return Undercut(
        volume_mm3=voids.volume_mm3,
        area_mm2=area_mm2,
        pitch_mm=dexels.pitch_mm,
        regions=_regions(voids, opening=opening, give=give or Give()),
        reach=reach,
        height_mm=float(np.ptp(grid.pix[:, 2])),
    )


def undercuts_along(
    mesh: Mesh, direction: FloatArray, *, resolution: int, most: int, give: Give
) -> tuple[tuple[Stretch, ...], NDArray[np.uint8]]:
    """What the silicone of the `most` largest undercuts along ±`direction` must do, and the reach (m,) of the faces.

    Quicker than `find_undercut`.
    """
    grid = grid_along(mesh, direction, resolution=resolution, margin=MARGIN)
    voids = find_voids(dexels_of(grid, mesh.faces))
    exits = exits_of(voids)
    numbers = voids.listed(most=most)
    ways_mm = [ways_of_mm(voids, number, exits) for number in numbers]
    reach, _ = _reach(mesh, voids.dexels, grid.pix)
    return stretches(voids, exits, regions=numbers, ways_mm=ways_mm, give=give), reach


def _regions(voids: Voids, *, opening: Opening, give: Give) -> tuple[UndercutRegion, ...]:
    """Describe each region, largest first."""
    dexels, exits = voids.dexels, exits_of(voids)
    if opening is Opening.OPEN_FACE:
        exits = {Half.UPPER: exits[Half.UPPER]}
    numbers = voids.listed(most=MOST_REGIONS)
    ways_mm = [ways_of_mm(voids, number, exits) for number in numbers]
    ways = stretches(voids, exits, regions=numbers, ways_mm=ways_mm, give=give)
    found = []
    for number, way_mm, stretch in zip(numbers, ways_mm, ways, strict=True):
        held = voids.of(number)
        lines = voids.line[held]
        crossing = dexels.offsets[lines] + 2 * (held - voids.first[lines]) + 1
        faces = np.unique(dexels.face[np.concatenate([crossing, crossing + 1])]).astype(np.int64)
        found.append(
            UndercutRegion(
                volume_mm3=float(voids.volumes_mm3[number]),
                depth_mm=float(way_mm.max()) if len(way_mm) else None,
                faces=faces[faces >= 0],
                centre_mm=_centre_mm(dexels, lines=lines, low=voids.low_mm[held], high=voids.high_mm[held]),
                stretch=stretch,
            )
        )
    return tuple(found)


def ways_of_mm(voids: Voids, number: int, exits: Mapping[Half, Exits]) -> FloatArray:
    """Way from each void (k,) of the region to the nearest line beside it that is free; none where there is none."""
    beside = np.concatenate([one.beside[one.of(number)] for one in exits.values()])
    lines = np.concatenate([one.line[one.of(number)] for one in exits.values()])
    if len(beside) == 0:
        return np.empty(0)
    ends = np.unique(np.where(beside < 0, lines, beside))
    dexels = voids.dexels
    ways, _ = cKDTree(_places_mm(dexels, ends)).query(_places_mm(dexels, voids.line[voids.of(number)]))
    free_mm: FloatArray = np.maximum(ways - 0.5 * dexels.pitch_mm, 0.0)
    return free_mm


def _places_mm(dexels: Dexels, lines: IntArray) -> FloatArray:
    """Where lines stand across the draw: (k, 2) in the frame."""
    pixels = np.stack([lines % dexels.nx, lines // dexels.nx], axis=1)
    places: FloatArray = dexels.origin_mm + pixels * dexels.pitch_mm
    return places


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
