"""How one piece is printed on one printer: any closed mesh, the way up fixed or chosen."""

from dataclasses import dataclass

import numpy as np

from firstpour.materials.steps import Step
from firstpour.printing.estimate import WANTED_STEP_MM, PrintEstimate, post_steps
from firstpour.printing.orient import (
    KEEP,
    PrintDirection,
    measure_directions,
    rank_print_directions,
    ranked,
    steps_at_mm,
)
from firstpour.printing.piece_findings import piece_findings
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Footing, Hollows, Slices, find_hollows, slice_part
from firstpour.printing.suction import Suction, suction_of
from firstpour.printing.to_print import ToPrint
from firstpour.values import Finding, FloatArray

TIP_MM2 = 1.0
"""What one support under a place that starts in the air takes hold of (our own estimate)."""
LEAST_TIPS = 3
"""A print that hangs off the plate is held at so many places at least (our own estimate)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintPlan:
    """One piece on one printer: way up and layer height, layers, pull, minutes, and the work on the print.

    `supported_mm2`: area that supports hold, with a tip under each place that starts in the air.
    `ranked`: the best ways up, best first; the one alone where it was fixed.
    """

    printer: Printer
    direction: PrintDirection
    ranked: tuple[PrintDirection, ...]
    slices: Slices
    hollows: Hollows
    suction: Suction
    supported_mm2: float
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]

    @property
    def process(self) -> Process:
        """How it is printed."""
        return self.printer.process

    @property
    def layer_mm(self) -> float:
        """Layer height."""
        return self.direction.layer_mm

    @property
    def estimate(self) -> PrintEstimate:
        """Time, layers and material of the print."""
        return self.direction.estimate

    @property
    def print_min(self) -> float:
        """Minutes on the printer."""
        return self.direction.print_min

    @property
    def hands_min(self) -> float:
        """Minutes of work on the print."""
        return sum(step.hands_min for step in self.steps)

    @property
    def wait_min(self) -> float:
        """Minutes that the print only waits or dries."""
        return sum(step.wait_min for step in self.steps)

    @property
    def total_min(self) -> float:
        """Minutes from the start of the print to a piece ready for silicone."""
        return self.print_min + self.hands_min + self.wait_min

    @property
    def flaw_mm(self) -> float:
        """What is wrong with it, as `flaw.flaw_mm` counts."""
        return self.direction.score_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaysUp:
    """The best ways up, best first, and of all that were measured the one that shuts the largest hollow."""

    best: tuple[PrintDirection, ...]
    shutting: PrintDirection | None


def plan_print(
    thing: ToPrint,
    *,
    printer: Printer,
    direction: FloatArray | None = None,
    footing: Footing | None = None,
    layer_mm: float | None = None,
    directions: int = 100,
    wanted_step_mm: float = WANTED_STEP_MM,
    keep: int = KEEP,
) -> PrintPlan:
    """Plan the print of a piece.

    `direction` (3,): which way is up, for pieces such as trays that stand as they must; chosen among `directions`
    unless given. `layer_mm`: the thickest of the printer's own whose steps on show faces stay within
    `wanted_step_mm`, else the thinnest, unless given.

    Raises
    ------
    BadRequest
        If an option cannot be meant.
    """
    if direction is None:
        ways = ways_up(
            thing,
            printer=printer,
            layer_mm=layer_mm,
            directions=directions,
            wanted_step_mm=wanted_step_mm,
            keep=keep,
        ).best
    else:
        layer_mm = fitting_layer_mm(thing, direction, printer=printer, wanted_step_mm=wanted_step_mm, given=layer_mm)
        ways = measure_directions(thing, direction, printer=printer, layer_mm=layer_mm, footing=footing)
    return plan_of(thing, ways, printer=printer)


def ways_up(
    thing: ToPrint,
    *,
    printer: Printer,
    layer_mm: float | None = None,
    directions: int = 100,
    wanted_step_mm: float = WANTED_STEP_MM,
    keep: int = KEEP,
) -> WaysUp:
    """The best ways up on a printer, at the layer height that suits the best of them."""
    found = rank_print_directions(thing, printer=printer, directions=directions, layer_mm=layer_mm, keep=keep)
    best = found[0]
    suited_mm = fitting_layer_mm(
        thing, best.direction, printer=printer, wanted_step_mm=wanted_step_mm, given=layer_mm
    )
    kept = found[:keep]
    return WaysUp(
        best=kept if suited_mm == best.layer_mm else _at_layer(thing, kept, printer, suited_mm),
        shutting=max((one for one in found if one.shut_mm2 > 0.0), key=lambda one: one.shut_mm2, default=None),
    )


def plan_of(thing: ToPrint, ways: tuple[PrintDirection, ...], *, printer: Printer) -> PrintPlan:
    """The print the first of these ways up, cut into layers."""
    way = ways[0]
    slices = slice_part(thing.mesh, way.direction, layer_mm=way.layer_mm)
    hollows = find_hollows(thing.mesh, slices, footing=way.footing)
    suction = suction_of(slices, hollows, printer=printer)
    supported_mm2 = _supported_mm2(thing, way, hollows, printer)
    return PrintPlan(
        printer=printer,
        direction=way,
        ranked=ways,
        slices=slices,
        hollows=hollows,
        suction=suction,
        supported_mm2=supported_mm2,
        steps=work_on_print(thing, way, supported_mm2, printer=printer),
        findings=piece_findings(way, hollows, suction, printer=printer),
    )


def work_on_print(thing: ToPrint, way: PrintDirection, supported_mm2: float, *, printer: Printer) -> tuple[Step, ...]:
    """The steps on the print until silicone may touch it."""
    return post_steps(
        process=printer.process,
        step_mm=way.step_mm,
        show_area_mm2=thing.show_mm2,
        support_mm2=supported_mm2,
    )


def fitting_layer_mm(
    thing: ToPrint, direction: FloatArray, *, printer: Printer, wanted_step_mm: float, given: float | None = None
) -> float:
    """The thickest layer whose steps stay within `wanted_step_mm` in a direction, else the thinnest."""
    if given is not None:
        return given
    heights = printer.layer_heights_mm
    steps = steps_at_mm(thing, direction, printer=printer, layers_mm=heights)
    thin_enough = [one for one, step_mm in zip(heights, steps, strict=True) if step_mm <= wanted_step_mm]
    return max(thin_enough, default=min(heights))


def _at_layer(
    thing: ToPrint, found: tuple[PrintDirection, ...], printer: Printer, layer_mm: float
) -> tuple[PrintDirection, ...]:
    """The same directions and footings at another layer height, ranked anew."""
    again: list[PrintDirection] = []
    for footing in Footing:
        same = [one.direction for one in found if one.footing is footing]
        if same:
            again += measure_directions(thing, np.array(same), printer=printer, layer_mm=layer_mm, footing=footing)
    return ranked(tuple(again))


def _supported_mm2(thing: ToPrint, way: PrintDirection, hollows: Hollows, printer: Printer) -> float:
    """Area that supports hold: overhangs, and a tip under each place that starts in the air on a steeper face."""
    slopes = thing.normals[hollows.in_air_face] @ way.direction
    steep = np.count_nonzero(slopes >= -np.cos(np.radians(printer.support_within_deg)))
    least = LEAST_TIPS if way.footing is Footing.SUPPORTS else 0
    return max(way.support_mm2 + TIP_MM2 * float(steep), TIP_MM2 * least)
