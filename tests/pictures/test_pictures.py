"""Whole pictures: what they show of a part and its mould."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from files_shapes import UP, circle_mm, knob_draw, knob_mould, knob_part
from firstpour.errors import BadRequest, CannotWrite
from firstpour.mould.bed import on_the_bed, places_side_by_side_mm, printed
from firstpour.mould.values import Role
from firstpour.parting.values import Reach
from firstpour.pictures.colours import CLAY, PLUM, rgb_of
from firstpour.pictures.mould_picture import (
    Placed,
    _cavity_up,
    _cut_through,
    mould_picture,
    moved_apart,
    pieces_picture,
)
from firstpour.pictures.part_picture import part_picture, share_words, view_along
from firstpour.pictures.sheet import blank_sheet, save_png, scale_bar_mm
from firstpour.values import mesh_volume_mm3

PANEL = (slice(100, 560), slice(150, 1400))


def looks_like(picture: Image.Image, hex_colour: str) -> int:
    """How many pixels of the panels have the hue of the colour, whatever the light on it."""
    pixels = np.asarray(picture, dtype=float)[PANEL]
    wanted = rgb_of(hex_colour)
    share = pixels / np.maximum(pixels.max(axis=2, keepdims=True), 1.0)
    lit = pixels.max(axis=2) > 60
    return int((lit & (np.abs(share - wanted / wanted.max()).max(axis=2) < 0.12)).sum())


def test_undercut_faces_show_in_their_colour_and_only_they():
    part = knob_part()
    without = part_picture(part, knob_draw(part.mesh))
    held = part_picture(part, knob_draw(part.mesh, undercut=True))
    assert looks_like(held, PLUM) > looks_like(without, PLUM) + 500


def test_the_seam_is_drawn_on_the_part():
    part = knob_part()
    draw = knob_draw(part.mesh)
    with_seam = np.asarray(part_picture(part, draw, seam_mm=[circle_mm(15.05)]), dtype=int)[PANEL]
    without = np.asarray(part_picture(part, draw), dtype=int)[PANEL]
    changed = np.abs(with_seam - without).max(axis=2) > 40
    assert changed.sum() > 500
    assert np.median(with_seam[changed].max(axis=1)) < 60


def test_a_part_all_of_one_reach_shows_no_other_colour():
    part = knob_part()
    draw = replace(knob_draw(part.mesh), reach=np.full(len(part.mesh.faces), Reach.ABOVE, np.uint8))
    assert looks_like(part_picture(part, draw), CLAY) == 0


def test_pieces_moved_apart_leave_a_gap_and_keep_their_order():
    placed = [Placed(name=one.name, words="", mesh=one.mesh, colour=np.ones(3)) for one in knob_mould().pieces[:2]]
    stack = moved_apart(placed, direction=UP)
    assert [one.name for one in stack] == ["lower half", "upper half"]
    lower, upper = (one.mesh.vertices_mm[:, 2] for one in stack)
    assert upper.min() > lower.max() + 5.0


def test_an_opened_upper_half_is_turned_over_not_mirrored():
    upper, lower = knob_mould().pieces[:2]
    copy = knob_part().mesh
    over, as_it_lies = (_cavity_up(one, copy=copy, direction=UP) for one in (upper, lower))
    assert (over.words, as_it_lies.words) == ("turned over", "as it lies")
    assert mesh_volume_mm3(over.mesh) == pytest.approx(upper.volume_mm3)
    assert over.mesh.vertices_mm[:, 2].max() == pytest.approx(-upper.mesh.vertices_mm[:, 2].min())


def test_a_block_is_cut_through_its_middle_away_from_the_viewer():
    block = knob_mould().pieces[0]
    half = _cut_through(block, viewer=np.array([0.0, -1.0, 1.0]), direction=UP)
    assert mesh_volume_mm3(half.mesh) == pytest.approx(0.5 * block.volume_mm3, rel=1e-6)
    assert half.mesh.vertices_mm[:, 1].min() == pytest.approx(0.0, abs=1e-9)


def test_pictures_of_a_mould_are_no_larger_than_a_page_and_not_blank():
    mould = knob_mould()
    opened = mould_picture(mould, copy=knob_part().mesh, title="knob")
    to_print = pieces_picture(printed(mould.pieces), title="knob")
    for picture in (opened, to_print):
        assert picture.width <= 2000
        assert picture.height <= 1400
        assert np.asarray(picture).std() > 20


def test_pictures_of_nothing_are_refused():
    with pytest.raises(BadRequest, match="no pieces"):
        pieces_picture((), title="none")


def test_a_piece_stands_on_the_bed_as_it_is_printed():
    piece = knob_mould().pieces[3]
    mesh = on_the_bed(piece)
    np.testing.assert_allclose(mesh.vertices_mm.min(axis=0), 0.0, atol=1e-12)
    assert mesh_volume_mm3(mesh) == pytest.approx(piece.volume_mm3)
    floor = np.isclose(mesh.vertices_mm[:, 2], 0.0).sum()
    assert floor == 4
    assert all(one.role is not Role.SILICONE for one in printed(knob_mould().pieces))


@given(st.lists(st.tuples(st.floats(1, 200), st.floats(1, 200), st.floats(1, 50)), min_size=1, max_size=12))
def test_pieces_side_by_side_never_touch(sizes):
    boxes = [np.array(size) for size in sizes]
    places = places_side_by_side_mm(boxes, gap_mm=5.0)
    for a in range(len(boxes)):
        for b in range(a):
            apart = (places[a] + boxes[a] + 4.999 <= places[b]) | (places[b] + boxes[b] + 4.999 <= places[a])
            assert apart[:2].any()


@given(st.floats(0.01, 500))
def test_a_scale_bar_is_round_and_fits(px_per_mm):
    length_mm = scale_bar_mm(px_per_mm, about_px=130.0)
    assert 130.0 / 2.5 - 1e-6 <= length_mm * px_per_mm <= 130.0 * (1 + 1e-6)
    assert f"{length_mm:.6e}"[0] in "125"


def test_small_shares_are_not_rounded_away():
    assert [share_words(ratio) for ratio in (0.0, 1e-6, 0.004, 0.25)] == ["none", "0.1 %", "0.4 %", "25 %"]


def test_a_view_keeps_the_draw_upright():
    d = np.array([0.3, -0.4, 0.5])
    right, up, _ = view_along(d, elevation_deg=30.0)
    assert right @ d == pytest.approx(0.0, abs=1e-12)
    assert up @ d / np.linalg.norm(d) == pytest.approx(np.cos(np.radians(30.0)))


def test_a_picture_is_written_the_same_each_time_and_reads_back(tmp_path):
    sheet = blank_sheet((40, 30))
    save_png(sheet, tmp_path / "a.png")
    save_png(sheet, tmp_path / "b.png")
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    assert (np.asarray(Image.open(tmp_path / "a.png")) == np.asarray(sheet)).all()


def test_a_picture_that_cannot_be_written_says_so(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(CannotWrite, match=r"a\.png cannot be written"):
        save_png(blank_sheet((4, 4)), tmp_path / "file" / "a.png")
    with pytest.raises(CannotWrite, match="PNG by another name"):
        save_png(blank_sheet((4, 4)), tmp_path / "part.stl")


def test_a_picture_takes_the_place_of_an_earlier_one_and_of_no_photograph(tmp_path):
    save_png(blank_sheet((4, 4)), tmp_path / "a.png")
    save_png(blank_sheet((8, 8)), tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as written:
        assert written.size == (8, 8)
    blank_sheet((4, 4)).save(tmp_path / "photo.png")
    with pytest.raises(CannotWrite, match="there already"):
        save_png(blank_sheet((8, 8)), tmp_path / "photo.png")
