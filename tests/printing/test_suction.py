"""The pull layer by layer: where it peaks, and what causes it."""

from dataclasses import replace

import numpy as np
import pytest

from firstpour.printing.printers import FILAMENT_PRINTER, VAT_PRINTER
from firstpour.printing.slices import Footing, Hollows, ShutHollow, Slices, find_hollows, slice_part
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
    assert pull.pull_n.tolist() == [0.0] * len(slices.z_mm)
    assert (pull.peak_mm, pull.cause, pull.capped) == (0.0, PullCause.SECTION, False)
    strong = replace(pull, peak_n=1000.0)
    assert suction_findings(strong, hollows, printer=FILAMENT_PRINTER) == ()


def _discs(*radii_mm):
    """Layers of 1 mm, each a disc; the middle of the first lies half a millimetre up."""
    radius = np.array(radii_mm, dtype=float)
    return Slices(
        direction=UP, layer_mm=1.0, height_mm=float(len(radius)), z_mm=np.arange(len(radius)) + 0.5,
        area_mm2=np.pi * radius**2, perimeter_mm=2 * np.pi * radius,
    )  # fmt: skip


def _shut(*areas_mm2, hollows=(), footing=Footing.PLATE):
    none = np.empty((0, 3))
    return Hollows(
        footing=footing, pitch_mm=0.1, shut=tuple(hollows), shut_area_mm2=np.array(areas_mm2, dtype=float),
        in_air_mm=none, in_air_face=np.empty(0, np.int64),
    )  # fmt: skip


def test_section_and_hollow_of_a_layer_add_up_and_the_larger_is_the_cause():
    """By hand: a disc of 10 mm pulls 1.5 · 0.3 · 1 · 10² / 0.1³ = 45 kPa, 14.14 N; 1,000 mm² shut at 20 kPa, 20 N."""
    pull = suction_of(_discs(5, 10, 5), _shut(0, 1000, 0), printer=VAT_PRINTER)
    assert pull.pull_n == pytest.approx([0.8836, 34.137, 0.8836], rel=1e-3)
    assert (pull.peak_n, pull.peak_mm) == (pytest.approx(34.137, rel=1e-4), 1.5)
    assert (pull.cause, pull.capped) == (PullCause.SHUT_HOLLOW, False)
    other = suction_of(_discs(5, 10, 5), _shut(0, 600, 0), printer=VAT_PRINTER)
    assert (other.peak_n, other.cause) == (pytest.approx(26.137, rel=1e-4), PullCause.SECTION)


def test_a_peak_that_the_weight_of_the_air_ends_says_so():
    """By hand: a disc of 20 mm would pull 180 kPa; the air presses 101.3 kPa on 1,257 mm², 127.3 N."""
    wide = suction_of(_discs(20, 5), _shut(0, 0), printer=VAT_PRINTER)
    assert (wide.peak_n, wide.capped) == (pytest.approx(127.33, rel=1e-4), True)
    just_below = suction_of(_discs(14.98), _shut(0), printer=VAT_PRINTER)  # 450 · 14.98² = 100,980 Pa
    assert not just_below.capped


@pytest.mark.parametrize(
    ("radius_mm", "shut_mm2", "limit_n", "said", "remedy"),
    [
        (20, 0, 127.0, "about 127 N as an estimate (a large section, capped at the weight of the air)", "tilt"),
        (10, 0, 14.0, "0.5 mm up, about 14 N as an estimate (a large section);", "tilt"),
        (10, 1000, 30.0, "0.5 mm up, about 34 N as an estimate (a shut hollow);", "open the hollow"),
        (20, 9000, 30.0, "0.5 mm up, about 307 N as an estimate (a shut hollow);", "open the hollow"),
    ],
)  # fmt: skip
def test_a_pull_above_what_the_printer_holds_is_told_with_its_cause(radius_mm, shut_mm2, limit_n, said, remedy):
    printer = replace(VAT_PRINTER, pull_limit_n=limit_n)
    hollows = _shut(shut_mm2)
    pull = suction_of(_discs(radius_mm), hollows, printer=printer)
    (finding,) = suction_findings(pull, hollows, printer=printer)
    assert (finding.code, str(finding.severity)) == ("strong-pull", "warning")
    assert said in finding.what
    assert f"{printer.name} is taken to hold {limit_n:.0f} N" in finding.what
    assert finding.remedy.startswith(remedy)
    held = replace(printer, pull_limit_n=pull.peak_n)
    assert suction_findings(pull, hollows, printer=held) == ()


@pytest.mark.parametrize(
    ("opens_mm", "footing", "said", "remedy"),
    [
        (None, Footing.PLATE, "from 2.0 mm above the plate and never opens", "give it a drain"),
        (12.34, Footing.PLATE, "from 2.0 mm above the plate until 12.3 mm", "tilt the part"),
        (12.34, Footing.SUPPORTS, "from 2.0 mm above the lowest point until 12.3 mm", "tilt the part"),
    ],
)
def test_each_shut_hollow_is_told_with_its_size_and_where_it_closes(opens_mm, footing, said, remedy):
    hollow = ShutHollow(
        volume_mm3=2500.0, area_mm2=310.0, closes_mm=2.0, opens_mm=opens_mm, at_mm=np.array([1.0, 2, 3])
    )
    hollows = _shut(0, hollows=(hollow, hollow), footing=footing)
    findings = suction_findings(suction_of(_discs(5), hollows, printer=VAT_PRINTER), hollows, printer=VAT_PRINTER)
    assert [finding.code for finding in findings] == ["shut-hollow"] * 2
    assert "2.5 ml, 310 mm² against the film" in findings[0].what
    assert said in findings[0].what
    assert findings[0].remedy.startswith(remedy)
    assert findings[0].where == "(1.0, 2.0, 3.0) mm"
