"""The pull layer by layer is that of the formulas, section by section."""

import numpy as np
import pytest

from firstpour.formulas.vat import section_force_n, shut_hollow_force_n
from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER
from firstpour.printing.slices import Footing, find_hollows, slice_part
from firstpour.printing.suction import PullCause, pulls_n, suction_findings, suction_of
from master_shapes import bowl, part_of

UP = np.array([0.0, 0.0, 1.0])


def _bowl(up=UP):
    mesh = part_of(bowl()).mesh
    slices = slice_part(mesh, up, layer_mm=0.1)
    return slices, find_hollows(mesh, slices, footing=Footing.PLATE)


def test_each_layer_pulls_as_its_section_and_its_shut_hollow_by_the_formulas():
    slices, hollows = _bowl()
    section, shut = pulls_n(slices.area_mm2, slices.perimeter_mm, hollows.shut_area_mm2, printer=VAT_PRINTER)
    for k in (0, 10, 40, 120):
        film = {"gap_mm": 0.1, "speed_mm_s": 1.0, "viscosity_pa_s": 0.3}
        by_formula = section_force_n(area_mm2=slices.area_mm2[k], perimeter_mm=slices.perimeter_mm[k], **film)
        assert section[k] == pytest.approx(by_formula, rel=1e-12)
        by_formula = shut_hollow_force_n(area_mm2=hollows.shut_area_mm2[k], pressure_drop_pa=20_000)
        assert shut[k] == pytest.approx(by_formula, rel=1e-12)


def test_the_peak_is_named_with_its_height_and_its_cause():
    slices, hollows = _bowl()
    pull = suction_of(slices, hollows, printer=VAT_PRINTER)
    assert pull.peak_n == pull.pull_n.max()
    assert pull.peak_mm < 3.0  # the solid floor of the bowl, 616 mm² in one piece
    assert pull.cause is PullCause.SECTION
    (finding,) = suction_findings(pull, hollows, printer=VAT_PRINTER)
    assert finding.code == "shut-hollow"
    assert "until 15.0 mm" in finding.what


def test_a_filament_print_pulls_nothing_and_finds_nothing():
    slices, hollows = _bowl()
    pull = suction_of(slices, hollows, printer=FILAMENT_PRINTER)
    assert pull.peak_n == 0.0
    assert suction_findings(pull, hollows, printer=FILAMENT_PRINTER) == ()
