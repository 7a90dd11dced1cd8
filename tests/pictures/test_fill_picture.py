import numpy as np
import pytest
from PIL import Image

from fill_shapes import UP, box_with_dome
from firstpour.fill.pockets import find_pockets
from firstpour.pictures.fill_picture import AIR, EMPTY, MATERIAL, draw_fill, look_through, paint_above, save_fill


def near(image: np.ndarray, colour: tuple[int, int, int], within: int) -> np.ndarray:
    return np.abs(image.astype(int) - colour).max(axis=-1) <= within


def fill_of_dome(resolution: int = 96):
    return find_pockets(box_with_dome(), up=UP, resolution=resolution)


def test_the_side_view_holds_the_volumes():
    fill = fill_of_dome()
    side = look_through(fill)
    assert side.air_mm.sum() * side.step_mm**2 == pytest.approx(fill.trapped_mm3)
    assert side.material_mm.sum() * side.step_mm**2 == pytest.approx(60 * 40 * 20 + 6 * 40 * 25, rel=0.02)


def test_seen_from_above_air_shows_only_once_it_is_cut_off():
    fill = fill_of_dome()
    end, before = (paint_above(fill, level_mm=level) for level in (np.inf, 10.0))
    share = near(end[..., :], AIR, 70).mean() * end.shape[0] * end.shape[1] * fill.pitch_mm**2
    assert np.isclose(share, np.pi * 12**2, rtol=0.35)
    assert not near(before, AIR, 40).any()
    assert near(before, EMPTY, 40).any()


def test_a_vented_filling_shows_no_air():
    fill = find_pockets(box_with_dome(), up=UP, vents_mm=(np.array([18.0, 20, 32]),), resolution=96)
    assert not near(np.asarray(draw_fill(fill, width_px=600).crop((0, 40, 600, 290))), AIR, 25).any()


def test_the_still_and_the_moving_picture_are_written(tmp_path):
    still, moving = save_fill(fill_of_dome(64), tmp_path, name="dome")
    with Image.open(still) as image:
        assert image.size[0] == 1200
        assert near(np.asarray(image.convert("RGB")), MATERIAL, 40).mean() > 0.03
    with Image.open(moving) as frames:
        assert frames.n_frames > 10
        first = np.asarray(frames.convert("RGB"))
        frames.seek(frames.n_frames - 1)
        last = np.asarray(frames.convert("RGB"))
    assert near(last, AIR, 30).sum() > 4 * near(first, AIR, 30).sum()
