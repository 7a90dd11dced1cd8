import math
from types import SimpleNamespace as Some

import numpy as np
import pytest

from fill_shapes import UP, box, box_with_dome, part_of
from firstpour.fill.flow import Liquid, cavity_resistance_pa_s_ml, liquid_of, pour_flow, pressed_pockets_mm3
from firstpour.fill.pockets import find_pockets
from firstpour.formulas import gate_flow
from firstpour.materials.figures import FigureName
from shelf_samples import shipped

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


PLATE = part_of(box((0, 0, 0), (120, 60, 3)))  # 21.6 ml: a wide thin plate, where the cavity itself resists
THICK = Liquid(viscosity_pa_s=3.0, density_g_ml=1.05, rise_s=900.0)


def test_the_gate_asked_for_is_the_one_that_ends_in_time():
    slow = pour(time_left_s=300.0)
    assert not slow.squeeze.cavity_resists
    wider_mm = slow.remedies.gate_radius_mm
    again = pour(time_left_s=300.0, gate_radius_mm=wider_mm, gate_length_mm=max(20.0, 4 * wider_mm))
    assert again.fill_s == pytest.approx(300.0, rel=1e-4)
    assert "widen the gate to 4.5 mm across" in slow.findings[0].remedy


def test_a_gate_that_the_part_has_no_room_for_is_not_offered():
    assert pour(time_left_s=300.0, widest_gate_mm=2.0).remedies.gate_radius_mm is None
    assert "widen" not in pour(time_left_s=300.0, widest_gate_mm=2.0).findings[0].remedy


def test_a_thinner_and_a_slower_mix_end_just_in_time():
    slow = pour(time_left_s=300.0)
    thinner = pour(
        time_left_s=300.0,
        liquid=Liquid(viscosity_pa_s=slow.remedies.viscosity_pa_s, density_g_ml=1.05, rise_s=600.0),
    )
    assert thinner.fill_s == pytest.approx(300.0, rel=1e-6)
    k = slow.remedies.slower_ratio
    slower = pour(time_left_s=300.0 * k, liquid=Liquid(viscosity_pa_s=1.0, density_g_ml=1.05, rise_s=600.0 * k))
    assert slower.fill_s == pytest.approx(300.0 * k, rel=1e-6)


def plate(part=PLATE, **changes):
    asked = {"up": (1.0, 0.0, 0.0), "liquid": THICK, "gate_radius_mm": 5.0, "gate_length_mm": 20.0}
    return pour_flow(part, **{**asked, "head_mm": 40.0, "time_left_s": 60.0, **changes})


def test_where_the_cavity_itself_resists_no_gate_is_offered_and_what_helps_is():
    flow = plate()
    assert flow.squeeze.cavity_resists
    assert flow.cavity_share > 0.9
    assert plate(gate_radius_mm=12.0, gate_length_mm=48.0).fits is False
    assert flow.remedies.gate_radius_mm is None
    said = flow.findings[0].remedy
    assert "no gate helps" in said
    assert "gates, spread over its length" in said
    assert "as thick" in said


def test_a_section_grown_as_asked_fills_in_time():
    flow = plate()
    thicker = part_of(box((0, 0, 0), (120, 60, 3 * flow.remedies.thicker_ratio)))
    # 2 V / A counts the rim of the plate, too, so that the slot of the grown one is a little off
    assert plate(thicker).fill_s == pytest.approx(60.0, rel=0.15)


def test_as_many_gates_as_asked_for_are_enough_and_one_fewer_is_not():
    """A bar with n gates over its length is n bars of a share of the length, each with its own gate."""
    bar = part_of(box((0, 0, 0), (300, 40, 4)))
    wanted = plate(bar, time_left_s=150.0).remedies.gates

    def in_time(gates):
        return plate(part_of(box((0, 0, 0), (300 / gates, 40, 4))), time_left_s=150.0).fits

    assert wanted >= 2
    assert in_time(wanted)
    assert not in_time(wanted - 1)


def test_a_pot_presses_the_bubbles_that_stay_by_boyles_law():
    pressed, plain = pour(pot_gauge_pa=275_800), pour()
    assert pressed.smallest_left_mm == pytest.approx(0.64527 * plain.smallest_escaping_mm, rel=1e-5)
    assert pour().smallest_left_mm == pour().smallest_escaping_mm


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


@pytest.mark.parametrize(("time_left_s", "tight"), [(700.0, True), (730.0, False)])
def test_four_fifths_of_the_time_left_are_tight(time_left_s, tight):
    """577.47 s are 82 % of 700 s and 79 % of 730 s."""
    flow = pour(time_left_s=time_left_s)
    assert flow.fits
    assert (flow.remedies is not None) is tight
    assert [f.code for f in flow.findings] == ["fill-tight"] * tight


def test_up_has_any_length():
    assert pour(up=(0.0, 0.0, 5.0)).smallest_escaping_mm == pytest.approx(pour().smallest_escaping_mm)


def test_the_share_of_the_cavity_is_of_all_that_resists():
    flow = plate()
    both = flow.squeeze.gate_pa_s_ml + flow.squeeze.cavity_pa_s_ml
    assert flow.cavity_share == pytest.approx(1.0 - flow.squeeze.gate_pa_s_ml / both)


def test_a_liquid_thickens_as_its_clock_says_and_none_is_made_up_without_clock_or_viscosity():
    fit = Some(times=Some(thickening_min=5.0), temperature_c=23.0, age_at_pour_min=0.0)
    material = shipped().get("rigid-plastic-d75-slow")
    liquid = liquid_of(material, fit)
    assert liquid.rise_s == pytest.approx(300.0)
    assert liquid.viscosity_pa_s == pytest.approx(material.figures[FigureName.VISCOSITY].value)
    older = liquid_of(material, Some(**{**vars(fit), "age_at_pour_min": 5.0}))
    assert older.viscosity_pa_s == pytest.approx(math.e * liquid.viscosity_pa_s)
    assert liquid_of(material, Some(**{**vars(fit), "times": None})) is None
    assert liquid_of(shipped().get("sulphur-clay"), fit) is None
