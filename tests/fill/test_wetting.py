import numpy as np
import pytest

from fill_shapes import UP, box_with_dome, tilted
from firstpour.fill.pockets import find_pockets
from firstpour.fill.wetting import wet_and_trapped, wet_levels_mm
from firstpour.values import face_centres_mm


@pytest.mark.parametrize("degrees", [0, 12])
def test_faces_are_wetted_at_their_own_level_unless_air_keeps_them_dry(degrees):
    part, up = box_with_dome(), tilted(degrees)
    fill = find_pockets(part, up=up)
    levels = wet_levels_mm(part, fill)
    centres = face_centres_mm(part.mesh)
    dry = np.isinf(levels)
    assert levels[~dry] == pytest.approx((centres @ up)[~dry])
    in_dome = np.linalg.norm(centres - [18, 20, 20], axis=1) < 12.5
    high = centres @ up > fill.pockets[0].seals_at_mm + 0.5
    assert dry[in_dome & high].all()
    assert not dry[~in_dome].any()


def test_voxels_hold_the_volumes_of_the_part_and_the_pockets():
    fill = find_pockets(box_with_dome(), up=UP, resolution=160)
    voxels, floor = wet_and_trapped(fill)
    cell = fill.pitch_mm**3
    assert (voxels == 2).sum() * cell == pytest.approx(fill.trapped_mm3, rel=0.03)
    assert (voxels == 1).sum() * cell == pytest.approx(60 * 40 * 20 + 6 * 40 * 25, rel=0.02)
    assert floor == pytest.approx(0)
    lowest = np.flatnonzero((voxels == 2).any(axis=(1, 2)))[0]
    assert floor + (lowest + 0.5) * fill.pitch_mm == pytest.approx(20, abs=fill.pitch_mm)
