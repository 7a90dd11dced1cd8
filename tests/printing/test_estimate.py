"""Times and materials from the printers' own figures."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpour.errors import BadRequest, OutOfRange
from firstpour.printing.estimate import estimate_print, post_steps
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER, Process

CUBE = {"height_mm": 20.0, "volume_mm3": 8000.0, "area_mm2": 2400.0, "support_mm3": 0.0}


def test_a_filament_cube_takes_its_walls_and_infill_through_the_nozzle():
    # by hand: walls 2400 · 3 · 0.45 = 3240 mm³, infill 0.2 · 4760 = 952; 4192 mm³ / (8 · 0.85) + 100 · 1.5 s, 10 min
    made = estimate_print(printer=FILAMENT_PRINTER, layer_mm=0.2, **CUBE)
    assert made.material_ml == pytest.approx(4.192)
    assert made.material_g == pytest.approx(4.192 * 1.24)
    assert made.print_min == pytest.approx(10 + (4192 / 6.8 + 150) / 60)


def test_a_vat_print_takes_its_whole_volume_and_counts_layers_only():
    made = estimate_print(printer=VAT_PRINTER, layer_mm=0.1, **CUBE)
    assert made.layers == 200
    assert made.material_ml == pytest.approx(8.0)
    bulkier = estimate_print(printer=VAT_PRINTER, layer_mm=0.1, **(CUBE | {"volume_mm3": 16000.0}))
    assert bulkier.print_min == made.print_min


@given(layer=st.floats(0.05, 0.3), support=st.floats(0, 50_000))
def test_thinner_layers_and_more_support_never_print_faster(layer, support):
    for printer in (FILAMENT_PRINTER, VAT_PRINTER):
        made = estimate_print(printer=printer, layer_mm=layer, **(CUBE | {"support_mm3": support}))
        thin = estimate_print(printer=printer, layer_mm=layer / 2, **(CUBE | {"support_mm3": support}))
        bare = estimate_print(printer=printer, layer_mm=layer, **CUBE)
        assert thin.print_min >= made.print_min >= bare.print_min
        assert made.material_ml >= bare.material_ml


def test_a_vat_master_is_washed_dried_cured_and_sealed_in_that_order():
    names = [s.name for s in post_steps(process=Process.VAT, step_mm=0.01, show_area_mm2=5000, support_mm2=0)]
    assert names == ["wash", "dry", "post-cure", "seal", "dry the sealer"]


def test_a_filament_master_is_sanded_primed_and_sealed_and_rough_steps_take_longer():
    fine, rough = (
        post_steps(process=Process.FILAMENT, step_mm=step, show_area_mm2=5000, support_mm2=400)
        for step in (0.05, 0.2)
    )
    assert [s.name for s in fine] == [
        "take supports off",
        "sand",
        "prime",
        "dry the primer",
        "sand the primer",
        "seal",
        "dry the sealer",
    ]
    assert sum(s.hands_min for s in rough) > sum(s.hands_min for s in fine)


@pytest.mark.parametrize("wrong", [{"volume_mm3": -1.0}, {"height_mm": 0.0}, {"support_mm3": -1.0}])
def test_a_print_that_cannot_be_is_refused(wrong):
    with pytest.raises(OutOfRange):
        estimate_print(printer=VAT_PRINTER, layer_mm=0.05, **(CUBE | wrong))


@pytest.mark.parametrize(
    "wrong",
    [
        {"layer_heights_mm": ()},
        {"layer_heights_mm": (0.0,)},
        {"size_mm": (0.0, 1.0, 1.0)},
        {"pixel_mm": 0.0},
        {"infill_ratio": 1.5},
        {"support_within_deg": 95.0},
        {"flow_mm3_s": float("inf")},
    ],
)
def test_a_printer_that_cannot_be_is_refused(wrong):
    with pytest.raises(BadRequest, match="printer"):
        replace(FILAMENT_PRINTER, **wrong)
