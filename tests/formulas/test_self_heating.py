"""The heat balance of a setting mix against an independent integrator, both bounds, and the figures of the trade."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from firstpour.errors import OutOfRange
from firstpour.formulas.self_heating import Setting, adiabatic_min, cooling_min, isothermal_min, rate_for, reached
from shelf_samples import MODEST

FAST = Setting(rate_per_min=0.03, reference_c=23.0, energy_kj_mol=53.0, rise_k=130.0)
GAS_J_MOL_K = 8.314462618
"""CODATA 2018."""


def integrated(setting: Setting, conversion: float, room_c: float, cooling: float) -> tuple[float, float]:
    """Time to `conversion` and the warmest on the way, by scipy's stiff integrator on the plain equations."""
    room_k = room_c + 273.15

    def slopes(_t: float, y: list[float]) -> list[float]:
        warm = 1 / (setting.reference_c + 273.15) - 1 / y[1]
        speed = setting.rate_per_min * math.exp(1000 * setting.energy_kj_mol / GAS_J_MOL_K * warm) * (1 - y[0])
        return [speed, setting.rise_k * speed - (y[1] - room_k) / cooling]

    def there(_t: float, y: list[float]) -> float:
        return y[0] - conversion

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(slopes, (0, 1e7), [0, room_k], method="LSODA", events=there, rtol=1e-10, atol=1e-12)
    return float(run.t[-1]), float(run.y[1].max()) - 273.15


@pytest.mark.parametrize("cooling", [0.2, 2.0, 20.0, 200.0, 1e9])
@pytest.mark.parametrize("conversion", [0.25, 0.8, 0.99])
@pytest.mark.parametrize("room_c", [15.0, 30.0])
def test_the_march_is_what_a_stiff_integrator_finds(cooling: float, conversion: float, room_c: float) -> None:
    time_min, peak_c = integrated(FAST, conversion, room_c, cooling)
    ours = reached(FAST, conversion=conversion, room_c=room_c, cooling_min=cooling)
    assert ours.time_min == pytest.approx(time_min, rel=5e-3)
    assert ours.peak_c == pytest.approx(peak_c, abs=0.2)


@pytest.mark.parametrize("conversion", [0.1, 0.25, 0.8])
def test_the_adiabatic_bound_is_the_integral_over_the_rise(conversion: float) -> None:
    def slowness(a: float) -> float:
        warm = 1 / (296.15 + 130 * a) - 1 / 296.15
        return math.exp(53000 / GAS_J_MOL_K * warm) / (0.03 * (1 - a))

    expected, _ = quad(slowness, 0, conversion)
    assert adiabatic_min(FAST, conversion=conversion, room_c=23) == pytest.approx(expected, rel=1e-7)


def test_both_ends_of_the_march_are_the_closed_forms() -> None:
    for conversion in (0.25, 0.8):
        kept = reached(FAST, conversion=conversion, room_c=23, cooling_min=math.inf)
        lost = reached(FAST, conversion=conversion, room_c=23, cooling_min=1e-6)
        assert kept.time_min == pytest.approx(adiabatic_min(FAST, conversion=conversion, room_c=23), rel=2e-3)
        assert kept.temperature_c == pytest.approx(23 + 130 * conversion)
        assert lost.time_min == pytest.approx(-math.log(1 - conversion) / 0.03, rel=1e-4)
        assert isothermal_min(FAST, conversion=conversion, room_c=23) == pytest.approx(lost.time_min, rel=1e-4)


@MODEST
@given(
    cooling=st.floats(0.05, 1000),
    rise_k=st.floats(1, 300),
    energy=st.floats(10, 150),
    room_c=st.floats(15, 35),
    conversion=st.floats(0.05, 0.9),
)
def test_every_mix_lies_between_the_two_bounds_and_never_above_its_full_rise(
    cooling: float, rise_k: float, energy: float, room_c: float, conversion: float
) -> None:
    one = Setting(rate_per_min=0.05, reference_c=23, energy_kj_mol=energy, rise_k=rise_k)
    ours = reached(one, conversion=conversion, room_c=room_c, cooling_min=cooling)
    slack = 5e-3
    assert ours.time_min <= isothermal_min(one, conversion=conversion, room_c=room_c) * (1 + slack)
    assert ours.time_min >= adiabatic_min(one, conversion=conversion, room_c=room_c) * (1 - slack)
    assert room_c <= ours.peak_c <= room_c + rise_k


@MODEST
@given(
    time_min=st.floats(0.5, 600),
    cooling=st.floats(0.5, 500),
    rise_k=st.floats(0.01, 300),
    energy=st.floats(10, 150),
)
def test_a_rate_fitted_to_a_pot_life_gives_that_pot_life_over_all_that_a_record_may_hold(
    time_min: float, cooling: float, rise_k: float, energy: float
) -> None:
    rate = rate_for(
        time_min=time_min, conversion=0.25, reference_c=23, energy_kj_mol=energy, rise_k=rise_k, cooling_min=cooling
    )
    one = Setting(rate_per_min=rate, reference_c=23, energy_kj_mol=energy, rise_k=rise_k)
    assert reached(one, conversion=0.25, room_c=23, cooling_min=cooling).time_min == pytest.approx(time_min, rel=1e-5)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: reached(FAST, conversion=0.0, room_c=23, cooling_min=10),
        lambda: reached(FAST, conversion=1.0, room_c=23, cooling_min=10),
        lambda: reached(FAST, conversion=0.25, room_c=23, cooling_min=0),
        lambda: reached(FAST, conversion=0.25, room_c=23, cooling_min=math.nan),
        lambda: cooling_min(volume_ml=0, surface_mm2=1, loss_w_m2_k=10, density_g_ml=1, heat_j_g_k=1.8),
        lambda: rate_for(time_min=0, conversion=0.25, reference_c=23, energy_kj_mol=53, rise_k=10, cooling_min=10),
    ],
)
def test_a_mix_that_cannot_be_is_refused(asked: object) -> None:
    with pytest.raises(OutOfRange) as refused:
        asked()  # type: ignore[operator]
    assert refused.value.remedy
