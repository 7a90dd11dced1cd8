"""Pry notches: none where the parting surface rises behind the rim, for silicone would be a film there."""

import manifold3d
import numpy as np
import pytest

from firstpour.mould.pieces import BESIDE_MM, NOTCH_HIGH_MM, Cast, _pry_notches
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block, box_solid
from firstpour.surface.solids import from_solid

SETTINGS = MouldSettings()
BLOCK = Block(low_mm=np.array([-40.0, -30.0, -20.0]), high_mm=np.array([40.0, 30.0, 20.0]))


def upper_half(*, rise_mm: float, side_mm: float = 30.0) -> manifold3d.Manifold:
    """The half above a surface level along the rim that steps up by `rise_mm` behind it, at x > 0 for |y| < side."""
    above = box_solid(np.array([-40.0, -30.0, 0.0]), BLOCK.high_mm)
    if rise_mm == 0.0:
        return above
    return above - box_solid(np.array([0.0, -side_mm, -1.0]), np.array([37.0 - 0.3, side_mm, rise_mm]))


def notches(upper: manifold3d.Manifold) -> list[np.ndarray]:
    """Lowest and highest corners (2, 3) of each notch."""
    part = from_solid(manifold3d.Manifold.sphere(5.0, 24))
    cast = Cast(part=part, block=BLOCK, channels=(), settings=SETTINGS, silicone_g_ml=1.2)
    made = _pry_notches(upper, cast, (), 0.0)
    return [np.array(one.bounding_box()).reshape(2, 3) for one in made.decompose()]


def test_over_a_level_surface_there_are_two_in_the_middle_of_their_sides():
    found = sorted(notches(upper_half(rise_mm=0.0)), key=lambda one: one[0, 0])
    assert [one.mean(axis=0)[1] for one in found] == pytest.approx([0.0, 0.0])
    assert found[0][1, 0] == pytest.approx(-37.0)
    assert found[1][0, 0] == pytest.approx(37.0)
    assert found[0][1, 2] == pytest.approx(NOTCH_HIGH_MM)


def test_where_the_surface_rises_behind_a_side_that_side_has_none():
    (left,) = notches(upper_half(rise_mm=6.0))
    assert left[1, 0] == pytest.approx(-37.0)


def test_a_notch_moves_along_its_side_to_where_the_surface_is_level():
    found = sorted(notches(upper_half(rise_mm=6.0, side_mm=4.0)), key=lambda one: one[0, 0])
    assert len(found) == 2
    assert abs(found[1].mean(axis=0)[1]) - 0.5 * SETTINGS.notch_mm >= 4.0 + BESIDE_MM - 0.1
