"""The pull of a vat's film against Stefan's formula and lubrication theory."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from firstpour.printing.printers import VAT_PRINTER
from firstpour.printing.suction import pulls_n

FILM = replace(VAT_PRINTER, film_gap_mm=0.1, pull_mm_s=1.0, viscosity_pa_s=0.3, shut_drop_pa=20_000.0)
ATMOSPHERE_PA = 101_325.0
"""Exact by definition, 10th CGPM, 1954."""


def pull_n(area_mm2: float, perimeter_mm: float, *, printer=FILM, shut_mm2: float = 0.0):
    section, shut = pulls_n(np.array([area_mm2]), np.array([perimeter_mm]), np.array([shut_mm2]), printer=printer)
    return section[0], shut[0]


def disc_n(radius_mm: float, **changes: float) -> float:
    return pull_n(math.pi * radius_mm**2, 2 * math.pi * radius_mm, printer=replace(FILM, **changes))[0]


def test_stefans_disc_pulls_as_worked():
    # Stefan 1874, F = 3πμR⁴v/(2h³): μ 0.3 Pa·s, R 10 mm, v 1 mm/s, h 0.1 mm
    assert disc_n(10) == pytest.approx(14.1372, abs=5e-5)


def test_stefans_disc_is_the_integral_of_the_film_pressure():
    # Reynolds' equation for a squeezed disc, p(r) = 3μv(R² − r²)/h³, integrated by scipy over the disc (SI units)
    mu, radius, v, h = 0.3, 0.01, 0.001, 0.0001
    force, _ = quad(lambda r: 3 * mu * v * (radius**2 - r**2) / h**3 * 2 * math.pi * r, 0, radius)
    assert disc_n(10) == pytest.approx(force, rel=1e-9)


def test_twice_the_radius_pulls_16_times_and_half_the_gap_8_times():
    once = disc_n(5)
    assert disc_n(10) == pytest.approx(16 * once, rel=1e-12)
    assert disc_n(5, film_gap_mm=0.05) == pytest.approx(8 * once, rel=1e-12)


@given(radius=st.floats(1.0, 12.0), gap=st.floats(0.01, 0.1))
def test_no_section_pulls_harder_than_the_air_on_it(radius, gap):
    assert disc_n(radius, film_gap_mm=gap) <= ATMOSPHERE_PA * math.pi * radius**2 * 1e-6 * (1 + 1e-12)


def test_the_cap_of_a_20_mm_disc_is_the_weight_of_the_air_on_it():
    # p_atm · A = 101325 Pa · π · (10 mm)² = 31.8 N
    assert disc_n(10, film_gap_mm=0.01) == pytest.approx(31.8, abs=0.05)


def test_a_long_strip_is_half_as_much_again_as_lubrication_theory_says():
    # a strip of width w, p(x) = 6μv(w²/4 − x²)/h³ (Reynolds' equation in one dimension), integrated by scipy
    mu, v, h, w, length = 0.3, 0.001, 0.0001, 0.004, 1.0
    force, _ = quad(lambda x: 6 * mu * v * (w**2 / 4 - x**2) / h**3 * length, -w / 2, w / 2)
    ours, _ = pull_n(4.0 * 1000, 2.0 * 1004)
    assert ours == pytest.approx(1.5 * force, rel=0.01)


def test_a_shut_hollow_pulls_by_its_area():
    # F = Δp·A: 20 kPa on Ø 30 mm
    _, shut = pull_n(0.0, 0.0, shut_mm2=math.pi * 15**2)
    assert shut == pytest.approx(14.137, abs=5e-4)


def test_lifted_twice_as_fast_a_small_disc_pulls_twice_as_hard():
    area, perimeter, none = np.array([np.pi * 25.0]), np.array([10.0 * np.pi]), np.zeros(1)
    slow, fast = (
        pulls_n(area, perimeter, none, printer=replace(VAT_PRINTER, pull_mm_s=speed))[0][0] for speed in (0.5, 1.0)
    )
    assert fast == pytest.approx(2.0 * slow)
