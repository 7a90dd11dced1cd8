import numpy as np
import pytest
from PIL import Image

from fill_shapes import UP, box_with_dome
from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import Channel, ChannelUse
from firstpour.pictures.fill_around import Around, stand
from firstpour.pictures.fill_picture import draw_fill, save_fill
from firstpour.pictures.fill_views import EMPTY, MATERIAL, look_down, look_through, paint_above


def near(image: np.ndarray, colour: tuple[int, int, int], within: int) -> np.ndarray:
    return np.abs(image.astype(int) - colour).max(axis=-1) <= within


def held(image: np.ndarray) -> np.ndarray:
    """Where the plum of trapped air shows, whatever the light: red and blue stand above green."""
    red, green, blue = np.moveaxis(image.astype(int), -1, 0)
    return (red - green > 10) & (blue - green > 6)


def fill_of_dome(resolution: int = 96):
    return find_pockets(box_with_dome(), up=UP, resolution=resolution)


def test_the_side_view_holds_the_volumes():
    fill = fill_of_dome()
    side = look_through(fill)
    assert side.air_mm.sum() * side.step_mm**2 == pytest.approx(fill.trapped_mm3)
    assert side.material_mm.sum() * side.step_mm**2 == pytest.approx(60 * 40 * 20 + 6 * 40 * 25, rel=0.02)


def test_seen_from_above_air_shows_only_once_it_is_cut_off():
    fill = fill_of_dome()
    end, before = (paint_above(fill, look_down(fill), level_mm=level)[0] for level in (np.inf, 10.0))
    share = held(end).mean() * end.shape[0] * end.shape[1] * fill.pitch_mm**2
    assert np.isclose(share, np.pi * 12**2, rtol=0.35)
    assert not held(before).any()
    assert near(before, EMPTY, 40).any()


def test_a_vented_filling_shows_no_air():
    fill = find_pockets(box_with_dome(), up=UP, vents_mm=(np.array([18.0, 20, 32]),), resolution=96)
    assert not held(np.asarray(draw_fill(fill, width_px=600).crop((0, 40, 600, 290)))).any()
    without = draw_fill(fill_of_dome(), width_px=600).crop((0, 40, 600, 290))
    assert held(np.asarray(without)).mean() > 0.01


def block_with_gate(lean_deg: float) -> tuple[Around, np.ndarray]:
    """A block 80 × 60 × 50 with a gate 6 mm wide up its middle, and a frame whose up leans towards +x."""
    corners = np.array([[x, y, z] for x in (-10.0, 70) for y in (-10.0, 50) for z in (-8.0, 42)])
    path = np.array([[30.0, 20, 20], [30, 20, 50]])
    gate = Channel(use=ChannelUse.GATE, path_mm=path, radius_start_mm=3.0, radius_end_mm=6.0)
    c, s = np.cos(np.radians(lean_deg)), np.sin(np.radians(lean_deg))
    return Around(outside_mm=corners, channels=(gate,)), np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]])


def test_a_level_block_is_poured_to_its_top():
    around, frame = block_with_gate(0.0)
    standing = stand(around, frame)
    assert standing.tilt_deg == 0.0
    assert standing.pour_to_mm == pytest.approx(42.0, abs=0.1)
    assert standing.paths_mm[0][-1, 2] == pytest.approx(42.0, abs=0.1)


def test_a_leaning_block_is_poured_to_the_lower_lip_of_its_mouth():
    around, frame = block_with_gate(10.0)
    standing = stand(around, frame)
    assert standing.tilt_deg == pytest.approx(10.0)
    mouth_mm = 30 * np.sin(np.radians(10)) + 42 * np.cos(np.radians(10))
    assert standing.pour_to_mm == pytest.approx(mouth_mm - 6 * np.sin(np.radians(10)), abs=0.1)
    assert abs(standing.lean[0]) == pytest.approx(1.0)


def test_the_picture_shows_the_level_to_pour_to_only_where_a_block_stands_around():
    around, _ = block_with_gate(0.0)
    with_block, alone = (draw_fill(fill_of_dome(64), around=a).crop((20, 80, 640, 580)) for a in (around, None))
    dark = [(np.asarray(image).max(axis=-1) < 110) for image in (with_block, alone)]
    assert dark[0].mean(axis=1).max() > 0.3 > dark[1].mean(axis=1).max()


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
    assert held(last).sum() > 4 * held(first).sum()
