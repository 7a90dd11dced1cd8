"""Pieces too large for the printer, cut and pegged."""

from itertools import combinations

import manifold3d
import numpy as np
import pytest

from firstpour.mould.joints import PEG_CLEARANCE_MM, PEG_LENGTH_MM, cut_to_fit, fits, size_mm
from firstpour.surface.solids import count_bodies
from mould_shapes import X, Y, Z

PRINTER_MM = np.array([100.0, 100.0, 100.0])


def bar(axis):
    """A bar 150 mm long along one axis, 30 mm the other ways."""
    return manifold3d.Manifold.cube(tuple(float(v) for v in np.where(np.arange(3) == axis, 150.0, 30.0)))


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_bar_is_cut_once_across_each_axis_and_fits(axis):
    cut = cut_to_fit(bar(axis), PRINTER_MM)
    assert len(cut.parts) == 2
    assert cut.joints_without_pegs == 0
    assert all(fits(size_mm(part), PRINTER_MM) for part in cut.parts)
    assert all(count_bodies(part) == 1 for part in cut.parts)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_pegs_of_one_part_enter_the_seats_of_the_other_with_clearance(axis):
    near, far = cut_to_fit(bar(axis), PRINTER_MM).parts
    normal = (X, Y, Z)[axis]
    pegs = near.trim_by_plane(tuple(normal), 75.0 + 0.3)
    assert pegs.volume() > 0.0
    assert np.array(pegs.bounding_box())[axis + 3] == pytest.approx(75.0 + PEG_LENGTH_MM)
    assert (near ^ far).volume() == pytest.approx(0.0, abs=1e-6)
    gap_mm = far.min_gap(pegs, 2.0)
    assert 0.9 * PEG_CLEARANCE_MM < gap_mm <= PEG_CLEARANCE_MM
    assert count_bodies(pegs) >= 2  # one peg would let the parts turn


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_what_is_cut_off_and_pegged_adds_up(axis):
    """The seats hold the pegs and the clearance around them, and nothing else is lost."""
    near, far = cut_to_fit(bar(axis), PRINTER_MM).parts
    pegs = near.trim_by_plane(tuple((X, Y, Z)[axis]), 75.0)
    seats_mm3 = 0.5 * bar(axis).volume() - far.volume()
    assert near.volume() == pytest.approx(0.5 * bar(axis).volume() + pegs.volume())
    assert pegs.volume() < seats_mm3 < 1.4 * pegs.volume()


def test_a_plate_too_large_both_ways_is_cut_both_ways():
    plate = manifold3d.Manifold.cube((180.0, 170.0, 12.0))
    cut = cut_to_fit(plate, PRINTER_MM)
    assert len(cut.parts) == 4
    assert all(fits(size_mm(part), PRINTER_MM) for part in cut.parts)
    for one, other in combinations(cut.parts, 2):
        assert (one ^ other).volume() == pytest.approx(0.0, abs=1e-6)
    whole = manifold3d.Manifold.batch_boolean(list(cut.parts), manifold3d.OpType.Add)
    assert whole.volume() == pytest.approx(plate.volume(), rel=0.01)


def test_walls_too_thin_for_pegs_are_cut_and_counted():
    sheet = manifold3d.Manifold.cube((150.0, 2.0, 40.0))
    cut = cut_to_fit(sheet, PRINTER_MM)
    assert cut.joints_without_pegs == 1
    assert sum(part.volume() for part in cut.parts) == pytest.approx(sheet.volume())


def test_a_piece_that_fits_is_left_whole():
    cube = manifold3d.Manifold.cube((90.0, 90.0, 90.0))
    assert cut_to_fit(cube, PRINTER_MM).parts[0].volume() == pytest.approx(cube.volume())
    assert len(cut_to_fit(cube, PRINTER_MM).parts) == 1


@pytest.mark.parametrize(
    ("size", "yes"), [((90, 150, 50), True), ((150, 90, 50), True), ((150, 110, 50), False), ((90, 90, 101), False)]
)
def test_a_piece_may_be_turned_a_quarter_to_fit(size, yes):
    assert fits(np.array(size, float), np.array([100.0, 160.0, 100.0])) is yes


@pytest.mark.parametrize("printer", [(100.0, 300.0, 200.0), (300.0, 100.0, 200.0)])
@pytest.mark.parametrize("size", [(250.0, 120.0, 50.0), (120.0, 250.0, 50.0)])
def test_a_long_piece_is_laid_along_the_long_side_of_the_printer(size, printer):
    cut = cut_to_fit(manifold3d.Manifold.cube(size), np.array(printer))
    assert len(cut.parts) == 2
    assert all(fits(size_mm(part), np.array(printer)) for part in cut.parts)
