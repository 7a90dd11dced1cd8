"""Length, rise and bores of a seam before it is cut, against closed forms."""

import manifold3d
import numpy as np
import pytest

from firstpour.parting.candidates import Bore
from firstpour.parting.seam_estimate import SeamEdges, estimate_seam, seam_edges, seam_trouble_mm
from firstpour.parting.undercut import find_undercut
from firstpour.surface.solids import from_solid
from mould_shapes import BOLLARD_SEGMENTS, X, Y, Z, as_part, sample, with_marks


def test_the_seam_of_a_cube_is_its_outline_and_level():
    seam = estimate_seam(seam_edges(sample("cube")), Z)
    assert seam.length_mm == pytest.approx(80.0)
    assert seam.rise_mm == pytest.approx(0.0, abs=1e-9)


def test_the_better_end_of_the_walls_carries_the_seam():
    """An L lying on its back: its outline below is a level rectangle of 30 × 16, the steps above are longer."""
    for direction in (Z, -Z):
        seam = estimate_seam(seam_edges(sample("L-bracket")), direction)
        assert seam.length_mm == pytest.approx(92.0)
        assert seam.rise_mm == pytest.approx(0.0, abs=1e-9)


def test_an_even_ramp_rises_by_its_height():
    """A prism sheared along z: the outline climbs evenly along two sides; the ends stand level."""
    slope = 0.5
    ramp = (
        manifold3d.Manifold.cube((40.0, 1.0, 10.0))
        .warp_batch(lambda xyz: np.column_stack([xyz[:, :2], xyz[:, 2] + slope * xyz[:, 0]]))
        .refine(24)
    )
    seam = estimate_seam(seam_edges(as_part("ramp", ramp)), Z)
    assert seam.rise_mm == pytest.approx(slope * 40.0, rel=0.06)


def test_only_bores_that_the_draw_splits_count():
    bores = [Bore(axis=axis, radius_mm=3.0, long_mm=10.0) for axis in (X, Z)]
    edges = seam_edges(sample("cube"))
    assert estimate_seam(edges, Z, bores=bores).bore_mm == 20.0
    assert estimate_seam(edges, Y, bores=bores).bore_mm == 40.0
    near, off = (np.array([np.sin(a), 0.0, np.cos(a)]) for a in np.radians([2.9, 3.1]))
    assert estimate_seam(edges, near, bores=bores[1:]).bore_mm == 0.0
    assert estimate_seam(edges, off, bores=bores[1:]).bore_mm == 20.0


def test_a_round_seam_is_that_of_its_polygon():
    seam = estimate_seam(seam_edges(sample("bollard")), Z)
    around = 2 * BOLLARD_SEGMENTS * np.sin(np.pi / BOLLARD_SEGMENTS)
    assert seam.length_mm >= 15.0 * around - 1e-6


def test_show_counts_four_times_in_all_and_rise_twice():
    assert seam_trouble_mm(10.0, on_show_mm=10.0, rise_mm=0.0) == 40.0
    assert seam_trouble_mm(10.0, on_show_mm=0.0, rise_mm=10.0) == 30.0


def test_the_seam_lies_on_show_only_between_two_show_faces():
    """A cube with its top shown: the edge around it is shown on one side alone. With all shown, all of it is."""
    cube = from_solid(manifold3d.Manifold.cube((20.0, 20.0, 20.0), True))
    assert estimate_seam(seam_edges(with_marks("cube", cube, show=Z)), X).on_show_mm == 0.0
    part = with_marks("cube", cube, show=Z)
    part.marks.flags.writeable = True
    part.marks[:] = part.marks.max()
    seam = estimate_seam(seam_edges(part), Z)
    assert (seam.length_mm, seam.on_show_mm) == pytest.approx((80.0, 80.0))


def test_a_needle_drawn_along_itself_has_no_edge_where_it_turns_over():
    """Its sides lean by 0.5 mm on 1 m: less than a thousandth, vertical for all that is known."""
    ring = [(0.5 * np.cos(a), 0.5 * np.sin(a), 0.0) for a in 2.0 * np.pi * np.arange(8) / 8]
    needle = manifold3d.Manifold.hull_points([*ring, (0.0, 0.0, 1000.0), (0.0, 0.0, -1000.0)])
    seam = estimate_seam(seam_edges(as_part("needle", needle)), Z)
    assert (seam.length_mm, seam.on_show_mm, seam.rise_mm, seam.bore_mm) == (0.0, 0.0, 0.0, 0.0)


def test_the_end_of_the_walls_with_less_trouble_carries_the_seam_not_the_shorter_one():
    """A shed: a level outline of 4 × 20 below, and under its sloping roof the same outline, rising."""
    solid = manifold3d.Manifold.cube((20.0, 20.0, 10.0)).warp_batch(
        lambda xyz: np.column_stack([xyz[:, :2], xyz[:, 2] * (1.0 + 0.05 * xyz[:, 0])])
    )
    for direction in (Z, -Z):
        seam = estimate_seam(seam_edges(as_part("shed", solid)), direction)
        assert (seam.length_mm, seam.rise_mm) == pytest.approx((80.0, 0.0), abs=1e-6)


def test_rise_is_that_of_an_even_ramp_weighed_by_length():
    """Heights of a two-step outline: lengths 30 and 10 at 0 and 8 mm: √12 × √(¾ ¼) × 8 = 12 mm (standard deviation
    of two values)."""
    edges = SeamEdges(
        lengths_mm=np.array([30.0, 10.0, 5.0]),
        middles_mm=np.array([[0, 0, 0], [0, 0, 8.0], [0, 0, 50.0]]),
        faces=np.array([[0, 1], [0, 1], [0, 0]]),
        shown=np.array([True, False, True]),
        normals=np.array([Z, -Z]),
    )
    seam = estimate_seam(edges, Z)
    assert (seam.length_mm, seam.on_show_mm, seam.rise_mm) == pytest.approx((40.0, 30.0, 12.0))


def test_of_an_undercut_only_its_lips_are_seam_and_the_two_of_a_groove_are_one():
    """A tyre with a groove in the tread and a bore that is wider in the middle: a seam around each, by Pappus."""
    rim_mm, bore_mm = 26.0, 18.0
    profile = [(18, -6), (24, -7), (rim_mm, -3), (25, 0), (rim_mm, 3), (24, 7), (bore_mm, 6), (20, 0)]
    part = as_part("tyre", manifold3d.CrossSection([profile]).revolve(96))
    reach = find_undercut(part.mesh, Z).reach
    seam = estimate_seam(seam_edges(part), Z, reach=reach)
    assert seam.length_mm == pytest.approx(2.0 * np.pi * (rim_mm + bore_mm), rel=0.02)
    assert estimate_seam(seam_edges(part), Z).length_mm > 2.9 * seam.length_mm
