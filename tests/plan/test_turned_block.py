"""Which way up a block is poured."""

import manifold3d
import numpy as np
import pytest

from firstpour.parting.draw import draw_along
from firstpour.parting.parting import PartingSizes, lay_parting
from firstpour.parting.values import MouldKind
from firstpour.plan.turned_block import turned_for_its_pour
from mould_shapes import X, Z, as_part

RADIUS_MM, DEEP_MM = 6.0, 12.0


def cup():
    """A cube with a blind hole in its top."""
    hole = manifold3d.Manifold.cylinder(DEEP_MM + 1.0, RADIUS_MM, RADIUS_MM, 128).translate(
        (0.0, 0.0, 10.0 - DEEP_MM)
    )
    return as_part("cup", manifold3d.Manifold.cube((20.0, 20.0, 20.0), True) - hole)


def block_along(direction):
    return lay_parting(cup(), draw_along(cup(), direction), kind=MouldKind.BLOCK)


def test_a_block_is_turned_over_where_its_master_would_hang_as_a_bell():
    turned = turned_for_its_pour(block_along(Z), cup(), sizes=PartingSizes())
    np.testing.assert_allclose(turned.draw.direction, -Z)
    left = turned_for_its_pour(block_along(-Z), cup(), sizes=PartingSizes())
    np.testing.assert_allclose(left.draw.direction, -Z)


def test_a_block_on_its_side_is_left_as_it_lies():
    parting = block_along(X)
    assert turned_for_its_pour(parting, cup(), sizes=PartingSizes()) is parting


@pytest.mark.parametrize(("deep_mm", "turned"), [(2.0, False), (3.2, True)])
def test_a_block_is_turned_over_for_fifty_mm3_of_air_and_more(deep_mm, turned):
    """A round hole of 5 mm: π 2.5² × 2.0 = 39 mm³, × 3.2 = 63 mm³."""
    hole = manifold3d.Manifold.cylinder(deep_mm + 1.0, 2.5, 2.5, 128).translate((0.0, 0.0, 10.0 - deep_mm))
    part = as_part("cup", manifold3d.Manifold.cube((20.0, 20.0, 20.0), True) - hole)
    parting = lay_parting(part, draw_along(part, Z), kind=MouldKind.BLOCK)
    poured = turned_for_its_pour(parting, part, sizes=PartingSizes())
    assert (poured is not parting) is turned
