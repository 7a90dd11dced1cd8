import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from firstpour.errors import OutOfRange
from firstpour.formulas import gate_flow as flow

GATE = {"radius_mm": 2.0, "length_mm": 20.0, "viscosity_pa_s": 1.0}


def test_gate_flow_is_that_of_fluids_laminar_friction_factor():
    # fluids.friction_factor gives 64/Re below the transition; solve head = f L/D rho U^2/2 for U
    diameter, length, density, viscosity = 0.004, 0.02, 1050.0, 1.0
    head_pa = flow.head_pressure_pa(head_mm=100, density_g_ml=1.05)

    def short(speed):
        reynolds = fluids.Reynolds(V=speed, D=diameter, rho=density, mu=viscosity)
        return fluids.friction_factor(Re=reynolds) * length / diameter * density * speed**2 / 2 - head_pa

    speed = brentq(short, 1e-6, 1.0)
    expected_ml_s = speed * math.pi * diameter**2 / 4 * 1e6
    ours = head_pa / flow.gate_resistance_pa_s_ml(**GATE)
    assert ours == pytest.approx(expected_ml_s, rel=1e-6)
    assert ours == pytest.approx(0.32360, abs=5e-6)  # checks.md
    reynolds = flow.reynolds_in_gate(flow_ml_s=ours, radius_mm=2, density_g_ml=1.05, viscosity_pa_s=1)
    assert reynolds == pytest.approx(fluids.Reynolds(V=speed, D=diameter, rho=density, mu=viscosity), rel=1e-6)


def test_filling_while_the_material_thickens_takes_the_time_of_the_integral():
    # checks.md, recomputed: Q0 = 0.32360 ml/s, tau = 600 s
    assert flow.fill_time_s(volume_ml=120, first_flow_ml_s=0.32360, rise_s=600) == pytest.approx(577.47, abs=0.02)
    assert flow.most_that_passes_ml(first_flow_ml_s=0.32360, rise_s=600) == pytest.approx(194.16, abs=0.005)
    passed, _ = quad(lambda t: 0.32360 * math.exp(-t / 600), 0, 577.47)
    assert passed == pytest.approx(120, abs=0.01)
    assert flow.passed_ml(first_flow_ml_s=0.32360, time_s=577.47, rise_s=600) == pytest.approx(passed)


def test_a_material_that_does_not_thicken_passes_at_one_speed():
    assert flow.fill_time_s(volume_ml=10, first_flow_ml_s=0.5, rise_s=math.inf) == 20
    assert flow.passed_ml(first_flow_ml_s=0.5, time_s=20, rise_s=math.inf) == 10


@settings(max_examples=50)
@given(volume=st.floats(1, 500), first=st.floats(0.01, 20), rise=st.floats(30, 5000))
def test_fill_time_and_volume_passed_undo_each_other(volume, first, rise):
    if volume >= 0.999 * first * rise:
        return
    time = flow.fill_time_s(volume_ml=volume, first_flow_ml_s=first, rise_s=rise)
    assert flow.passed_ml(first_flow_ml_s=first, time_s=time, rise_s=rise) == pytest.approx(volume, rel=1e-6)
    assert time >= volume / first * (1 - 1e-9)


def test_a_wide_slot_is_the_limit_of_plane_poiseuille_flow():
    # White, Viscous Fluid Flow, plane Poiseuille (from memory): mean speed = h^2 dp / (12 mu L), integrated here
    h, w, length, mu, dp = 2e-3, 40e-3, 60e-3, 1.0, 1000.0
    volume, _ = quad(lambda y: dp / (2 * mu * length) * (h * h / 4 - y * y) * w, -h / 2, h / 2)
    ours = flow.slot_resistance_pa_s_ml(thickness_mm=2, width_mm=40, length_mm=60, viscosity_pa_s=1)
    assert dp / ours == pytest.approx(volume * 1e6, rel=1e-9)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: flow.gate_resistance_pa_s_ml(radius_mm=3, length_mm=11.9, viscosity_pa_s=1),
        lambda: flow.gate_resistance_pa_s_ml(radius_mm=0, length_mm=20, viscosity_pa_s=1),
        lambda: flow.gate_resistance_pa_s_ml(radius_mm=1, length_mm=20, viscosity_pa_s=math.nan),
        lambda: flow.slot_resistance_pa_s_ml(thickness_mm=5, width_mm=4, length_mm=60, viscosity_pa_s=1),
        lambda: flow.fill_time_s(volume_ml=195, first_flow_ml_s=0.3236, rise_s=600),
    ],
)
def test_figures_outside_the_formulas_are_refused(asked):
    with pytest.raises(OutOfRange) as refused:
        asked()
    assert refused.value.remedy
