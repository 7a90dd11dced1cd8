"""The parting surface between seam and rim."""

import numpy as np
import pytest

from firstpour.parting.block import Block, block_around
from firstpour.parting.sheet import (
    harmonic_heights,
    loops_are_apart,
    make_sheet,
    mean_height_mm,
    sheet_height_mm,
    triangulate_rings,
)
from mould_shapes import draw_of, sample, seam_of


def circle(radius_mm, *, z_mm=0.0, count=48, at=(0.0, 0.0), turn=0.0):
    a = 2 * np.pi * (np.arange(count) + turn) / count
    return np.column_stack([at[0] + radius_mm * np.cos(a), at[1] + radius_mm * np.sin(a), np.full(count, z_mm)])


def test_heights_between_two_rings_are_those_of_the_logarithm():
    """Laplace's equation between circles of 2 at height 0 and 20 at height 10: 10 ln(r/2)/ln(10) (closed form)."""
    rings = [circle(20.0, count=64), circle(2.0, count=64)[::-1]]
    steps = 2.0 * 10.0 ** (np.arange(1, 24) / 24)
    between = np.concatenate([circle(r, count=64, turn=0.5 * (n % 2))[:, :2] for n, r in enumerate(steps)])
    xy = np.concatenate([rings[0][:, :2], rings[1][:, :2], between])
    tri = triangulate_rings(xy, [np.arange(64), 64 + np.arange(64)], first_new=128)
    known = np.full(len(xy), np.nan)
    known[:64], known[64:128] = 10.0, 0.0
    used = np.unique(tri)
    wanted = 10.0 * np.log(np.linalg.norm(xy, axis=1) / 2.0) / np.log(10.0)
    assert harmonic_heights(xy, tri, known)[used] == pytest.approx(wanted[used], abs=0.05)


def test_heights_never_leave_the_range_of_what_is_given():
    seamed = seam_of(sample("warped ring"), draw_of("warped ring", (0.0, 0.0, 1.0)))
    loops = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    sheet = make_sheet(loops, block, rim_band_mm=3.0)
    seam_z = np.concatenate(loops)[:, 2]
    assert sheet.points_mm[:, 2].max() <= max(seam_z.max(), sheet.rim_mm) + 1e-9
    assert sheet.points_mm[:, 2].min() >= min(seam_z.min(), sheet.rim_mm) - 1e-9


def test_the_sheet_covers_the_block_less_what_the_seam_encloses():
    seamed = seam_of(sample("two-hole plate"), draw_of("two-hole plate", (0.0, 0.0, 1.0)))
    loops = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    sheet = make_sheet(loops, block, rim_band_mm=3.0)
    a, b, c = (sheet.points_mm[sheet.tri[:, k], :2] for k in range(3))
    plan_mm2 = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum()
    hole_mm2 = 0.5 * 40 * 25 * np.sin(2 * np.pi / 40)  # a regular polygon of 40 corners, radius 5
    assert plan_mm2 == pytest.approx(70.0 * 44.0 - 50.0 * 24.0 + 2 * hole_mm2)


def test_loops_that_cross_seen_along_the_draw_are_not_apart():
    assert loops_are_apart((circle(5.0), circle(5.0, at=(11.0, 0.0))))
    assert loops_are_apart((circle(5.0), circle(2.0)[::-1]))
    assert not loops_are_apart((circle(5.0), circle(5.0, z_mm=9.0, at=(6.0, 0.0))))
    assert not loops_are_apart((np.concatenate([circle(5.0)[:24], circle(5.0, at=(6.0, 0.0))]),))


def test_the_rim_lies_at_the_mean_height_of_the_outer_seam():
    assert mean_height_mm((circle(9.0, z_mm=4.0), circle(3.0, z_mm=-7.0)[::-1])) == pytest.approx(4.0)


def test_the_height_of_the_surface_is_the_seams_at_the_seam_and_its_own_at_its_points():
    seamed = seam_of(sample("warped ring"), draw_of("warped ring", (0.0, 0.0, 1.0)))
    loops = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    sheet = make_sheet(loops, block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0), rim_band_mm=3.0)
    for points in (np.concatenate(loops), sheet.points_mm, sheet.points_mm[sheet.tri].mean(axis=1)):
        assert sheet_height_mm(sheet, points[:, :2]) == pytest.approx(points[:, 2], abs=1e-6)


def test_the_height_of_the_surface_inside_the_part_and_past_the_rim_is_the_nearest():
    loop = circle(10.0, z_mm=2.0, count=256)
    block = Block(low_mm=np.array([-30.0, -30.0, -5.0]), high_mm=np.array([30.0, 30.0, 5.0]))
    sheet = make_sheet((loop,), block, rim_band_mm=3.0)
    assert sheet_height_mm(sheet, np.array([[0.0, 0.0], [4.0, -3.0], [90.0, 20.0]])) == pytest.approx(2.0)
