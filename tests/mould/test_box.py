"""What is printed around the silicone, measured by slices."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.formulas.plates import POISSON_RATIO, wall_give_alpha
from firstpour.mould.box import PAD_MM, box_ring, box_wall_mm, outline_of, tray_outer
from firstpour.parting.block import Block, block_solid, box_solid
from firstpour.surface.solids import count_bodies
from mould_shapes import SETTINGS

WALL_MM, FLOOR_MM = 2.0, -12.4
BLOCK = Block(low_mm=np.array([-20.0, -15.0, -10.0]), high_mm=np.array([25.0, 15.0, 12.0]))
ACROSS_MM, DEEP_MM = 45.0, 30.0
LEVEL_MM = 12.0
SEGMENTS = 32
"""The round corners are drawn by so many chords a turn."""


def round_mm2(radius_mm):
    """Four quarter circles drawn by chords: a regular polygon of `SEGMENTS` sides."""
    return 0.5 * SEGMENTS * radius_mm**2 * np.sin(2 * np.pi / SEGMENTS)


def around_mm2(width_mm, depth_mm, wall_mm):
    """A rectangle with walls of one thickness around it, corners round."""
    return width_mm * depth_mm + 2 * wall_mm * (width_mm + depth_mm) + round_mm2(wall_mm)


def tray():
    return tray_outer(outline_of(BLOCK), floor_mm=FLOOR_MM, level_mm=LEVEL_MM, wall_mm=WALL_MM, settings=SETTINGS)


def ring():
    return box_ring(outline_of(BLOCK), foot_mm=-10.0, level_mm=LEVEL_MM, wall_mm=WALL_MM, settings=SETTINGS)


def wall_of(block):
    return box_wall_mm(block, SETTINGS, silicone_g_ml=1.2)


def block_of(width_mm, depth_mm, height_mm):
    return Block(low_mm=np.zeros(3), high_mm=np.array([width_mm, depth_mm, height_mm]))


def test_the_head_of_a_known_box_asks_for_a_known_wall():
    """100 mm wide and high, silicone of 1.2 g/ml: α = 0.000804, q₀ = 1177.2 Pa; t³ = 12 (1 − ν²) α q₀ a⁴ / (E w)."""
    needed_mm = (12 * 0.91 * 0.000804 * 1177.2e-6 * 1e8 / (2000.0 * 0.3)) ** (1 / 3)
    assert needed_mm == pytest.approx(1.198, abs=0.001)
    assert wall_of(block_of(100, 60, 100)) == pytest.approx(1.6)  # the least a wall may be
    needed_200_mm = (12 * 0.91 * 0.000804 * 2354.4e-6 * 200.0**4 / (2000.0 * 0.3)) ** (1 / 3)
    assert wall_of(block_of(200, 60, 200)) == pytest.approx(0.4 * np.ceil(needed_200_mm / 0.4))


@given(width_mm=st.floats(30, 300), ratio=st.floats(0.5, 2.0))
@settings(max_examples=25, deadline=None)
def test_no_wall_within_the_table_gives_more_than_allowed(width_mm, ratio):
    height_mm = ratio * width_mm
    t = wall_of(block_of(width_mm, width_mm, height_mm))
    pressure_mpa = 1200.0 * 9.81 * height_mm / 1000.0 * 1e-6
    stiffness = SETTINGS.print_modulus_mpa * t**3 / (12 * (1 - POISSON_RATIO**2))
    give_mm = wall_give_alpha(width_mm=width_mm, height_mm=height_mm) * pressure_mpa * width_mm**4 / stiffness
    assert give_mm <= SETTINGS.wall_give_mm * (1 + 1e-9)


@given(width_mm=st.floats(20, 200), height_mm=st.floats(5, 400))
@settings(max_examples=25, deadline=None)
def test_walls_outside_the_table_are_no_thinner_than_at_its_ends(width_mm, height_mm):
    t = wall_of(block_of(width_mm, width_mm, height_mm))
    assert t >= SETTINGS.least_wall_mm
    assert t >= wall_of(block_of(width_mm, width_mm, min(height_mm, 2 * width_mm))) - 1e-9
    assert t / 0.4 == pytest.approx(round(t / 0.4))


def test_the_tray_is_as_thick_at_the_lip_and_notched_down_to_the_level_on_four_sides():
    outer, hollow_mm2 = tray(), ACROSS_MM * DEEP_MM
    wide_mm2 = around_mm2(ACROSS_MM, DEEP_MM, WALL_MM)
    assert outer.slice(LEVEL_MM - 0.1).area() == pytest.approx(wide_mm2)
    cut_mm2 = SETTINGS.notch_mm * (ACROSS_MM + DEEP_MM + 4 * WALL_MM) - SETTINGS.notch_mm**2
    for height in (0.1, 0.5 * SETTINGS.lip_mm, SETTINGS.lip_mm - 0.01):
        assert outer.slice(LEVEL_MM + height).area() == pytest.approx(wide_mm2 - cut_mm2)
    assert np.array(outer.bounding_box())[[2, 5]] == pytest.approx([FLOOR_MM, LEVEL_MM + SETTINGS.lip_mm])
    assert hollow_mm2 > cut_mm2


def test_the_foot_of_the_tray_is_chamfered():
    back_mm = SETTINGS.chamfer_mm - 0.2
    foot = tray().slice(FLOOR_MM + 0.2)
    sides = np.ptp(foot.to_polygons()[0], axis=0)
    assert sides == pytest.approx([ACROSS_MM + 2 * (WALL_MM - back_mm), DEEP_MM + 2 * (WALL_MM - back_mm)])


def test_the_box_ring_is_open_at_both_ends_and_clears_the_block_all_around():
    play = SETTINGS.bed_clearance_mm
    assert count_bodies(ring()) == 1
    assert ring().genus() == 1
    assert ring().min_gap(block_solid(BLOCK), 5.0) == pytest.approx(play)
    across, deep = ACROSS_MM + 2 * play, DEEP_MM + 2 * play
    assert ring().slice(1.0).area() == pytest.approx(around_mm2(across, deep, WALL_MM) - across * deep)


def test_the_ring_is_lifted_by_pads_outside_of_a_wall_that_stays_whole():
    """Slices of the wall alone are whole at the foot; the notches lie in the pads beyond it."""
    play, wall = SETTINGS.bed_clearance_mm, ring()
    across, deep = ACROSS_MM + 2 * play, DEEP_MM + 2 * play
    whole_mm2 = around_mm2(across, deep, WALL_MM) - across * deep
    low, high = np.array([-20.0, -15.0]) - play - WALL_MM, np.array([25.0, 15.0]) + play + WALL_MM
    within = box_solid(np.array([*low, -11.0]), np.array([*high, 0.0]))
    for height_mm in (-9.0, -7.0):
        assert (wall ^ within).slice(height_mm).area() == pytest.approx(whole_mm2, abs=2.0)
    pads_mm2 = [wall.slice(height_mm).area() - whole_mm2 for height_mm in (-9.0, -7.0)]
    notches_mm2 = 2 * SETTINGS.notch_mm * (PAD_MM - 0.5)
    assert pads_mm2[1] - pads_mm2[0] == pytest.approx(notches_mm2)
    assert pads_mm2[1] == pytest.approx(2 * PAD_MM * (SETTINGS.notch_mm + 2 * PAD_MM))
