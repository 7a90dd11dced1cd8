"""Rigid pieces that come apart: beds opened over their voids, moving pieces stepped out."""

import manifold3d
import numpy as np
import pytest

from firstpour.mould.held import LINES, RIGID_MM3, UP, held_mm3, over_voids
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from mould_shapes import mould_of

R_MM, OVER_MM = 10.0, 12.0
"""A ball of this radius sunk into a slab whose top lies so far above the ball's middle."""


def slab():
    return manifold3d.Manifold.cube((40.0, 40.0, 30.0)).translate((-20.0, -20.0, OVER_MM - 30.0))


def ball(radius_mm=R_MM):
    return manifold3d.Manifold.sphere(radius_mm, 96)


def test_a_bed_around_a_sunk_ball_is_opened_by_what_lies_over_the_ball():
    """Over the upper half ball: π r² h − 2/3 π r³, and a rim of about one to two lines around it."""
    bed = slab() - ball()
    over = over_voids(bed)
    assert over is not None
    lost_mm3 = float((bed ^ over).volume())
    least_mm3 = np.pi * R_MM**2 * OVER_MM - 2 / 3 * np.pi * R_MM**3
    rim_mm3 = 2 * np.pi * (R_MM + 0.5) * OVER_MM * 3.0 * 40.0 / LINES
    assert 0.99 * least_mm3 < lost_mm3 < least_mm3 + rim_mm3
    assert held_mm3(ball(R_MM - 0.05), bed, way=UP) > 100.0
    assert held_mm3(ball(R_MM - 0.05), bed - over, way=UP) < 0.01


def test_a_bed_without_overhang_stays_as_it_is():
    """A half ball, a slot through the floor and a slanting pocket are all free upwards."""
    half = slab() - ball().translate((0.0, 0.0, OVER_MM))
    assert over_voids(half) is None
    assert over_voids(slab() - manifold3d.Manifold.cube((4.0, 4.0, 99.0), True)) is None


def test_what_is_in_the_way_of_a_moving_piece_has_its_volume():
    """A bar of 2 × 2 mm right above a cube is met by it, 1 mm deep after a step of 1 mm, all of it after 4 mm."""
    cube = manifold3d.Manifold.cube((10.0, 10.0, 20.0))
    bar = manifold3d.Manifold.cube((2.0, 30.0, 2.0)).translate((4.0, -10.0, 20.0))
    assert held_mm3(cube, bar, way=UP) == pytest.approx(2.0 * 10.0 * 2.0)
    assert held_mm3(cube, bar, way=-UP) == 0.0


@pytest.mark.parametrize(
    ("name", "direction"), [("bollard", (1.0, 0.0, 0.0)), ("bollard", (0.0, 0.0, 1.0)), ("mushroom", (0.0, 0.0, 1.0))]
)
def test_the_master_lifts_out_of_its_bed_whatever_undercut_it_has(name, direction):
    mould = mould_of(name, direction, MouldKind.BEDDING)
    solids = {piece.name: to_solid(piece.mesh) for piece in mould.pieces}
    along = mould.draw.direction / np.linalg.norm(mould.draw.direction)
    assert held_mm3(solids["master"], solids["bedding"], way=along) < RIGID_MM3
    assert not {"pieces-stuck", "locked-in-tray"} & {finding.code for finding in mould.findings}
