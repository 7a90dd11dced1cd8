"""What is wrong with a print, in one figure."""

from firstpour.printing.printers import Printer

LEAST_SHUT_MM2 = 1.0
"""Smaller sealed areas are those of single lines of the grid."""
ROUNDNESS_WEIGHT = 2.0
"""The out-of-round that printing adds counts so many times: it cannot be sanded away."""


def flaw_mm(
    *,
    step_mm: float,
    added_roundness_mm: float,
    marks_ratio: float,
    suction_n: float,
    shut_mm2: float,
    print_min: float,
    printer: Printer,
) -> float:
    """What is wrong with a print in one figure, mm: a choice of our own, decision 0006.

    Steps count as they are. The out-of-round that printing adds counts twice, for it cannot be sanded away. Support
    marks count by their roughness and their share of the show area; pull by its share of what the machine holds,
    0.02 mm for all of it and as much again for anything beyond (the figure is too rough to weigh more finely); a
    hollow shut against the film, 0.03 mm; ten hours of printing, 0.03 mm.
    """
    share = suction_n / printer.pull_limit_n
    return (
        step_mm
        + ROUNDNESS_WEIGHT * added_roundness_mm
        + printer.mark_mm * marks_ratio
        + 0.02 * min(share, 1.0)
        + (0.02 if share > 1.0 else 0.0)
        + (0.03 if shut_mm2 >= LEAST_SHUT_MM2 else 0.0)
        + 0.03 * print_min / 600.0
    )
