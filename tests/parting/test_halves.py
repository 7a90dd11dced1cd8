"""The two halves: they fill the block with the part, and each lifts off."""

import manifold3d
import numpy as np
import pytest

from firstpour.parting.block import block_around, block_solid
from firstpour.parting.draw import draw_along
from firstpour.parting.halves import Side, half_solid, seam_halves
from firstpour.parting.outline import outline_halves
from firstpour.parting.sheet import make_sheet
from firstpour.parting.undercut import find_undercut
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from mould_shapes import LABELS, SETTINGS, WITHOUT_UNDERCUT, Z, as_part, draw_of, in_frame, sample, seam_of, shipped

DEEPEST_MM = 0.1


def halves_of(part, draw):
    """The halves through the seam, and their block."""
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    return seam_halves(seamed, block, rim_band_mm=SETTINGS.rim_mm), block


def check_they_fill_the_block(halves, part, block):
    whole_mm3 = block_solid(block).volume()
    filled_mm3 = halves.upper.volume() + halves.lower.volume() + part.volume() + halves.enclosed_mm3
    assert filled_mm3 == pytest.approx(whole_mm3, rel=1e-6)
    assert (halves.upper ^ halves.lower).volume() == pytest.approx(0.0, abs=1e-6 * whole_mm3)
    for half in (halves.upper, halves.lower):
        assert half.status() == manifold3d.Error.NoError
        assert half.volume() > 0.0
        assert (half ^ part).volume() == pytest.approx(0.0, abs=1e-6 * whole_mm3)


@pytest.mark.parametrize(("name", "direction"), WITHOUT_UNDERCUT, ids=LABELS)
def test_the_halves_of_a_part_without_undercut_fill_the_block_and_lift_off(name, direction):
    draw = draw_of(name, tuple(direction.tolist()))
    halves, block = halves_of(sample(name), draw)
    check_they_fill_the_block(halves, to_solid(in_frame(sample(name), draw)), block)
    for half in (halves.upper, halves.lower):
        assert count_bodies(half) == 1
        undercut = find_undercut(from_solid(half), Z)
        assert all(region.depth_mm is not None and region.depth_mm < DEEPEST_MM for region in undercut.regions)


@pytest.mark.parametrize(("name", "direction"), WITHOUT_UNDERCUT, ids=LABELS)
def test_the_halves_meet_flat_along_the_rim(name, direction):
    halves, block = halves_of(sample(name), draw_of(name, tuple(direction.tolist())))
    xy = halves.sheet.points_mm[:, :2]
    from_rim = np.minimum(xy - block.low_mm[:2], block.high_mm[:2] - xy).min(axis=1)
    band = halves.sheet.points_mm[from_rim < SETTINGS.rim_mm + 1e-6]
    assert len(band) > 40
    assert band[:, 2] == pytest.approx(halves.sheet.rim_mm)
    reaches_in = halves.sheet.tri[(from_rim[halves.sheet.tri] < SETTINGS.rim_mm - 0.05).any(axis=1)]
    assert from_rim[reaches_in].max() < SETTINGS.rim_mm + 1e-6  # no triangle slants out of the band


def test_the_parting_surface_passes_through_the_seam():
    halves, _ = halves_of(sample("warped ring"), draw_of("warped ring", (0.0, 0.0, 1.0)))
    seam = {tuple(point) for loop in halves.seam_mm for point in loop.tolist()}
    assert seam <= {tuple(point) for point in halves.sheet.points_mm.tolist()}


def test_the_undercut_of_a_part_goes_to_one_half_and_the_other_lifts_off():
    draw = draw_of("bollard", (0.0, 0.0, 1.0))
    halves, block = halves_of(sample("bollard"), draw)
    check_they_fill_the_block(halves, to_solid(in_frame(sample("bollard"), draw)), block)
    held = [find_undercut(from_solid(half), Z).volume_mm3 for half in (halves.upper, halves.lower)]
    assert min(held) < 1.0
    assert max(held) < draw.undercut_mm3


@pytest.mark.parametrize(
    ("name", "direction"),
    [
        ("bollard", (0.342, 0.0, 0.94)),
        ("hourglass", (0.3, 0.0, 0.95)),
        ("bollard", (0.0, 0.0, 1.0)),
        ("torus", (1, 0, 1)),
    ],
)
def test_the_outline_gives_valid_halves_where_no_seam_does(name, direction):
    part, draw = sample(name), draw_along(sample(name), np.array(direction))
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    halves = outline_halves(in_frame(part, draw), seamed, block, rim_band_mm=SETTINGS.rim_mm)
    check_they_fill_the_block(halves, to_solid(in_frame(part, draw)), block)


@pytest.mark.parametrize("direction", [(0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)])
def test_the_outline_gives_valid_halves_of_the_ant(direction):
    """Its legs lie above each other along all three draws, and its nine bodies float beside each other."""
    part = shipped("ant")
    draw = draw_along(part, np.array(direction))
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    through_seam = seam_halves(seamed, block, rim_band_mm=SETTINGS.rim_mm)
    outlined = outline_halves(in_frame(part, draw), seamed, block, rim_band_mm=SETTINGS.rim_mm)
    for halves in filter(None, (through_seam, outlined)):
        check_they_fill_the_block(halves, to_solid(in_frame(part, draw)), block)


def test_a_body_that_lies_wholly_in_one_half_stays_empty():
    """Two balls, one over the other along the draw: their seams cross, and one ball floats in a half."""
    ball = manifold3d.Manifold.sphere(8.0, 48)
    part = as_part("two balls", ball + ball.scale((0.5, 0.5, 0.5)).translate((2.0, 0.0, 20.0)))
    draw = draw_along(part, Z)
    seamed = seam_of(part, draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    halves = outline_halves(in_frame(part, draw), seamed, block, rim_band_mm=SETTINGS.rim_mm)
    check_they_fill_the_block(halves, to_solid(in_frame(part, draw)), block)


def test_a_surface_that_does_not_close_is_no_half():
    draw = draw_of("sphere", (0.0, 0.0, 1.0))
    seamed = seam_of(sample("sphere"), draw)
    block = block_around(seamed.mesh.vertices_mm, wall_mm=8.0, side_mm=10.0)
    loops_mm = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    sheet = make_sheet(loops_mm, block, rim_band_mm=3.0)
    shell = seamed.mesh.faces[seamed.upper]
    whole, torn = (
        half_solid(
            sheet,
            block,
            side=Side.UPPER,
            seam=np.concatenate(seamed.loops),
            vertices_mm=seamed.mesh.vertices_mm,
            shell=faces,
        )
        for faces in (shell, shell[len(shell) // 2 :])
    )
    assert whole is not None
    assert torn is None
