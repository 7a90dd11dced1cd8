"""The shrinkage chain and what it leaves of a fit."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadJob, OutOfRange
from firstpour.printing.allowance import (
    Fit,
    FitKind,
    Shrinkage,
    master_scale,
    matching_features,
    same_all_round,
    work_out_allowance,
)
from firstpour.printing.printers import VAT_PRINTER
from firstpour.rounds.round_features import find_round_features
from master_shapes import part_of, porthole_ring

UP = np.array([0.0, 0.0, 1.0])
CHAIN = (same_all_round("silicone", 0.001), same_all_round("casting", 0.004))


@pytest.mark.parametrize(("ratio", "scale"), [(0.001, 1.001001), (0.005, 1.00502513), (0.02, 1.02040816)])
def test_one_material_scales_by_one_over_what_is_left(ratio, scale):
    # scale = 1/(1 − s), recomputed, checks.md
    assert master_scale([same_all_round("one", ratio)]) == pytest.approx(
        [scale] * 3, abs=5e-9 + 5e-7 * (ratio < 0.002)
    )


def test_a_chain_multiplies():
    assert master_scale(CHAIN)[0] == pytest.approx(1.00502109, abs=5e-9)


@given(ratios=st.lists(st.tuples(*[st.floats(-0.05, 0.1)] * 3), max_size=4))
def test_casting_down_the_chain_gives_the_part_back_axis_by_axis(ratios):
    # ISO 294-4: shrinkage counts on the mould's dimension (from memory)
    size = 40.0 * master_scale([Shrinkage(name="any", ratio=one) for one in ratios])
    for one in ratios:
        size = size * (1 - np.array(one))
    assert size == pytest.approx([40.0] * 3, rel=1e-12)


@pytest.fixture(scope="module")
def features():
    return find_round_features(part_of(porthole_ring(70)).mesh)  # pin holes of 4.2 mm


def _allowance(features, *fits, printer=VAT_PRINTER, chain=CHAIN):
    return work_out_allowance(chain, printer=printer, direction=UP, layer_mm=0.05, features=features, fits=fits)


def test_a_hole_for_a_pin_is_larger_in_the_master_and_as_drawn_in_the_copy(features):
    exact = replace(VAT_PRINTER, growth_mm=0.0, growth_spread_mm=0.0)
    made = _allowance(features, Fit(kind=FitKind.HOLE, nominal_mm=4.2, tolerance_mm=0.3), printer=exact)
    assert len(made.fits) == 4
    for one in made.fits:
        assert one.copy_mm == pytest.approx(4.2, abs=0.02)
        assert one.master_mm == pytest.approx(one.copy_mm * 1.00502109, rel=1e-6)
        assert one.holds
    assert made.findings == ()


def test_edge_growth_closes_holes_and_a_tight_fit_is_doubted_with_the_figure_to_draw(features):
    grown = replace(VAT_PRINTER, growth_mm=0.2)
    fit = Fit(kind=FitKind.HOLE, nominal_mm=4.2, tolerance_mm=0.1, near_mm=(28.5, 28.5, 0.0))
    made = _allowance(features, fit, printer=grown)
    (one,) = made.fits
    assert one.at_mm[0] == pytest.approx(28.46, abs=0.1)
    assert one.copy_mm == pytest.approx(4.2 - 0.4, abs=0.03)
    assert not one.holds
    assert made.findings[0].code == "fit-in-doubt"
    assert "larger" in made.findings[0].remedy


def test_spreads_add_in_squares_and_widen_the_error(features):
    loose = [same_all_round("a", 0.001, spread_ratio=0.003), same_all_round("b", 0.004, spread_ratio=0.004)]
    printer = replace(VAT_PRINTER, size_spread_ratio=0.0, growth_spread_mm=0.0)
    fit = Fit(kind=FitKind.SHAFT, nominal_mm=70.0, tolerance_mm=2.0)
    made = _allowance(features, fit, printer=printer, chain=loose)
    assert made.error_ratio == pytest.approx(0.005)
    exact = [same_all_round("a", 0.001, spread_ratio=0.0), same_all_round("b", 0.004, spread_ratio=0.0)]
    still = _allowance(features, fit, printer=printer, chain=exact)
    assert made.fits[0].error_mm - still.fits[0].error_mm == pytest.approx(2 * 0.005 * 70, rel=0.01)


def test_a_fit_carries_the_spread_of_every_figure_it_rests_on(features):
    # independent spreads add in squares (JCGM 100, from memory): shrinkages, the printer's size, both edges
    printer = replace(VAT_PRINTER, size_spread_ratio=0.002, growth_spread_mm=0.03)
    chain = [same_all_round("silicone", 0.001), same_all_round("casting", 0.004)]
    fit = Fit(kind=FitKind.HOLE, nominal_mm=4.2, tolerance_mm=0.3, near_mm=(28.5, 28.5, 0.0))
    (one,) = _allowance(features, fit, printer=printer, chain=chain).fits
    chance = np.random.default_rng(0)
    drawn = one.drawn_mm * master_scale(chain)[0]
    many = chance.normal(1.0, 0.002, 100_000) * drawn - 2 * chance.normal(0.03, 0.03, 100_000)
    for shrinkage in chain:
        many *= 1 - chance.normal(shrinkage.ratio[0], 0.3 * shrinkage.ratio[0], 100_000)
    assert one.spread_mm == pytest.approx(many.std(), rel=0.02)
    assert one.copy_mm == pytest.approx(many.mean(), abs=0.001)
    assert one.error_mm > 2 * one.spread_mm


def test_a_fit_that_the_part_does_not_have_is_refused_with_what_it_has(features):
    with pytest.raises(BadJob, match="no shaft") as refused:
        _allowance(features, Fit(kind=FitKind.SHAFT, nominal_mm=4.2, tolerance_mm=0.1))
    assert "70" in refused.value.remedy or "69" in refused.value.remedy
    with pytest.raises(BadJob, match="no hole") as refused:
        matching_features(Fit(kind=FitKind.HOLE, nominal_mm=4.0, tolerance_mm=0.1), ())
    assert refused.value.remedy == "no round hole was found: correct nominal_mm or the part"


def test_shrinkages_and_fits_that_cannot_be_are_refused():
    with pytest.raises(OutOfRange):
        same_all_round("percent meant", 0.4)
    with pytest.raises(OutOfRange):
        same_all_round("spread", 0.01, spread_ratio=-0.1)
    with pytest.raises(BadJob):
        Fit(kind=FitKind.HOLE, nominal_mm=4, tolerance_mm=5)
