"""Print directions ranked: what each figure is, and that the right way up wins."""

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.printing.orient import (
    candidate_directions,
    fibonacci_directions,
    fits_printer,
    measure_directions,
    rank_print_directions,
)
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER
from firstpour.printing.slices import Footing
from firstpour.rounds.round_features import find_round_features
from master_shapes import bowl, hidden_below, limpet, part_of, porthole_ring

UP, ASIDE = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])


@pytest.mark.parametrize("printer", TYPICAL_PRINTERS, ids=lambda one: one.process)
def test_the_ring_is_printed_flat(printer):
    # common practice, no source: round parts are printed lying flat
    part = hidden_below(part_of(porthole_ring(80)))
    best = rank_print_directions(part, printer=printer, directions=60)[0]
    assert best.direction == pytest.approx(UP, abs=1e-6)
    assert best.marks_mm2 == 0.0


def test_the_limpet_is_not_left_with_a_sealed_cup():
    ranked = rank_print_directions(hidden_below(part_of(limpet())), printer=VAT_PRINTER, directions=40)
    assert ranked[0].cup_mm2 < 1.0
    worst = max(one.cup_mm2 for one in ranked)
    assert worst == pytest.approx(np.pi * 27**2, rel=0.05)  # its mouth against the film or the plate


def test_a_bowl_pulls_by_its_mouth_upright_and_not_on_its_side():
    up, side = measure_directions(part_of(bowl()), np.stack([UP, ASIDE]), printer=VAT_PRINTER)
    assert up.cup_mm2 == pytest.approx(np.pi * 100, rel=0.05)
    assert side.cup_mm2 < 1.0
    # section of the wall and the cup at once: F = Δp·A alone is 20 kPa · 314 mm² = 6.28 N
    assert up.suction_n > 6.2


def test_filament_pulls_nothing_and_needs_support_where_a_wall_leans_out_too_far():
    # a cone on its tip leans 60° from upright: every face of its side is below 45° from level
    cone = m3.Manifold.cylinder(10, 10 - 10 * np.tan(np.radians(40)), 10, 128)
    part = part_of(m3.Manifold.cylinder(5, 1, 1 + 5 * np.tan(np.radians(60)), 128))
    (leaning,) = measure_directions(part, UP, printer=FILAMENT_PRINTER)
    small, large = 1.0, 1 + 5 * np.tan(np.radians(60))
    side = np.pi * (small + large) * np.hypot(5, large - small)  # lateral area of a frustum, closed form
    assert leaning.suction_n == 0.0
    assert leaning.support_mm2 == pytest.approx(side, rel=0.01)
    (upright,) = measure_directions(part_of(cone), UP, printer=FILAMENT_PRINTER)
    assert upright.support_mm2 == pytest.approx(0.0, abs=1e-9)


def test_a_box_shows_no_steps_upright_and_the_printed_cusp_when_it_leans():
    # Dolenc & Mäkelä 1994, c = L·|n_z|: a box leaning by 30° has faces with |n_z| cos 30° and sin 30°
    part = part_of(m3.Manifold.cube([10, 30, 10]))
    lean = np.array([np.sin(np.radians(30)), 0.0, np.cos(np.radians(30))])
    upright, leaning = measure_directions(part, np.stack([UP, lean]), printer=VAT_PRINTER, layer_mm=0.05)
    assert upright.step_mm == 0.0
    assert leaning.step_mm == pytest.approx(0.043301, abs=1e-4)
    assert upright.height_mm == pytest.approx(10.0)


def test_height_layers_and_time_of_a_vat_print_follow_from_its_cycle():
    # 200 layers of 0.05 mm: 5 at 40 s, 195 at 9 s, and 15 min to start
    (one,) = measure_directions(part_of(m3.Manifold.cube([10, 10, 10])), UP, printer=VAT_PRINTER, layer_mm=0.05)
    assert one.estimate.layers == 200
    assert one.print_min == pytest.approx(15 + (5 * 40 + 195 * 9) / 60)


@settings(max_examples=10, deadline=None)
@given(turn=st.floats(0, 360), shift=st.tuples(*[st.floats(-100, 100)] * 3))
def test_a_part_turned_about_the_print_direction_and_moved_prints_the_same(turn, shift):
    solid = porthole_ring(40, sides=32).rotate([20, 30, 0])
    first, second = (
        measure_directions(part_of(one), UP, printer=VAT_PRINTER)[0]
        for one in (solid, solid.rotate([0, 0, turn]).translate(list(shift)))
    )
    assert second.step_mm == pytest.approx(first.step_mm, rel=1e-6)
    assert second.height_mm == pytest.approx(first.height_mm, rel=1e-9)
    assert second.support_mm2 == pytest.approx(first.support_mm2, rel=1e-6)
    # perimeters are counted within 5 % and enter squared, in both
    assert second.suction_n == pytest.approx(first.suction_n, rel=0.2)


def test_what_does_not_fit_the_build_volume_comes_last_and_says_so():
    rod = part_of(m3.Manifold.cube([10, 10, 200]))
    ranked = rank_print_directions(rod, printer=replace(VAT_PRINTER, size_mm=(150.0, 90.0, 160.0)), directions=30)
    assert any(one.fits for one in ranked)
    firsts = [one.fits for one in ranked]
    assert firsts == sorted(firsts, reverse=True)
    assert not ranked[-1].fits


def test_a_part_may_be_turned_on_the_plate_to_fit_but_not_squeezed():
    plank = np.array([[x, y, z] for x in (0.0, 140.0) for y in (0.0, 20.0) for z in (0.0, 10.0)])
    assert fits_printer(plank, UP, size_mm=(120.0, 120.0, 50.0))  # across the corner: 140 cos 45° + 20 sin 45° = 113
    assert not fits_printer(plank, UP, size_mm=(100.0, 100.0, 50.0))
    assert not fits_printer(plank, UP, size_mm=(150.0, 30.0, 9.0))


def test_directions_are_spread_evenly_and_the_parts_own_come_first():
    spread = fibonacci_directions(400)
    assert np.linalg.norm(spread, axis=1) == pytest.approx(1.0)
    nearest = np.sort(spread @ spread.T, axis=1)[:, -2]
    # 400 points, each with 4π/400 sr: neighbours about √(4π/400) = 0.18 rad apart
    assert np.degrees(np.arccos(nearest)).min() > 5.0
    assert np.degrees(np.arccos((spread @ fibonacci_directions(3000).T).max(axis=0))).max() < 10.0
    part = part_of(porthole_ring(40, sides=32))
    own = candidate_directions(part, find_round_features(part.mesh), count=10)
    assert any(one == pytest.approx(UP, abs=1e-6) for one in own)
    assert len(own) == 10


def test_a_lifted_print_opens_below_and_its_underside_is_supported():
    part = part_of(limpet())
    plate, lifted = (
        measure_directions(part, UP, printer=VAT_PRINTER, footing=footing)[0]
        for footing in (Footing.PLATE, Footing.SUPPORTS)
    )
    assert plate.cup_mm2 > 1000.0
    assert lifted.cup_mm2 < 1.0
    assert lifted.support_mm2 > plate.support_mm2


@pytest.mark.parametrize("wrong", [{"directions": 0}, {"directions": 10**6}, {"layer_mm": 0.0}, {"layer_mm": np.nan}])
def test_options_that_cannot_be_meant_are_refused(wrong):
    with pytest.raises(BadRequest):
        rank_print_directions(part_of(bowl()), printer=VAT_PRINTER, **wrong)


def test_a_direction_without_length_is_refused():
    with pytest.raises(BadRequest):
        measure_directions(part_of(bowl()), np.zeros(3), printer=VAT_PRINTER)
