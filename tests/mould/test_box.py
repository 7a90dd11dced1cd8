"""What is printed around the silicone, measured by slices."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.formulas.plates import POISSON_RATIO, wall_give_alpha
from firstpour.mould.box import box_ring, box_wall_mm, chamfered_box, tray_outer
from firstpour.parting.block import Block, block_solid
from firstpour.surface.solids import count_bodies
from mould_shapes import SETTINGS

WALL_MM, FLOOR_MM = 2.0, -12.4
BLOCK = Block(low_mm=np.array([-20.0, -15.0, -10.0]), high_mm=np.array([25.0, 15.0, 12.0]))
ACROSS_MM, DEEP_MM = 45.0, 30.0
CORNERS_MM2 = 2 * SETTINGS.chamfer_mm**2
"""What the four chamfers of the upright edges take from a slice: t²/2 each."""


def wall_of(block):
    return box_wall_mm(block, SETTINGS, silicone_g_ml=1.2)


def block_of(width_mm, depth_mm, height_mm):
    return Block(low_mm=np.zeros(3), high_mm=np.array([width_mm, depth_mm, height_mm]))


def test_a_chamfered_box_has_its_closed_form():
    """Twelve edges lose a prism of t²/2 each but at the corners, where five sixths of a cube t³ are lost."""
    a, b, c, t = 30.0, 20.0, 12.0, 1.5
    lost = 4 * 0.5 * t * t * ((a - 2 * t) + (b - 2 * t) + (c - 2 * t)) + 8 * (5 / 6) * t**3
    box = chamfered_box(np.zeros(3), np.array([a, b, c]), chamfer_mm=t)
    assert box.volume() == pytest.approx(a * b * c - lost)


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


def test_the_tray_steps_back_at_the_level_to_pour_to_and_is_notched_on_two_sides():
    outer = tray_outer(BLOCK, floor_mm=FLOOR_MM, wall_mm=WALL_MM, settings=SETTINGS)
    wide_mm2 = (ACROSS_MM + 2 * WALL_MM) * (DEEP_MM + 2 * WALL_MM) - CORNERS_MM2
    lip_mm2 = wide_mm2 - (ACROSS_MM + WALL_MM) * (DEEP_MM + WALL_MM) - SETTINGS.notch_mm * WALL_MM
    assert outer.slice(11.9).area() == pytest.approx(wide_mm2)
    assert outer.slice(12.0 + 0.5 * SETTINGS.lip_mm).area() == pytest.approx(lip_mm2)
    assert np.array(outer.bounding_box())[[2, 5]] == pytest.approx([FLOOR_MM, 12.0 + SETTINGS.lip_mm])


def test_the_rims_of_the_tray_are_chamfered():
    outer = tray_outer(BLOCK, floor_mm=FLOOR_MM, wall_mm=WALL_MM, settings=SETTINGS)
    back_mm = SETTINGS.chamfer_mm - 0.2
    foot = outer.slice(FLOOR_MM + 0.2)
    sides = np.ptp(foot.to_polygons()[0], axis=0)
    assert sides == pytest.approx([ACROSS_MM + 2 * (WALL_MM - back_mm), DEEP_MM + 2 * (WALL_MM - back_mm)])


def test_the_box_ring_is_open_at_both_ends_and_clears_the_block_all_around():
    ring = box_ring(BLOCK, wall_mm=WALL_MM, settings=SETTINGS)
    play = SETTINGS.bed_clearance_mm
    assert count_bodies(ring) == 1
    assert ring.genus() == 1
    assert ring.min_gap(block_solid(BLOCK), 5.0) == pytest.approx(play)
    outer_mm2 = (ACROSS_MM + 2 * play + 2 * WALL_MM) * (DEEP_MM + 2 * play + 2 * WALL_MM) - CORNERS_MM2
    inner_mm2 = (ACROSS_MM + 2 * play) * (DEEP_MM + 2 * play)
    assert ring.slice(1.0).area() == pytest.approx(outer_mm2 - inner_mm2)


def test_the_ring_has_notches_at_its_foot_half_the_wall_deep():
    ring = box_ring(BLOCK, wall_mm=WALL_MM, settings=SETTINGS)
    whole, notched = ring.slice(1.0).area(), ring.slice(-9.0).area()
    half_mm = 0.5 * (WALL_MM + SETTINGS.bed_clearance_mm)
    assert whole - notched == pytest.approx(2 * SETTINGS.notch_mm * half_mm)
