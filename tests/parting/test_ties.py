"""Faces that lie over one another: which faces are tied, and halves whose seam leaves what lies between whole."""

import manifold3d
import numpy as np
import pytest
import shapely

from families import family_part
from firstpour.parting.block import block_around
from firstpour.parting.draw import draw_along
from firstpour.parting.halves import seam_halves
from firstpour.parting.parting import lay_parting
from firstpour.parting.seam import cut_seam, tied_seams
from firstpour.parting.ties import GAP_RATIO, LINES, find_ties
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from firstpour.values import face_centres_mm
from mould_shapes import Z, as_part, in_frame

CUBE = manifold3d.Manifold.cube
OVER_MM, DEEP_MM = 4.0, 30.0


def lap():
    """A wall along x with two shelves, one high and one low, that lie over one another for 4 mm."""
    wall = CUBE((50.0, 4.0, 20.0)).translate((0.0, -4.0, 0.0))
    high = CUBE((27.0, DEEP_MM, 3.0)).translate((0.0, 0.0, 17.0))
    low = CUBE((27.0, DEEP_MM, 3.0)).translate((27.0 - OVER_MM, 0.0, 0.0))
    return (wall + high + low).refine_to_length(4.0)


def test_what_lies_between_two_shelves_is_tied_over_their_lap_and_a_gap_around():
    """Each pixel of the lap ties its own two faces once; the lap is 4 × 30 mm."""
    part = as_part("lap", lap())
    ties = find_ties(part.mesh)
    z = face_centres_mm(part.mesh)[ties.pairs, 2]
    assert {tuple(sorted(row)) for row in z.round(3).tolist()} == {(3.0, 17.0)}
    places = face_centres_mm(part.mesh)[np.unique(ties.pairs)]
    pitch_mm = 54.0 / LINES
    reach_mm = GAP_RATIO * 54.0 + 2.0 * pitch_mm + 4.0
    assert places[:, 0].min() > 27.0 - OVER_MM - reach_mm
    assert places[:, 0].max() < 27.0 + reach_mm


def test_nothing_is_tied_where_nothing_lies_over_another():
    assert len(find_ties(as_part("box", CUBE((20.0, 10.0, 5.0))).mesh).pairs) == 0
    part = as_part("box", CUBE((20.0, 10.0, 5.0)))
    assert not list(tied_seams(part.mesh, reach=draw_along(part, Z).reach, marks=part.marks))


def test_a_wall_goes_to_the_upper_half_over_a_face_that_does():
    """The wall behind the low shelf, outside the lap, stands over the shelf's top and under nothing."""
    part = as_part("lap", lap())
    ties = find_ties(part.mesh)
    centres = face_centres_mm(part.mesh)
    behind = np.flatnonzero((np.abs(centres[:, 1]) < 1e-9) & (centres[:, 0] > 32.0) & (centres[:, 2] > 4.0))
    under = {int(b): int(a) for a, b in ties.stacked.tolist() if b in set(behind.tolist())}
    assert set(under) == set(behind.tolist())
    assert np.allclose(centres[list(under.values()), 2], 3.0)


@pytest.fixture(scope="module")
def fan():
    """A hub with six pitched blades, 20 mm across, that lap beside it; and its draw along the hub."""
    part = family_part("fan", size_mm=20.0)
    return part, draw_along(part, Z)


def test_the_plain_cut_gives_no_halves_of_blades_that_lap(fan):
    """What the ties are for: were this seam to do, they would not be needed here."""
    part, draw = fan
    mesh = in_frame(part, draw)
    seamed = cut_seam(mesh, reach=draw.reach, marks=part.marks)
    block = block_around(mesh.vertices_mm, wall_mm=8.0, side_mm=8.0)
    assert seam_halves(seamed, block, rim_band_mm=3.0) is None


def test_a_tied_seam_does_not_cross_itself_and_leaves_facing_faces_in_one_half(fan):
    """By shapely's own crossings of the loops seen along the draw."""
    part, draw = fan
    seamed = next(tied_seams(in_frame(part, draw), reach=draw.reach, marks=part.marks))
    rings = [shapely.LinearRing(seamed.mesh.vertices_mm[loop][:, :2]) for loop in seamed.loops]
    assert all(ring.is_simple for ring in rings)
    assert not any(one.intersects(other) for k, one in enumerate(rings) for other in rings[:k])
    ties = find_ties(seamed.mesh)
    apart = seamed.upper[ties.pairs[:, 0]] != seamed.upper[ties.pairs[:, 1]]
    assert ties.pairs_mm2[apart].sum() < 0.02 * ties.pairs_mm2.sum()


def test_two_halves_of_blades_that_lap_come_apart_and_fill_the_block(fan):
    """By manifold: upper, lower and part are the block; nothing is shared; no half closes a ring; and each half,
    moved off along the draw, runs into no more than the void between the blades."""
    part, draw = fan
    parting = lay_parting(part, draw, kind=MouldKind.TRAYS)
    assert parting.smooth
    assert not parting.shut
    upper, lower = parting.halves.upper, parting.halves.lower
    solid = to_solid(parting.mesh)
    size = parting.block.high_mm - parting.block.low_mm
    assert upper.volume() + lower.volume() + solid.volume() == pytest.approx(float(np.prod(size)), rel=1e-5)
    for one, other in ((upper, lower), (upper, solid), (lower, solid)):
        assert (one ^ other).volume() < 0.1
    assert max(body.genus() for half in (upper, lower) for body in half.decompose() if body.volume() > 1.0) == 0
    for half, way in ((upper, 1.0), (lower, -1.0)):
        for step in (0.3, 1.0, 3.0, 8.0, 20.0):
            held = (half.translate((0.0, 0.0, way * step)) ^ solid).volume()
            assert held <= 1.1 * draw.undercut_mm3 + 0.5 + 1e-3 * solid.surface_area()
