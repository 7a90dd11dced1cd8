"""Letters and other marks: legible, in the material they are cut from, and where nothing is weakened or locked."""

import string

import numpy as np
import pytest
import shapely

from firstpour.mould.box import outline_of
from firstpour.mould.letters import STROKES, sunk, words_plan, words_width_mm
from firstpour.mould.marks import DIMPLE_MM, FLOOR_DEEP_MM, PLACES, RIDGE_MM, cut_ridge, floor_words
from firstpour.mould.mould import make_mould
from firstpour.mould.pieces import joined
from firstpour.parting.block import Block, block_solid, box_solid
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import to_solid
from mould_shapes import SETTINGS, Z, draw_of, mould_of, sample

UP = (0.0, 0.0, 1.0)
BLOCK = Block(low_mm=np.array([-30.0, -20.0, -10.0]), high_mm=np.array([30.0, 20.0, 10.0]))


def test_every_letter_and_figure_is_drawn_within_its_own_cell_and_no_two_look_alike():
    assert set(string.ascii_uppercase + string.digits + "-") == set(STROKES)
    plans = {letter: words_plan(letter, height_mm=8.0, stroke_mm=1.0) for letter in STROKES}
    for letter, plan in plans.items():
        x0, y0, x1, y1 = plan.bounds
        assert x1 - x0 <= words_width_mm("M", height_mm=8.0, stroke_mm=1.0) + 1e-6, letter
        assert -4.0 - 1e-6 <= y0 < y1 <= 4.0 + 1e-6
        alike = [
            other
            for other, shape in plans.items()
            if other != letter and plan.symmetric_difference(shape).area < 0.08 * plan.area
        ]
        assert not alike, (letter, alike)


def test_words_that_have_no_letter_of_their_own_come_as_hyphens():
    assert words_plan("é", height_mm=4.0, stroke_mm=0.5).equals(words_plan("-", height_mm=4.0, stroke_mm=0.5))


def test_sunk_words_have_the_volume_of_their_plan():
    plan = words_plan("BOWL 8", height_mm=6.0, stroke_mm=0.8)
    assert sunk(plan, low_mm=1.0, high_mm=3.0).volume() == pytest.approx(2.0 * plan.area, rel=1e-6)


def test_floor_words_leave_the_floor_thicker_than_the_least_wall_and_read_from_below():
    words = floor_words(outline_of(BLOCK), ("LL",), floor_mm=0.0)
    low, high = np.array(words.bounding_box()).reshape(2, 3)
    assert high[2] == pytest.approx(FLOOR_DEEP_MM)
    assert SETTINGS.floor_mm - FLOOR_DEEP_MM >= SETTINGS.least_wall_mm
    section = words.slice(0.1)
    weight = [np.asarray(ring)[:, 0].mean() for ring in section.to_polygons()]
    middles = 0.5 * (low[0] + high[0])
    assert np.mean(weight) > middles  # the upright of an L, on its left, lies on the right when seen from above


def test_no_word_is_cut_where_no_letter_has_room():
    tiny = shapely.box(0.0, 0.0, 8.0, 8.0)
    assert floor_words(tiny, ("WHEEL", "UPPER"), floor_mm=0.0).is_empty()


@pytest.mark.parametrize("name", ["cube", "two-hole plate", "warped ring"])
def test_the_name_takes_only_from_the_floors_of_the_trays(name):
    parting = lay_parting(sample(name), draw_of(name, UP), kind=MouldKind.TRAYS)
    plain, named = make_mould(parting, channels=()), make_mould(parting, channels=(), name="tide 7")
    for before, after in zip(plain.pieces, named.pieces, strict=True):
        if before.role.value != "tray":
            assert after.volume_mm3 == pytest.approx(before.volume_mm3)
            continue
        cut = (to_solid(before.mesh) - to_solid(after.mesh)).decompose()
        lost = joined([body for body in cut if body.volume() > 1e-3])
        assert lost.volume() > 5.0
        reach = np.array(lost.bounding_box())[[2, 5]]
        floor = np.array(to_solid(before.mesh).bounding_box())[[2, 5]]
        assert np.abs(reach - floor).min() < 1e-6
        assert reach[1] - reach[0] <= FLOOR_DEEP_MM + 1e-6


@pytest.mark.parametrize("name", ["cube", "sphere", "two-hole plate"])
def test_each_half_is_marked_on_its_rim_by_dimples_with_silicone_around_them(name):
    """Two in the upper, one in the lower half: pits that face each other, so nothing interlocks."""
    solids = {p.name: to_solid(p.mesh) for p in mould_of(name, UP, MouldKind.TRAYS).pieces}
    upper, lower = solids["silicone-upper"], solids["silicone-lower"]
    low = np.array(upper.bounding_box())
    corner = upper ^ box_solid(np.array([low[0], low[1], -99.0]), np.array([low[0] + 0.3, low[1] + 0.3, 99.0]))
    rim_mm = corner.bounding_box()[2]
    for half, count, z0, z1 in ((upper, 2, rim_mm, rim_mm + 0.4), (lower, 1, rim_mm - 0.4, rim_mm)):
        slab = box_solid(np.array([low[0] + 1.0, low[1], z0]), np.array([low[3] - 1.0, low[1] + 1.5, z1]))
        assert (half ^ slab).volume() == pytest.approx(slab.volume(), rel=1e-6)
        at = low[0] + PLACES[0] * (low[3] - low[0])
        slab = box_solid(np.array([at - 3.0, low[1], z0]), np.array([at + 3.0, low[1] + 2.95, z1]))
        pits_mm3 = slab.volume() - (half ^ slab).volume()
        twelve_mm2 = 12.0 * DIMPLE_MM**2 * np.sin(np.pi / 12.0)
        assert pits_mm3 == pytest.approx(count * 0.4 * twelve_mm2, rel=0.15)


def test_the_ridge_stands_out_all_around_the_inside_of_the_box_at_its_height():
    ridge = cut_ridge(outline_of(BLOCK), SETTINGS, at_mm=2.0)
    play = SETTINGS.bed_clearance_mm
    bitten = ridge ^ block_solid(BLOCK)
    low, high = np.array(bitten.bounding_box()).reshape(2, 3)
    assert 0.5 * (low[2] + high[2]) == pytest.approx(2.0, abs=0.01)
    assert high[2] - low[2] < 2.0 * RIDGE_MM
    depth_mm = RIDGE_MM - play
    around_mm = 2.0 * (60.0 + 40.0) - 8.0 * depth_mm / 3.0
    assert bitten.volume() == pytest.approx(around_mm * depth_mm**2, rel=0.06)


def test_the_groove_of_a_block_lies_at_the_seam():
    mould = mould_of("sphere", UP, MouldKind.BLOCK)
    silicone = next(piece for piece in mould.pieces if piece.name == "silicone")
    seam_mm = float(np.median(np.concatenate(mould.seam_mm) @ Z))
    top_mm = float(silicone.mesh.vertices_mm[:, 2].max())
    assert mould.cut_mm == pytest.approx(top_mm - seam_mm, abs=0.01)
