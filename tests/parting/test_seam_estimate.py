"""Length, rise and bores of a seam before it is cut, against closed forms."""

import manifold3d
import numpy as np
import pytest

from firstpour.parting.candidates import Bore
from firstpour.parting.seam_estimate import estimate_seam, seam_edges, seam_trouble_mm
from mould_shapes import BOLLARD_SEGMENTS, X, Y, Z, as_part, sample


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
