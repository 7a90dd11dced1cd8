"""The pull of a vat's film against Stefan's formula and lubrication theory."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from firstpour.errors import OutOfRange
from firstpour.formulas.vat import ATMOSPHERE_PA, section_force_n, shut_hollow_force_n, stefan_force_n

FILM = {"gap_mm": 0.1, "speed_mm_s": 1.0, "viscosity_pa_s": 0.3}


def test_stefans_disc_pulls_as_worked():
    # Stefan 1874, F = 3πμR⁴v/(2h³): μ 0.3 Pa·s, R 10 mm, v 1 mm/s, h 0.1 mm
    assert stefan_force_n(radius_mm=10, **FILM) == pytest.approx(14.1372, abs=5e-5)


def test_stefans_disc_is_the_integral_of_the_film_pressure():
    # Reynolds' equation for a squeezed disc, p(r) = 3μv(R² − r²)/h³, integrated by scipy over the disc (SI units)
    mu, radius, v, h = 0.3, 0.01, 0.001, 0.0001
    force, _ = quad(lambda r: 3 * mu * v * (radius**2 - r**2) / h**3 * 2 * math.pi * r, 0, radius)
    assert stefan_force_n(radius_mm=10, **FILM) == pytest.approx(force, rel=1e-9)


def test_twice_the_radius_pulls_16_times_and_half_the_gap_8_times():
    once = stefan_force_n(radius_mm=10, **FILM)
    assert stefan_force_n(radius_mm=20, **FILM) == pytest.approx(16 * once, rel=1e-12)
    assert stefan_force_n(radius_mm=10, **(FILM | {"gap_mm": 0.05})) == pytest.approx(8 * once, rel=1e-12)


@given(radius=st.floats(1.0, 12.0))
def test_a_disc_as_a_section_is_stefans_disc_until_the_air_caps_it(radius):
    section = section_force_n(area_mm2=math.pi * radius**2, perimeter_mm=2 * math.pi * radius, **FILM)
    cap = ATMOSPHERE_PA * math.pi * radius**2 * 1e-6
    assert section == pytest.approx(min(cap, stefan_force_n(radius_mm=radius, **FILM)), rel=1e-9)


def test_the_cap_of_a_20_mm_disc_is_the_weight_of_the_air_on_it():
    # p_atm · A = 101325 Pa · π · (10 mm)² = 31.8 N
    capped = section_force_n(area_mm2=math.pi * 100, perimeter_mm=20 * math.pi, **(FILM | {"gap_mm": 0.01}))
    assert capped == pytest.approx(31.8, abs=0.05)


def test_a_long_strip_is_half_as_much_again_as_lubrication_theory_says():
    # a strip of width w, p(x) = 6μv(w²/4 − x²)/h³ (Reynolds' equation in one dimension), integrated by scipy
    mu, v, h, w, length = 0.3, 0.001, 0.0001, 0.004, 1.0
    force, _ = quad(lambda x: 6 * mu * v * (w**2 / 4 - x**2) / h**3 * length, -w / 2, w / 2)
    ours = section_force_n(area_mm2=4 * 1000, perimeter_mm=2 * 1004, **FILM)
    assert ours == pytest.approx(1.5 * force, rel=0.01)


def test_a_shut_hollow_pulls_by_its_area():
    # F = Δp·A: 20 kPa on Ø 30 mm
    assert shut_hollow_force_n(area_mm2=math.pi * 15**2, pressure_drop_pa=20_000) == pytest.approx(14.137, abs=5e-4)


@pytest.mark.parametrize("wrong", [{"gap_mm": 0.0}, {"speed_mm_s": -1.0}, {"viscosity_pa_s": np.nan}])
def test_a_film_that_cannot_be_is_refused(wrong):
    with pytest.raises(OutOfRange):
        stefan_force_n(radius_mm=10, **(FILM | wrong))
    with pytest.raises(OutOfRange):
        section_force_n(area_mm2=10, perimeter_mm=10, **(FILM | wrong))


def test_stefans_disc_is_refused_where_the_film_is_thick_and_a_shut_hollow_where_it_pulls_more_than_a_vacuum():
    with pytest.raises(OutOfRange, match="film"):
        stefan_force_n(radius_mm=0.5, **FILM)
    with pytest.raises(OutOfRange):
        shut_hollow_force_n(area_mm2=10, pressure_drop_pa=ATMOSPHERE_PA + 1)
    with pytest.raises(OutOfRange):
        section_force_n(area_mm2=-1, perimeter_mm=1, **FILM)
