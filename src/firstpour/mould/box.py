"""What is printed around the silicone: outer shapes, walls of one thickness, lip, notches at the level, pry pads."""

import math

import manifold3d
import numpy as np
import shapely

from firstpour.formulas.plates import HEIGHT_TO_WIDTH, wall_give_alpha, wall_thickness_mm
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block, box_solid
from firstpour.units import GRAVITY_M_S2

NOTCH_HIGH_MM = 2.0
PAD_MM, PAD_HIGH_MM = 3.0, 6.0
"""How far a pry pad stands out from the wall, and how high it is."""
WALL_STEP_MM = 0.4
"""Walls are rounded up to whole widths of an ordinary print line."""


def box_wall_mm(block: Block, settings: MouldSettings, *, silicone_g_ml: float) -> float:
    """Thickness of the box walls: the longest wall gives no more than allowed under the head of wet silicone.

    Outside the table of `formulas.plates` the nearest height ÷ width is taken with the wall's own foot pressure: a
    low wall is then reckoned too soft, a tall one as wide as half its height, so both err on the safe side.
    """
    width_mm = float((block.high_mm - block.low_mm)[:2].max())
    height_mm = float((block.high_mm - block.low_mm)[2])
    pressure_pa = silicone_g_ml * 1000.0 * GRAVITY_M_S2 * height_mm / 1000.0
    width_mm = max(width_mm, height_mm / HEIGHT_TO_WIDTH[-1])
    alpha = wall_give_alpha(width_mm=width_mm, height_mm=max(height_mm, HEIGHT_TO_WIDTH[0] * width_mm))
    needed_mm = wall_thickness_mm(
        alpha=alpha,
        width_mm=width_mm,
        pressure_pa=pressure_pa,
        modulus_mpa=settings.print_modulus_mpa,
        give_mm=settings.wall_give_mm,
    )
    return WALL_STEP_MM * math.ceil(max(needed_mm, settings.least_wall_mm) / WALL_STEP_MM - 1e-9)


def outline_of(block: Block) -> shapely.Polygon:
    """The plan of the block."""
    return shapely.box(*block.low_mm[:2], *block.high_mm[:2])


def prism(outline: shapely.Polygon, *, low_mm: float, high_mm: float) -> manifold3d.Manifold:
    """The upright solid over a plan between two heights."""
    ring = np.asarray(outline.exterior.coords)[:-1]
    section = manifold3d.CrossSection([ring if outline.exterior.is_ccw else ring[::-1]])
    return manifold3d.Manifold.extrude(section, high_mm - low_mm).translate((0.0, 0.0, low_mm))


def wider(outline: shapely.Polygon, *, by_mm: float) -> shapely.Polygon:
    """A convex plan moved out by as much all around, its corners round."""
    return outline.buffer(by_mm, quad_segs=8)


def square_wider(outline: shapely.Polygon, *, by_mm: float) -> shapely.Polygon:
    """A convex plan moved out by as much all around, its corners kept."""
    return outline.buffer(by_mm, join_style="mitre", mitre_limit=10.0)


def tray_outer(
    outline: shapely.Polygon, *, floor_mm: float, level_mm: float, wall_mm: float, settings: MouldSettings
) -> manifold3d.Manifold:
    """The outer shape of a tray, not yet hollow: walls around a convex plan from `floor_mm` up to the lip.

    Its foot is chamfered, where the floor stands behind the wall. Four notches down to `level_mm` show how far to
    pour, and whether the tray stands level.
    """
    chamfer_mm, outer = settings.chamfer_mm, wider(outline, by_mm=wall_mm)
    foot = prism(square_wider(outer, by_mm=-chamfer_mm), low_mm=floor_mm, high_mm=level_mm)
    walls = prism(outer, low_mm=floor_mm + chamfer_mm, high_mm=level_mm + settings.lip_mm)
    return manifold3d.Manifold.batch_hull([foot, walls]) - _level_notches(outer, level_mm, settings)


def box_ring(
    outline: shapely.Polygon, *, foot_mm: float, level_mm: float, wall_mm: float, settings: MouldSettings
) -> manifold3d.Manifold:
    """Walls around a convex plan, open at both ends, with clearance to what stands in them, lip and notches."""
    inner = square_wider(outline, by_mm=settings.bed_clearance_mm)
    outer = wider(inner, by_mm=wall_mm)
    top_mm = level_mm + settings.lip_mm
    ring = prism(outer, low_mm=foot_mm, high_mm=top_mm) + _pry_pads(outer, foot_mm, settings)
    ring -= prism(inner, low_mm=foot_mm - 1.0, high_mm=top_mm + 1.0)
    return ring - _level_notches(outer, level_mm, settings)


def _level_notches(outer: shapely.Polygon, level_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """Notches through the wall on four sides down to the level to pour to, half as wide as a side at most."""
    low, high = np.array(outer.bounds).reshape(2, 2)
    half = 0.5 * min(settings.notch_mm, 0.5 * float((high - low).min()))
    middle, top_mm = 0.5 * (low + high), level_mm + settings.lip_mm + 1.0
    ways = []
    for reach in (np.array([high[0], middle[1] + half]), np.array([middle[0] + half, high[1]])):
        far = np.where(reach == high, high + 1.0, reach)
        ways.append(box_solid(np.array([*(2.0 * middle - far), level_mm]), np.array([*far, top_mm])))
    return ways[0] + ways[1]


def _pry_pads(outer: shapely.Polygon, foot_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """Pads at the foot of two sides, a notch under each to lift the ring with a blade; the wall stays whole."""
    x0, y0, x1, y1 = outer.bounds
    half = 0.5 * settings.notch_mm
    pads = []
    for side, x in ((-1.0, x0), (1.0, x1)):
        ends = outer.intersection(shapely.box(x - PAD_MM, y0, x + PAD_MM, y1)).bounds
        y = 0.5 * (ends[1] + ends[3])
        pads.append(_between(x + side * PAD_MM, x - side * PAD_MM, y, half + PAD_MM, foot_mm, PAD_HIGH_MM))
        pads[-1] -= _between(x + side * (PAD_MM + 1.0), x + side * 0.5, y, half, foot_mm - 1.0, NOTCH_HIGH_MM + 1.0)
    return pads[0] + pads[1]


def _between(x0: float, x1: float, y: float, half_mm: float, low_mm: float, height_mm: float) -> manifold3d.Manifold:
    """A box from x0 to x1, either first, `half_mm` to both sides of y, from `low_mm` up."""
    low = np.array([min(x0, x1), y - half_mm, low_mm])
    return box_solid(low, np.array([max(x0, x1), y + half_mm, low_mm + height_mm]))
