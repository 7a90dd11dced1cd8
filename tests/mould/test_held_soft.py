"""Silicone against its tray, counted on cubes, beside exact solids."""

import manifold3d
import numpy as np
import pytest

from firstpour.mould.held import held_mm3, held_soft_mm3
from firstpour.surface.solids import from_solid

UP = np.array([0.0, 0.0, 1.0])


def box(x, y, z):
    return manifold3d.Manifold.cube((x, y, z), True)


NOWHERE = box(1.0, 1.0, 1.0).translate((0.0, 0.0, -500.0))


@pytest.mark.parametrize("way", [1, -1])
def test_a_straight_block_slides_out_of_its_tray(way):
    block = box(40.0, 30.0, 20.0)
    tray = box(46.0, 36.0, 20.0) - box(40.0, 30.0, 40.0)
    assert held_soft_mm3(from_solid(block), from_solid(tray), aside=from_solid(NOWHERE), way=way) == 0.0


@pytest.mark.parametrize("radius_mm", [2.0, 4.0])
def test_a_bar_across_is_counted_as_the_exact_solids_count_it(radius_mm):
    """A round bar of the tray through the silicone locks it; what is counted is at most a tenth off."""
    bar = manifold3d.Manifold.cylinder(60.0, radius_mm, radius_mm, 48, True).rotate((90.0, 0.0, 0.0))
    block = box(40.0, 30.0, 20.0) - bar
    tray = (box(46.0, 36.0, 20.0) - box(40.0, 30.0, 40.0)) + (bar ^ box(46.0, 36.0, 20.0))
    exact = held_mm3(block, tray, way=UP)
    assert exact > 100.0
    found = held_soft_mm3(from_solid(block), from_solid(tray), aside=from_solid(NOWHERE), way=1)
    assert found == pytest.approx(exact, rel=0.1)


def test_what_the_part_itself_holds_does_not_count():
    bar = manifold3d.Manifold.cylinder(60.0, 3.0, 3.0, 48, True).rotate((90.0, 0.0, 0.0))
    block = box(40.0, 30.0, 20.0) - bar
    tray = (box(46.0, 36.0, 20.0) - box(40.0, 30.0, 40.0)) + (bar ^ box(46.0, 36.0, 20.0))
    assert held_soft_mm3(from_solid(block), from_solid(tray), aside=from_solid(bar), way=1) < 5.0
