"""The seam along vertical walls: straight, level, whole bores, and the same however the file lies."""

import manifold3d
import numpy as np
import pytest

from firstpour.part.part import Part
from firstpour.parting.block import block_around
from firstpour.parting.draw import draw_along
from firstpour.parting.halves import seam_halves
from firstpour.surface.solids import count_bodies, to_solid
from firstpour.values import Mesh, frame_along
from mould_shapes import Z, as_part, in_frame, seam_of

CYLINDER = manifold3d.Manifold.cylinder


def spoked_wheel():
    """Rim 20–25 mm, hub 7 mm, bore 3 mm, 12 mm wide; five spokes of 4 × 5 mm half way up."""
    wheel = CYLINDER(12.0, 25.0, 25.0, 96) - CYLINDER(40.0, 20.0, 20.0, 96, True) + CYLINDER(12.0, 7.0, 7.0, 64)
    for k in range(5):
        spoke = manifold3d.Manifold.cube((16.0, 4.0, 5.0)).translate((5.5, -2.0, 3.5))
        wheel += spoke.rotate((0.0, 0.0, 72.0 * k))
    return wheel - CYLINDER(40.0, 3.0, 3.0, 48, True)


def pin_on_a_plate():
    """A rod of 4 mm radius lying along y that stands on a plate across it: its seam meets a flat wall half way up."""
    rod = CYLINDER(30.0, 4.0, 4.0, 48).rotate((-90.0, 0.0, 0.0))
    return (rod + manifold3d.Manifold.cube((24.0, 4.0, 16.0)).translate((-12.0, -4.0, -8.0))).refine_to_length(3.0)


def turned_at_random(part, seed):
    """The part and its z turned at random, in single precision as files keep it."""
    frame = frame_along(np.random.default_rng(seed).normal(size=3)) @ np.diag([1.0, 1.0, 1.0])
    vertices_mm = (part.mesh.vertices_mm @ frame).astype(np.float32).astype(np.float64)
    return Part(name=part.name, mesh=Mesh(vertices_mm=vertices_mm, faces=part.mesh.faces), marks=part.marks), frame[2]


def loops_of(part, direction):
    seamed = seam_of(part, draw_along(part, direction))
    return seamed, [seamed.mesh.vertices_mm[loop] for loop in seamed.loops]


def plan_mm2(loop):
    x, y = loop[:, 0], loop[:, 1]
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


@pytest.mark.parametrize("seed", [None, 1, 2])
def test_a_wheel_opens_with_a_loop_for_rim_bore_and_each_window(seed):
    """The bore is a level circle at one of its ends; a window is a sector less a spoke."""
    part, axis = (
        (as_part("wheel", spoked_wheel()), Z)
        if seed is None
        else turned_at_random(as_part("wheel", spoked_wheel()), seed)
    )
    seamed, loops = loops_of(part, axis)
    areas = sorted(plan_mm2(loop) for loop in loops)
    assert len(loops) == 7
    assert areas[0] == pytest.approx(0.5 * 48 * 9.0 * np.sin(2 * np.pi / 48), rel=1e-4)
    assert areas[-1] == pytest.approx(0.5 * 96 * 625.0 * np.sin(2 * np.pi / 96), rel=1e-4)
    sector = np.pi * (20.0**2 - 7.0**2) / 5 - 4.0 * 13.0
    assert areas[1:6] == pytest.approx([sector] * 5, rel=0.02)
    bore = min(loops, key=plan_mm2)
    z = seamed.mesh.vertices_mm[:, 2]
    assert np.ptp(bore[:, 2]) < 1e-4
    assert min(abs(bore[0, 2] - z.min()), abs(bore[0, 2] - z.max())) < 1e-4


def test_a_seam_that_meets_a_flat_wall_runs_on_level_and_straight():
    _, loops = loops_of(as_part("pin", pin_on_a_plate()), Z)
    (loop,) = loops
    assert np.abs(loop[:, 2]).max() < 0.3  # half a facet of the rod, 4 sin(π/48)
    length_mm = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1).sum()
    assert length_mm == pytest.approx(2 * (24.0 + 4.0) + 2 * 30.0, rel=0.01)


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_the_halves_do_not_depend_on_how_the_file_lies(seed):
    part, axis = turned_at_random(as_part("wheel", spoked_wheel()), seed)
    draw = draw_along(part, axis)
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    halves = seam_halves(seamed, block, rim_band_mm=3.0)
    solid = to_solid(in_frame(part, draw))
    whole_mm3 = float(np.prod(block.high_mm - block.low_mm))
    filled_mm3 = halves.upper.volume() + halves.lower.volume() + solid.volume()
    assert filled_mm3 == pytest.approx(whole_mm3, rel=1e-6)
    for half in (halves.upper, halves.lower):
        assert count_bodies(half) == 1
        assert (half ^ solid).volume() < 1e-6 * whole_mm3


def test_the_halves_of_a_wheel_lift_off_in_steps():
    """Moved apart along the draw, neither half meets the part or the other (exact booleans)."""
    part = as_part("wheel", spoked_wheel())
    draw = draw_along(part, Z)
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    halves = seam_halves(seamed, block, rim_band_mm=3.0)
    solid = to_solid(in_frame(part, draw))
    for step_mm in (0.01, 0.3, 2.0, 6.0, 15.0):
        upper = halves.upper.translate((0.0, 0.0, step_mm))
        lower = halves.lower.translate((0.0, 0.0, -step_mm))
        assert (upper ^ solid).volume() < 0.05
        assert (lower ^ solid).volume() < 0.05
        assert (upper ^ lower).volume() < 1e-6
