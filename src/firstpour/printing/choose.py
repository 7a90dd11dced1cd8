"""The master chosen: process, direction and layer height, why, and the work on it."""

from collections.abc import Sequence

from firstpour.errors import BadRequest
from firstpour.part.part import Part
from firstpour.printing.choice import MasterPlan, PrinterAtBest
from firstpour.printing.choice_reasons import hollow_avoided, reasons
from firstpour.printing.estimate import WANTED_STEP_MM
from firstpour.printing.orient import KEEP
from firstpour.printing.print_piece import plan_of, ways_up, work_on_print
from firstpour.printing.printers import Printer
from firstpour.printing.to_print import ToPrint, part_to_print

SHUT_WORTH_SAYING_MM2 = 50.0


def choose_master(
    part: Part,
    printers: Sequence[Printer],
    *,
    directions: int = 100,
    wanted_step_mm: float = WANTED_STEP_MM,
    keep: int = KEEP,
) -> MasterPlan:
    """Choose printer, direction and layer height for the master of a part, printed by itself.

    Each printer's directions are ranked; its layer is the thickest that keeps the steps on show faces at or below
    `wanted_step_mm` in its best direction, else the thinnest. Then the printer with the least flaw is taken,
    one that the part fits into first.

    Raises
    ------
    BadRequest
        If there are no printers, or an option cannot be meant.
    """
    if not printers:
        raise BadRequest("no printers", remedy="give the workshop at least one printer")
    thing = part_to_print(part)
    tried = [
        _at_best(thing, printer, directions=directions, wanted_step_mm=wanted_step_mm, keep=keep)
        for printer in printers
    ]
    tried.sort(key=lambda one: (not one.direction.fits, one.direction.score_mm))
    best, others = tried[0], tuple(tried[1:])
    chosen = plan_of(thing, best.ways, printer=best.printer)
    return MasterPlan(
        chosen=chosen,
        others=others,
        why=reasons(chosen, others, wanted_step_mm=wanted_step_mm),
        features=thing.features,
        findings=(*chosen.findings, *hollow_avoided(best, others)),
    )


def _at_best(thing: ToPrint, printer: Printer, *, directions: int, wanted_step_mm: float, keep: int) -> PrinterAtBest:
    """The printer's best ways up, and what the best of them takes with the work."""
    ways = ways_up(thing, printer=printer, directions=directions, wanted_step_mm=wanted_step_mm, keep=keep)
    best, worst = ways.best[0], ways.shutting
    steps = work_on_print(thing, best, best.support_mm2, printer=printer)
    return PrinterAtBest(
        printer=printer,
        ways=ways.best,
        shutting=worst if worst is not None and worst.shut_mm2 >= SHUT_WORTH_SAYING_MM2 else None,
        total_min=best.print_min + sum(step.hands_min + step.wait_min for step in steps),
    )
