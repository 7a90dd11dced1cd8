import math

import numpy as np
import pytest

from fill_shapes import UP, box, box_with_dome, part_of
from firstpour.fill.flow import Liquid, cavity_resistance_pa_s_ml, pour_flow, pressed_pockets_mm3
from firstpour.fill.pockets import find_pockets
from firstpour.formulas import gate_flow

TANK = part_of(box((0, 0, 0), (60, 50, 40)))  # 120 ml


def pour(**changes):
    asked = {
        "up": (0.0, 0.0, 1.0),
        "liquid": Liquid(viscosity_pa_s=1.0, density_g_ml=1.05, rise_s=600.0),
        "gate_radius_mm": 2.0,
        "gate_length_mm": 20.0,
        "head_mm": 100.0,
        "time_left_s": 700.0,
    }
    return pour_flow(TANK, **{**asked, **changes})


def test_a_wide_cavity_fills_in_the_time_of_the_gate_alone():
    # checks.md: 120 ml through a 4 mm gate take 577.47 s; the cavity itself adds next to nothing here
    flow = pour()
    assert flow.volume_ml == pytest.approx(120)
    assert flow.fill_s == pytest.approx(577.47, rel=0.005)
    assert flow.fits
    assert [f.code for f in flow.findings] == ["fill-tight"]


def test_a_pour_that_outlasts_the_pot_life_says_what_head_it_needs():
    slow = pour(time_left_s=300.0)
    assert not slow.fits
    assert [f.code for f in slow.findings] == ["fill-too-slow"]
    again = pour(time_left_s=300.0, head_mm=slow.head_needed_mm)
    assert again.fill_s == pytest.approx(300.0)


def test_a_pour_that_never_passes_is_an_error():
    flow = pour(liquid=Liquid(viscosity_pa_s=2.0, density_g_ml=1.05, rise_s=600.0))
    assert flow.fill_s is None
    assert not flow.fits
    assert [f.code for f in flow.findings] == ["never-passes"]


def test_a_thin_sheet_resists_as_a_slot():
    sheet = part_of(box((0, 0, 0), (80, 30, 1)))
    slot = gate_flow.slot_resistance_pa_s_ml(thickness_mm=1, width_mm=30, length_mm=80, viscosity_pa_s=1)
    assert cavity_resistance_pa_s_ml(sheet, viscosity_pa_s=1) == pytest.approx(slot, rel=0.2)


def test_a_thin_liquid_pouring_fast_is_said_not_to_be_laminar():
    thin = pour(liquid=Liquid(viscosity_pa_s=0.001, density_g_ml=1.0), gate_length_mm=8.0)
    assert "gate-turbulent" in {f.code for f in thin.findings}
    assert not math.isnan(thin.fill_s)


def test_pockets_shrink_under_pressure_and_stay():
    fill = find_pockets(box_with_dome(), up=UP)
    assert pressed_pockets_mm3(fill, gauge_pa=275_800) == pytest.approx(0.26868 * fill.trapped_mm3, rel=1e-4)
    assert np.isclose(pressed_pockets_mm3(fill, gauge_pa=0), fill.trapped_mm3)
