"""The parting surface where no single seam outlines the part: through the part's outline seen along the draw.

Where seam lines cross each other in that view (legs in front of legs, undercuts), the surface is drawn through the
exact outline at the height of the seam nearest to it, and inside the outline it keeps within the part, where it cuts
nothing. It may leave splinters of undercut along steep places, and the mould says so in a finding.
"""

from dataclasses import replace

import manifold3d
import numpy as np
import shapely
from scipy.spatial import cKDTree

from firstpour.errors import MouldFailed, UnreadablePart
from firstpour.parting.block import Block, grown_block
from firstpour.parting.halves import Halves, Side, half_solid, halves_below
from firstpour.parting.seam import Seamed
from firstpour.parting.sheet import (
    BAND_PLAY_MM,
    FINE_RATIO,
    Sheet,
    footprint,
    from_rim_mm,
    harmonic_heights,
    loops_are_apart,
    mean_height_mm,
    points_between,
    rim_points,
    triangulate_rings,
)
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.surface.solids import to_solid
from firstpour.values import FloatArray, Mesh

INSIDE_LINES = 384
PAST_MM = 1.0
"""The surface is laid this far past the sides of the block, so that no wall of the cut lies on one of the block."""
INSET_RATIO = 0.3
"""The surface keeps this share of the part's thickness away from both its faces."""


def outline_halves(mesh: Mesh, seamed: Seamed, block: Block, *, rim_band_mm: float) -> Halves:
    """Build the halves through the outline of the part.

    Raises
    ------
    MouldFailed
        If no closed solid comes of it.
    """
    spacing_mm = float((block.high_mm - block.low_mm)[:2].max())
    if len(seamed.edges) == 0:
        raise MouldFailed(
            "the part turns over nowhere along this draw direction",
            remedy="choose another draw direction",
        )
    part = to_solid(mesh)
    rings_mm = _outline(part, spacing_mm=spacing_mm)
    heights = _seam_heights(seamed, rings_mm)
    loops_mm = tuple(np.column_stack([ring, z]) for ring, z in zip(rings_mm, heights, strict=True))
    return _halves_through(loops_mm, mesh, part, block, rim_band_mm=rim_band_mm)


def looped_halves(seamed: Seamed, block: Block, *, rim_band_mm: float) -> Halves | None:
    """Build the halves through the loops of a seam that does not cross itself, whatever the surface cuts off there.

    For a seam whose surface passes so steeply beside the part that it touches it elsewhere by a hair. None where the
    loops cross, no closed solid comes of it, or some silicone would hang on neither half.
    """
    loops_mm = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    if not loops_mm or not loops_are_apart(loops_mm):
        return None
    try:
        halves = _halves_through(loops_mm, seamed.mesh, to_solid(seamed.mesh), block, rim_band_mm=rim_band_mm)
    except (MouldFailed, UnreadablePart):
        return None
    return replace(halves, seam_mm=loops_mm) if halves.enclosed_mm3 == 0.0 else None


def _halves_through(
    loops_mm: tuple[FloatArray, ...], mesh: Mesh, part: manifold3d.Manifold, block: Block, *, rim_band_mm: float
) -> Halves:
    """The halves on both sides of a surface through the loops, which inside them is kept inside the part."""
    spacing_mm = float((block.high_mm - block.low_mm)[:2].max())
    past = grown_block(block, low_mm=(PAST_MM,) * 3, high_mm=(PAST_MM, PAST_MM, 0.0))
    sheet = _sheet(mesh, loops_mm, past, spacing_mm=spacing_mm, rim_band_mm=rim_band_mm + PAST_MM)
    below = half_solid(
        sheet,
        past,
        side=Side.LOWER,
        seam=np.empty(0, np.int64),
        vertices_mm=np.empty((0, 3)),
        shell=np.empty((0, 3), np.int64),
    )
    if below is None:
        raise MouldFailed(
            "the parting surface along this draw direction does not close",
            remedy="choose another draw direction, or simplify the part",
        )
    return halves_below(below, part, block, sheet=sheet)


def _outline(part: manifold3d.Manifold, *, spacing_mm: float) -> list[FloatArray]:
    """Rings (k, 2) of the part's outline seen along the draw, the part on their left, no long sides."""
    region = footprint(np.asarray(ring) for ring in part.project().to_polygons() if len(ring) > 2)
    region = region.buffer(0).simplify(0.02 * spacing_mm * FINE_RATIO)
    region = shapely.segmentize(region, spacing_mm * FINE_RATIO)
    rings = []
    for polygon in shapely.get_parts(shapely.orient_polygons(region)):
        if polygon.area > (spacing_mm * FINE_RATIO) ** 2:
            rings += [shapely.get_coordinates(ring)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    return rings


def _seam_heights(seamed: Seamed, rings_mm: list[FloatArray]) -> list[FloatArray]:
    """Height at each outline point: that of the nearest place of the seam seen along the draw."""
    ends = seamed.mesh.vertices_mm[seamed.edges]
    share = (np.arange(8) / 8)[:, None, None]
    samples = (ends[:, 0] + share * (ends[:, 1] - ends[:, 0])).reshape(-1, 3)
    tree = cKDTree(samples[:, :2])
    return [samples[tree.query(ring)[1], 2] for ring in rings_mm]


def _sheet(
    mesh: Mesh, loops_mm: tuple[FloatArray, ...], block: Block, *, spacing_mm: float, rim_band_mm: float
) -> Sheet:
    """Triangulate outside and inside of the outline and give every point its height."""
    outline = np.concatenate(loops_mm)
    starts = np.concatenate([[0], np.cumsum([len(loop) for loop in loops_mm])])
    rim = starts[-1] + np.arange(len(rim_points(block, step_mm=spacing_mm / 40)))
    fixed = np.concatenate([outline[:, :2], rim_points(block, step_mm=spacing_mm / 40)])
    inner_rings = [starts[n] + np.arange(len(loop)) for n, loop in enumerate(loops_mm)]
    inside = footprint(loops_mm)
    outside = shapely.box(*block.low_mm[:2], *block.high_mm[:2]).difference(inside)
    out_points = points_between(outside, block, spacing_mm=spacing_mm, band_mm=rim_band_mm)
    in_points = points_between(inside, block, spacing_mm=spacing_mm / 2, band_mm=0.0)
    out_tri = triangulate_rings(
        np.concatenate([fixed, out_points]), [rim, *(ring[::-1] for ring in inner_rings)], first_new=len(fixed)
    )
    in_tri = triangulate_rings(np.concatenate([fixed, in_points]), inner_rings, first_new=len(fixed))
    if out_tri is None or in_tri is None:
        raise MouldFailed(
            "the outline of the part along this draw direction cannot be filled with a surface",
            remedy="choose another draw direction",
        )
    xy = np.concatenate([fixed, out_points, in_points])
    in_tri = np.where(in_tri >= len(fixed), in_tri + len(out_points), in_tri)
    tri = np.concatenate([out_tri, in_tri])
    rim_mm = mean_height_mm(loops_mm)
    known = np.full(len(xy), np.nan)
    known[: len(outline)] = outline[:, 2]
    flat = from_rim_mm(xy, block) <= rim_band_mm + BAND_PLAY_MM
    flat[: len(outline)] = False
    known[flat] = rim_mm
    height = harmonic_heights(xy, tri, known)
    inner = np.arange(len(fixed) + len(out_points), len(xy))
    height[inner] = _within_part(mesh, xy[inner], height[inner])
    used = np.unique(tri)
    place = np.full(len(xy), -1)
    place[used] = np.arange(len(used))
    return Sheet(
        points_mm=np.column_stack([xy, height])[used], tri=place[tri], rim=place[rim], rim_mm=rim_mm, region=outside
    )


def _within_part(mesh: Mesh, xy: FloatArray, wanted_mm: FloatArray) -> FloatArray:
    """The wanted heights (n,), moved into the nearest stretch of the part on their line where they lie outside it."""
    dexels = cut_dexels(mesh, np.array([0.0, 0.0, 1.0]), resolution=INSIDE_LINES)
    pixel = np.clip(np.round((xy - dexels.origin_mm) / dexels.pitch_mm), 0, [dexels.nx - 1, dexels.ny - 1]).astype(
        int
    )
    line = pixel[:, 1] * dexels.nx + pixel[:, 0]
    return np.array([_nearest_inside(dexels, n, z) for n, z in zip(line, wanted_mm, strict=True)])


def _nearest_inside(dexels: Dexels, line: int, wanted_mm: float) -> float:
    """The nearest height inside the part on one line, a share of its thickness away from its ends."""
    z = dexels.z_mm[dexels.offsets[line] : dexels.offsets[line + 1]]
    if len(z) == 0:
        return wanted_mm
    low, high = z[0::2], z[1::2]
    inset = INSET_RATIO * (high - low)
    nearest = np.clip(wanted_mm, low + inset, high - inset)
    return float(nearest[np.argmin(np.abs(nearest - wanted_mm))])
