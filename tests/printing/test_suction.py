"""The pull layer by layer: where it peaks, and what causes it."""

import numpy as np

from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER
from firstpour.printing.slices import Footing, find_hollows, slice_part
from firstpour.printing.suction import PullCause, suction_findings, suction_of
from master_shapes import bowl, part_of

UP = np.array([0.0, 0.0, 1.0])


def _bowl(up=UP):
    mesh = part_of(bowl()).mesh
    slices = slice_part(mesh, up, layer_mm=0.1)
    return slices, find_hollows(mesh, slices, footing=Footing.PLATE)


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
