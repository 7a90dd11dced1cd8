"""What is wrong with a print in one figure: each thing is worth what decision 0006 says, and no more."""

from dataclasses import replace

import pytest

from firstpour.printing.flaw import flaw_mm
from firstpour.printing.printers import VAT_PRINTER

PRINTER = replace(VAT_PRINTER, pull_limit_n=100.0, mark_mm=0.15)
PLAIN = {
    "step_mm": 0.05,
    "added_roundness_mm": 0.0,
    "marks_ratio": 0.0,
    "suction_n": 0.0,
    "shut_mm2": 0.0,
    "print_min": 0.0,
}


def worth_mm(**more):
    """What a print is worse by."""
    return flaw_mm(**(PLAIN | more), printer=PRINTER) - flaw_mm(**PLAIN, printer=PRINTER)


@pytest.mark.parametrize(
    ("more", "mm"),
    [
        ({"step_mm": 0.08}, 0.03),
        ({"added_roundness_mm": 0.01}, 0.02),
        ({"added_roundness_mm": 0.03}, 0.06),
        ({"marks_ratio": 1.0}, 0.15),
        ({"marks_ratio": 0.2}, 0.03),
        ({"suction_n": 50.0}, 0.01),
        ({"suction_n": 100.0}, 0.02),
        ({"suction_n": 101.0}, 0.04),
        ({"suction_n": 1000.0}, 0.04),
        ({"shut_mm2": 0.9}, 0.0),
        ({"shut_mm2": 1.1}, 0.03),
        ({"shut_mm2": 500.0}, 0.03),
        ({"print_min": 600.0}, 0.03),
        ({"print_min": 1200.0}, 0.06),
    ],
)
def test_each_thing_is_worth_so_many_mm_of_step(more, mm):
    assert worth_mm(**more) == pytest.approx(mm, abs=1e-9)


def test_a_clean_print_is_as_bad_as_its_steps():
    assert flaw_mm(**PLAIN, printer=PRINTER) == pytest.approx(0.05)


def test_ten_hours_more_outweigh_half_a_pull_but_not_a_step_of_a_thick_layer():
    assert worth_mm(suction_n=50.0) < worth_mm(print_min=600.0) < worth_mm(step_mm=0.10)
