"""What is printed around the silicone: outer shapes with chamfered edges, walls, lip and pry notches."""

import math

import manifold3d
import numpy as np

from firstpour.formulas.plates import HEIGHT_TO_WIDTH, wall_give_alpha, wall_thickness_mm
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block, box_solid
from firstpour.values import FloatArray

GRAVITY_M_S2 = 9.81
NOTCH_HIGH_MM = 2.0
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


def chamfered_box(low_mm: FloatArray, high_mm: FloatArray, *, chamfer_mm: float) -> manifold3d.Manifold:
    """A box between two corners with all its edges chamfered."""
    boxes = []
    for axis in range(3):
        inset = np.full(3, chamfer_mm)
        inset[axis] = 0.0
        boxes.append(box_solid(np.asarray(low_mm) + inset, np.asarray(high_mm) - inset))
    return manifold3d.Manifold.batch_hull(boxes)


def tray_outer(block: Block, *, floor_mm: float, wall_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """The outer shape of a tray, not yet hollow: block, walls, floor at the height `floor_mm`, lip above the level.

    Above the level to pour to the wall steps back by half its thickness, and is notched on two sides.
    """
    low = np.array([*(block.low_mm[:2] - wall_mm), floor_mm])
    high = block.high_mm + np.array([wall_mm, wall_mm, settings.lip_mm])
    return chamfered_box(low, high, chamfer_mm=settings.chamfer_mm) - _above_level(block, wall_mm, settings)


def box_ring(block: Block, *, wall_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """Four walls around the block, open at both ends, with clearance to what stands in them, lip and notches."""
    play = settings.bed_clearance_mm
    low = block.low_mm - np.array([wall_mm + play, wall_mm + play, 0.0])
    high = block.high_mm + np.array([wall_mm + play, wall_mm + play, settings.lip_mm])
    ring = chamfered_box(low, high, chamfer_mm=settings.chamfer_mm)
    ring -= box_solid(
        block.low_mm - np.array([play, play, 1.0]), block.high_mm + np.array([play, play, settings.lip_mm + 1.0])
    )
    ring -= _above_level(block, wall_mm + play, settings)
    return ring - _foot_notches(block, wall_mm + play, settings)


def _above_level(block: Block, wall_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """What is cut away above the level to pour to: the step of the lip and two pry notches through the wall."""
    level, top = block.high_mm[2], block.high_mm[2] + settings.lip_mm + 1.0
    step = box_solid(
        np.array([*(block.low_mm[:2] - 0.5 * wall_mm), level]), np.array([*(block.high_mm[:2] + 0.5 * wall_mm), top])
    )
    middle = 0.5 * (block.low_mm + block.high_mm)
    across = box_solid(
        np.array([block.low_mm[0] - wall_mm - 1.0, middle[1] - 0.5 * settings.notch_mm, level]),
        np.array([block.high_mm[0] + wall_mm + 1.0, middle[1] + 0.5 * settings.notch_mm, top]),
    )
    return step + across


def _foot_notches(block: Block, wall_mm: float, settings: MouldSettings) -> manifold3d.Manifold:
    """Two notches at the foot of a ring's outside, half the wall deep, to lift it with a flat blade."""
    middle = 0.5 * (block.low_mm + block.high_mm)
    foot = block.low_mm[2]
    half = 0.5 * wall_mm
    notches = []
    for x0, x1 in (
        (block.low_mm[0] - wall_mm - 1.0, block.low_mm[0] - half),
        (block.high_mm[0] + half, block.high_mm[0] + wall_mm + 1.0),
    ):
        low = np.array([x0, middle[1] - 0.5 * settings.notch_mm, foot - 1.0])
        notches.append(box_solid(low, np.array([x1, middle[1] + 0.5 * settings.notch_mm, foot + NOTCH_HIGH_MM])))
    return notches[0] + notches[1]
