"""Roundness as printed: steps by a slow twin, and the trade's flat ring."""

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exact_roundness import minimum_zone_roundness
from firstpour.kernels import round as kernel
from firstpour.printing.as_printed import PHASES, roundness_printed_mm
from firstpour.printing.printers import FILAMENT_PRINTER, TYPICAL_PRINTERS, VAT_PRINTER
from firstpour.rounds.round_features import find_round_features
from firstpour.rounds.sections import UNDULATIONS
from master_shapes import part_of, porthole_ring

UP, ASIDE = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
BARE = replace(VAT_PRINTER, sag_ratio=0, growth_mm=0, growth_down_mm=0, height_error_ratio=0, plane_error_ratio=0)


def _disc(radius_mm, *, sides=180):
    (one,) = find_round_features(part_of(m3.Manifold.cylinder(10, radius_mm, radius_mm, sides)).mesh)
    return one


def printed_corners(feature, direction, *, printer, layer_mm, phase=0.0):
    """Corners as printed (k, 3): along the rising direction, across it, weight."""
    section = feature.section
    along = section.frame @ direction
    sine, cosine = float(np.hypot(along[0], along[1])), float(along[2])
    turn = float(np.arctan2(along[1], along[0])) if sine > 1e-6 else 0.0
    corners = kernel.printed_profile(
        section.radii_mm, turn, (sine, abs(cosine)), float(layer_mm), float(printer.pixel_mm), phase, 0.0
    )
    figures = (
        printer.sag_ratio,
        printer.growth_mm,
        printer.growth_down_mm,
        printer.height_error_ratio,
        printer.plane_error_ratio,
    )
    kernel.shape_by_printer(
        corners,
        section.radius_mm,
        float(feature.material),
        (sine, cosine),
        section.slope_ratio,
        float(np.cos(np.radians(printer.support_within_deg))),
        tuple(map(float, figures)),
    )
    return corners


@pytest.mark.parametrize("printer", TYPICAL_PRINTERS, ids=lambda one: one.process)
def test_a_ring_prints_rounder_flat_than_on_edge_and_a_large_one_worse_than_a_small_one(printer):
    # common practice, no source: printed flat, round parts are round; on edge they are not, the larger the worse
    flat, edge = [], []
    for diameter in (50, 100, 200):
        features = find_round_features(part_of(porthole_ring(diameter)).mesh)
        rim_and_bore = tuple(one for one in features if one.radius_mm > 0.3 * diameter)
        assert sorted(one.material for one in rim_and_bore) == [-1, 1]
        rounds = roundness_printed_mm(rim_and_bore, np.stack([UP, ASIDE]), printer=printer, layer_mm=0.1)
        worst = rounds.max(axis=0)
        flat.append(worst[0])
        edge.append(worst[1])
    assert all(f < 0.8 * e for f, e in zip(flat, edge, strict=True))
    assert flat == sorted(flat)
    assert edge == sorted(edge)
    assert edge[2] > 1.5 * edge[0]


@pytest.mark.parametrize(("direction", "cell"), [(UP, (0.05, 0.05)), (ASIDE, (0.2, 0.05))])
def test_the_printed_outline_is_that_of_the_cells_whose_middle_lies_inside(direction, cell):
    radius = 2.5
    one = _disc(radius, sides=360)
    s, t, _ = printed_corners(one, direction, printer=BARE, layer_mm=0.2).T
    # slow twin: every cell of the section, lit where its middle lies in the disc; its outline by rows
    rows = np.arange(-20, 20) * cell[0] if direction is ASIDE else np.arange(-60, 60) * cell[0]
    columns = (np.arange(-60, 60) + 0.5) * cell[1]
    lit = np.hypot(rows[:, None] + cell[0] / 2, columns[None]) < radius
    expected = {
        (round(end, 6), round(edge, 6))
        for k in np.flatnonzero(lit.any(axis=1))
        for end in (rows[k], rows[k] + cell[0])
        for edge in (columns[lit[k]].min() - cell[1] / 2, columns[lit[k]].max() + cell[1] / 2)
    }
    found = {(round(float(a), 6), round(float(b), 6)) for a, b in zip(s, t, strict=True)}
    assert len(found ^ expected) <= 0.02 * len(expected)  # polygon against circle: a cell or two may differ


@settings(max_examples=15, deadline=None)
@given(degrees=st.floats(0, 90), layer=st.floats(0.05, 0.3))
def test_steps_alone_never_leave_the_circle_by_more_than_a_cells_diagonal(degrees, layer):
    one = _disc(8.0, sides=360)
    direction = np.array([np.sin(np.radians(degrees)), 0, np.cos(np.radians(degrees))])
    radii = np.hypot(*printed_corners(one, direction, printer=BARE, layer_mm=layer)[:, :2].T)
    room = np.hypot(layer, BARE.pixel_mm) + BARE.pixel_mm
    assert radii.max() <= 8.0 + room
    assert radii.min() >= 8.0 - room


def test_sideways_growth_alone_flattens_a_disc_on_edge_and_leaves_it_round_when_flat():
    # an outline that grows by g sideways only: r = R + g·|sin θ| on edge, so out of round by nearly g
    grown = replace(BARE, growth_mm=0.2, pixel_mm=0.01)
    one = _disc(20.0, sides=720)
    found = roundness_printed_mm((one,), np.stack([UP, ASIDE]), printer=grown, layer_mm=0.01)[0]
    assert found[0] < 0.01
    assert found[1] == pytest.approx(0.2, abs=0.04)


def test_an_error_of_height_makes_an_ellipse_of_the_size_that_the_error_says():
    # r = R(1 + e·cos²θ): farthest less nearest is R·e; sum of squares moves only the mean
    stretched = replace(BARE, height_error_ratio=0.01, pixel_mm=0.01)
    found = roundness_printed_mm((_disc(20.0, sides=720),), ASIDE, printer=stretched, layer_mm=0.01)[0, 0]
    assert found == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize("direction", [UP, ASIDE, np.array([0.6, 0.0, 0.8])])
def test_the_minimum_zone_is_not_above_the_least_squares_figure(direction):
    # ISO 12181-1 (from memory)
    one = _disc(15.0)
    least = roundness_printed_mm((one,), direction, printer=FILAMENT_PRINTER, layer_mm=0.2)[0, 0]
    zone = max(
        minimum_zone_roundness(kernel.smoothed_turn(corners, UNDULATIONS)[:, :2]).zone_mm
        for phase in PHASES
        for corners in [printed_corners(one, direction, printer=FILAMENT_PRINTER, layer_mm=0.2, phase=phase)]
    )
    assert 0.0 < zone <= least + 1e-9


def test_the_filter_halves_50_waves_a_turn_and_lets_few_waves_through():
    # ISO 16610-21 (from memory): the Gaussian filter transmits 50 % at its cut-off
    angle = np.arange(720) * 2 * np.pi / 720
    for waves, let_through in ((5, 0.99), (50, 0.5), (150, 0.01)):
        radius = 30 + 0.1 * np.cos(waves * angle)
        points = np.stack([radius * np.cos(angle), radius * np.sin(angle), np.ones(720)], axis=1)
        smooth = kernel.smoothed_turn(points, 50.0)
        height = np.ptp(np.hypot(smooth[:, 0], smooth[:, 1])) / 0.2
        assert height == pytest.approx(let_through, abs=0.02)


def test_no_features_give_no_figures():
    assert roundness_printed_mm((), UP, printer=VAT_PRINTER, layer_mm=0.05).shape == (0, 1)
