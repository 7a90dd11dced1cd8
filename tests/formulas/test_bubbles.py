import math

import fluids
import pytest

from firstpour.errors import OutOfRange
from firstpour.formulas import bubbles


@pytest.mark.parametrize(("diameter_mm", "speed_mm_s"), [(0.5, 0.14306), (1.0, 0.57225)])
def test_bubbles_rise_at_the_terminal_speed_of_fluids(diameter_mm, speed_mm_s):
    # checks.md and fluids.v_terminal with Stokes' drag; a bubble of no weight in 1050 kg/m3, 1 Pa s
    ours = bubbles.rise_speed_mm_s(diameter_mm=diameter_mm, viscosity_pa_s=1, density_g_ml=1.05)
    assert ours == pytest.approx(speed_mm_s, abs=5e-6)
    theirs = fluids.v_terminal(D=diameter_mm * 1e-3, rhop=2100.0, rho=1050.0, mu=1.0, Method="Stokes")
    assert ours == pytest.approx(abs(theirs) * 1e3, rel=1e-3)  # theirs with g = 9.80665


def test_the_smallest_bubble_that_escapes_is_that_of_the_table():
    # checks.md, recomputed: H = 50 mm, t = 300 s, constant and thickening e-fold in 600 s
    asked = {"height_mm": 50, "time_s": 300, "viscosity_pa_s": 1, "density_g_ml": 1.05}
    assert bubbles.smallest_escaping_mm(**asked) == pytest.approx(0.5397, abs=5e-5)
    assert bubbles.smallest_escaping_mm(**asked, rise_s=600) == pytest.approx(0.6084, abs=5e-5)


def test_the_smallest_bubble_just_covers_the_height():
    d = bubbles.smallest_escaping_mm(height_mm=80, time_s=400, viscosity_pa_s=3, density_g_ml=1.1)
    assert 400 * bubbles.rise_speed_mm_s(diameter_mm=d, viscosity_pa_s=3, density_g_ml=1.1) == pytest.approx(80)


@pytest.mark.parametrize(("gauge_kpa", "volume", "diameter"), [(275.8, 0.26868, 0.64527), (413.7, 0.19674, 0.58161)])
def test_pressure_shrinks_bubbles_by_boyles_law(gauge_kpa, volume, diameter):
    assert bubbles.pressed_volume_ratio(gauge_pa=gauge_kpa * 1e3) == pytest.approx(volume, abs=5e-6)
    assert bubbles.pressed_diameter_ratio(gauge_pa=gauge_kpa * 1e3) == pytest.approx(diameter, abs=5e-6)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: bubbles.rise_speed_mm_s(diameter_mm=5, viscosity_pa_s=0.1, density_g_ml=1.05),
        lambda: bubbles.rise_speed_mm_s(diameter_mm=1, viscosity_pa_s=0, density_g_ml=1.05),
        lambda: bubbles.smallest_escaping_mm(height_mm=50, time_s=0, viscosity_pa_s=1, density_g_ml=1.05),
        lambda: bubbles.smallest_escaping_mm(height_mm=50, time_s=math.nan, viscosity_pa_s=1, density_g_ml=1.05),
        lambda: bubbles.pressed_volume_ratio(gauge_pa=-1),
    ],
)
def test_figures_outside_the_formulas_are_refused(asked):
    with pytest.raises(OutOfRange) as refused:
        asked()
    assert refused.value.remedy


def test_a_long_bubble_climbs_as_in_water_as_in_syrup_and_not_at_all_in_a_straw():
    """Water: 0.345 √(gD) (Dumitrescu 1943); syrup: 0.01 ρ g D²/μ; below Bretherton's limit 0 (all from memory)."""
    water = bubbles.long_bubble_speed_mm_s(diameter_mm=40, viscosity_pa_s=1e-3, density_g_ml=1, tension_n_m=0.072)
    assert water == pytest.approx(345 * math.sqrt(9.80665 * 0.04), rel=0.01)
    syrup = bubbles.long_bubble_speed_mm_s(diameter_mm=40, viscosity_pa_s=50, density_g_ml=1.05)
    assert syrup == pytest.approx(0.01 * 1050 * 9.80665 * 0.04**2 / 50 * 1e3, rel=0.03)
    held_mm = 2e3 * math.sqrt(0.842 * 0.03 / (1050 * 9.80665))
    speeds = [
        bubbles.long_bubble_speed_mm_s(diameter_mm=share * held_mm, viscosity_pa_s=1, density_g_ml=1.05)
        for share in (0.99, 1.05)
    ]
    assert speeds[0] == 0
    assert speeds[1] > 0
