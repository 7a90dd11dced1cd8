"""Cure, shrinkage, yields and times against printed figures and scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from firstpour.errors import OutOfRange
from firstpour.formulas.cure import arrhenius_time_ratio
from firstpour.formulas.durations import Spread, chance_in_time, in_series, three_point
from firstpour.formulas.shrinkage import scale_for_chain, scale_for_shrinkage
from firstpour.formulas.yields import pours_for_good
from shelf_samples import MODEST


@pytest.mark.parametrize(("from_c", "energy"), [(20, 51.22), (25, 52.95), (30, 54.71)])
def test_the_ten_degree_rule_is_about_53_kj_mol(from_c: float, energy: float) -> None:
    """Halving over ten degrees: E = R ln 2 T₁T₂/10, recomputed."""
    ratio = arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=from_c, to_c=from_c + 10)
    assert ratio == pytest.approx(0.5, abs=1e-4)


def test_53_kj_mol_from_23_to_30_degrees_leave_0_6083_of_a_pot_life() -> None:
    ratio = arrhenius_time_ratio(activation_energy_kj_mol=53, from_c=23, to_c=30)
    assert ratio == pytest.approx(0.6083, abs=5e-5)


@MODEST
@given(energy=st.floats(10, 150), low=st.floats(-19, 99), step=st.floats(0.1, 60))
def test_warmer_is_never_slower_and_the_way_back_undoes_it(energy: float, low: float, step: float) -> None:
    high = min(100.0, low + step)
    there = arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=low, to_c=high)
    back = arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=high, to_c=low)
    assert there <= 1.0
    assert there * back == pytest.approx(1.0)


def test_a_cure_outside_room_temperatures_is_refused() -> None:
    with pytest.raises(OutOfRange):
        arrhenius_time_ratio(activation_energy_kj_mol=53, from_c=23, to_c=180)
    with pytest.raises(OutOfRange):
        arrhenius_time_ratio(activation_energy_kj_mol=0, from_c=23, to_c=30)


@pytest.mark.parametrize(("ratio", "scale"), [(0.001, 1.001001), (0.005, 1.00502513), (0.02, 1.02040816)])
def test_shrinkage_is_taken_on_the_mould(ratio: float, scale: float) -> None:
    """ISO 294-4 (from memory): a percentage of the mould's dimension, so scale = 1/(1 − s)."""
    assert scale_for_shrinkage(ratio) == pytest.approx(scale, abs=1e-8)


def test_a_chain_of_shrinkages_multiplies() -> None:
    assert scale_for_chain([0.001, 0.004]) == pytest.approx(1.00502109, abs=5e-9)
    assert scale_for_chain([]) == 1.0


@pytest.mark.parametrize("ratio", [-0.06, 0.21, 4.0, float("nan")])
def test_a_shrinkage_typed_in_percent_is_refused(ratio: float) -> None:
    with pytest.raises(OutOfRange, match="shrinkage"):
        scale_for_shrinkage(ratio)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
@pytest.mark.parametrize(("good", "chance"), [(10, 0.9), (3, 0.6), (24, 0.95), (1, 0.5)])
def test_the_pours_for_enough_good_copies_are_scipys_negative_binomial(
    good: int, chance: float, confidence: float
) -> None:
    expected = good + int(stats.nbinom(good, chance).ppf(confidence))
    assert pours_for_good(good, yield_ratio=chance, confidence_ratio=confidence) == expected


def test_a_sure_yield_needs_no_spare_and_a_hopeless_one_is_refused() -> None:
    assert pours_for_good(7, yield_ratio=1.0, confidence_ratio=0.99) == 7
    with pytest.raises(OutOfRange):
        pours_for_good(7, yield_ratio=0.0, confidence_ratio=0.9)
    with pytest.raises(OutOfRange, match="pours"):
        pours_for_good(200, yield_ratio=0.001, confidence_ratio=0.9)


def test_three_guesses_have_the_mean_and_variance_of_scipys_beta() -> None:
    """PERT (2, 5, 14): mean 6, true beta variance 4.5714 (the classical one is 4)."""
    time = three_point(low_min=2, likely_min=5, high_min=14)
    a, b = 1 + 4 * (5 - 2) / 12, 1 + 4 * (14 - 5) / 12
    assert time.mean_min == pytest.approx(stats.beta(a, b, loc=2, scale=12).mean())
    assert time.variance_min2 == pytest.approx(stats.beta(a, b, loc=2, scale=12).var())
    with pytest.raises(OutOfRange, match="order"):
        three_point(low_min=6, likely_min=5, high_min=14)


@pytest.mark.parametrize(("limit_min", "spread"), [(6, 0.0), (8, 0.15), (7, 0.3), (14, 0.2)])
@pytest.mark.parametrize("alike", [0.0, 0.5, 1.0])
def test_the_chance_to_end_in_time_is_that_of_drawn_pours(limit_min: float, spread: float, alike: float) -> None:
    """The lognormal match against 200 000 drawn pours of four steps, correlated by a normal copula; within 0.03."""
    steps = [(0.6, 0.8, 1.5), (1.1, 1.5, 2.7), (1.5, 2.0, 2.6), (1.8, 2.5, 4.5)]
    work = in_series((three_point(low_min=a, likely_min=m, high_min=b) for a, m, b in steps), correlation_ratio=alike)
    draw = np.random.default_rng(5)
    pours = 200_000
    day = draw.normal(size=pours)
    total = np.zeros(pours)
    for a, m, b in steps:
        shape = 4 / (b - a)
        own = stats.norm.cdf(np.sqrt(alike) * day + np.sqrt(1 - alike) * draw.normal(size=pours))
        total += a + (b - a) * stats.beta(1 + shape * (m - a), 1 + shape * (b - m)).ppf(own)
    limits = np.exp(draw.normal(np.log(limit_min), spread, pours))
    chance = chance_in_time(work, limit_min=limit_min, limit_spread=spread)
    assert chance == pytest.approx((total <= limits).mean(), abs=0.03)
    assert work.variance_min2 == pytest.approx(total.var(), rel=0.05)


def test_without_any_spread_the_chance_is_yes_or_no() -> None:
    sure = Spread(mean_min=5, variance_min2=0)
    assert chance_in_time(sure, limit_min=6, limit_spread=0) == 1.0
    assert chance_in_time(sure, limit_min=4, limit_spread=0) == 0.0
