"""Mixing, losses, limits of exposure, bending, against worked figures and other ways to the same number."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_bvp

from firstpour.errors import OutOfRange
from firstpour.formulas.bending import cantilever_deflection_mm
from firstpour.formulas.drainage import mean_film_mm
from firstpour.formulas.mixing import b_by_weight, mixed_density_g_ml, ratio_uncertainty, smallest_batch_g
from firstpour.materials.cautions import ExposureLimit, cautions_for


def test_the_worked_mix_of_120_ml() -> None:
    """100:90 by weight, 1.05 and 1.02 g/ml (recomputed by hand): 124.2687 g = 65.4046 + 58.8641."""
    density = mixed_density_g_ml(a_g=100, b_g=90, density_a_g_ml=1.05, density_b_g_ml=1.02)
    assert density == pytest.approx(1.035573, abs=5e-7)
    assert 120 * density == pytest.approx(124.2687, abs=5e-5)
    assert 120 * density * 100 / 190 == pytest.approx(65.4046, abs=5e-5)
    assert 120 * density * 90 / 190 == pytest.approx(58.8641, abs=5e-5)


def test_one_to_one_by_volume_is_97_143_by_weight() -> None:
    by_weight = b_by_weight(b_per_100_a_by_volume=100, density_a_g_ml=1.05, density_b_g_ml=1.02)
    assert by_weight == pytest.approx(97.143, abs=5e-4)


@pytest.mark.parametrize(("step_g", "uncertainty"), [(1.0, 0.014506), (0.1, 0.0014506)])
def test_the_uncertainty_of_200_to_20_is_that_of_the_guide(step_g: float, uncertainty: float) -> None:
    """JCGM 100 (GUM; from memory): a reading to a step d has the standard uncertainty d/√12."""
    assert ratio_uncertainty(a_g=200, b_g=20, step_g=step_g) == pytest.approx(uncertainty, rel=5e-5)


def test_the_uncertainty_is_what_drawn_weighings_show() -> None:
    """The guide's law against 200 000 drawn weighings, uniform within half a step."""
    draw = np.random.default_rng(3).uniform(-0.5, 0.5, (2, 200_000))
    ratios = (200 + draw[0]) / (20 + draw[1])
    assert ratios.std() / 10 == pytest.approx(ratio_uncertainty(a_g=200, b_g=20, step_g=1.0), rel=0.01)


def test_at_the_smallest_batch_twice_the_uncertainty_is_the_tolerance() -> None:
    batch_g = smallest_batch_g(a_share=0.75, step_g=0.5, tolerance_ratio=0.02)
    uncertainty = ratio_uncertainty(a_g=0.75 * batch_g, b_g=0.25 * batch_g, step_g=0.5)
    assert 2 * uncertainty == pytest.approx(0.02)


def test_the_mean_film_is_the_mean_of_the_local_one() -> None:
    """Jeffreys 1930 (from memory): h = √(μz/ρgt), averaged by quadrature."""
    local = quad(lambda z_m: (5 * z_m / (1050 * 9.81 * 30)) ** 0.5, 0, 0.06)[0] / 0.06
    film = mean_film_mm(viscosity_pa_s=5, density_g_ml=1.05, height_mm=60, drain_s=30)
    assert film == pytest.approx(1000 * local, rel=1e-6)


@pytest.mark.parametrize(
    "limit",
    [limit for caution in cautions_for({"contains isocyanate"}) for limit in caution.limits if limit.ppm is not None],
    ids=lambda limit: limit.what,
)
def test_a_shipped_limit_is_the_same_in_ppm_and_in_mg(limit: ExposureLimit) -> None:
    """OSHA prints 0.02 ppm beside each: MDI (NIOSH, IDLH page 101688), 2,4-TDI (from memory)."""
    assert limit.ppm is not None
    assert limit.molar_mass_g_mol is not None
    printed_digits = len(f"{limit.value}".partition(".")[2])
    worked_out = limit.ppm * limit.molar_mass_g_mol / 24.45  # l/mol at 25 °C: NIOSH Pocket Guide
    assert round(worked_out, printed_digits) == limit.value


def test_the_bent_strip_is_what_the_beam_equation_gives() -> None:
    """EI w'''' = 0, clamped at 0, load F at L, solved by scipy's boundary value solver."""
    length, width, thick, modulus, load = 40.0, 20.0, 6.0, 1.1424, 0.1
    stiffness = modulus * width * thick**3 / 12

    def slope(_x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.vstack([y[1], y[2], y[3], np.zeros_like(y[0])])

    def ends(start: np.ndarray, end: np.ndarray) -> np.ndarray:
        return np.array([start[0], start[1], end[2], end[3] + load / stiffness])

    x = np.linspace(0, length, 11)
    solved = solve_bvp(slope, ends, x, np.zeros((4, x.size)))
    bent = cantilever_deflection_mm(
        load_n=load, length_mm=length, width_mm=width, thickness_mm=thick, modulus_mpa=modulus
    )
    assert bent == pytest.approx(solved.y[0, -1], rel=1e-6)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_density_that_cannot_be_is_refused(density: float) -> None:
    with pytest.raises(OutOfRange, match="density"):
        mixed_density_g_ml(a_g=100, b_g=90, density_a_g_ml=density, density_b_g_ml=1)
    with pytest.raises(OutOfRange, match="density"):
        b_by_weight(b_per_100_a_by_volume=100, density_a_g_ml=1, density_b_g_ml=density)


def test_a_negative_ratio_a_scale_without_step_and_no_tolerance_are_refused() -> None:
    with pytest.raises(OutOfRange):
        mixed_density_g_ml(a_g=100, b_g=-90, density_a_g_ml=1, density_b_g_ml=1)
    with pytest.raises(OutOfRange):
        ratio_uncertainty(a_g=100, b_g=90, step_g=0)
    with pytest.raises(OutOfRange):
        smallest_batch_g(a_share=0.5, step_g=0.1, tolerance_ratio=0)
    with pytest.raises(OutOfRange):
        smallest_batch_g(a_share=1.0, step_g=0.1, tolerance_ratio=0.02)
