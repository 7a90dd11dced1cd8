"""The master chosen: process, direction and layer height, why, and the work on it."""

from collections.abc import Sequence

import numpy as np

from firstpour.errors import BadRequest
from firstpour.materials.steps import Step
from firstpour.part.part import Part
from firstpour.printing.choice import MasterChoice, MasterPlan
from firstpour.printing.choice_reasons import cup_avoided, direction_findings, reasons
from firstpour.printing.estimate import post_steps
from firstpour.printing.orient import (
    PrintDirection,
    measure_directions,
    rank_print_directions,
    ranked,
    show_faces,
)
from firstpour.printing.printers import Printer, Process
from firstpour.printing.slices import Footing, find_hollows, slice_part
from firstpour.printing.suction import suction_findings, suction_of
from firstpour.rounds.round_features import RoundFeature, find_round_features
from firstpour.values import face_areas_mm2

KEEP = 12
CUP_WORTH_SAYING_MM2 = 50.0
WANTED_STEP_MM = 0.03
"""Steps below this are gone after priming and a light sanding (common practice, no source)."""


def choose_master(
    part: Part, printers: Sequence[Printer], *, directions: int = 100, wanted_step_mm: float = WANTED_STEP_MM
) -> MasterPlan:
    """Choose printer, direction and layer height for the master of a part.

    Each printer's directions are ranked; its layer is the thickest that keeps the steps on show faces at or below
    `wanted_step_mm` in its best directions, else the thinnest. Then the printer with the least flaw is taken,
    one that the part fits into first.

    Raises
    ------
    BadRequest
        If there are no printers, or an option cannot be meant.
    """
    if not printers:
        raise BadRequest("no printers", remedy="give the workshop at least one printer")
    features = find_round_features(part.mesh)
    tried = [
        _best_of(part, printer, features, directions=directions, wanted_step_mm=wanted_step_mm)
        for printer in printers
    ]
    tried.sort(key=lambda one: (not one[0].direction.fits, one[0].flaw_mm))
    chosen, found = tried[0]
    others = tuple(choice for choice, _ in tried[1:])
    slices = slice_part(part.mesh, chosen.direction.direction, layer_mm=chosen.direction.layer_mm)
    hollows = find_hollows(part.mesh, slices, footing=chosen.direction.footing)
    suction = suction_of(slices, hollows, printer=chosen.printer)
    return MasterPlan(
        chosen=chosen,
        others=others,
        why=reasons(chosen, others, found, wanted_step_mm=wanted_step_mm),
        ranked=found,
        features=features,
        slices=slices,
        hollows=hollows,
        suction=suction,
        findings=(
            *direction_findings(chosen, hollows),
            *suction_findings(suction, hollows, printer=chosen.printer),
            *cup_avoided(chosen, others),
        ),
    )


def _best_of(
    part: Part,
    printer: Printer,
    features: tuple[RoundFeature, ...],
    *,
    directions: int,
    wanted_step_mm: float,
) -> tuple[MasterChoice, tuple[PrintDirection, ...]]:
    """The printer at its best, and its best directions at that layer height."""
    found = rank_print_directions(part, printer=printer, directions=directions, features=features)
    layer_mm = fitting_layer_mm(printer, found[0], wanted_step_mm=wanted_step_mm)
    again = _at_layer(part, found[:KEEP], printer, features, layer_mm)
    sealed = [one for one in found if one.cup_mm2 >= CUP_WORTH_SAYING_MM2]
    cupped = max(sealed, key=lambda one: one.cup_mm2, default=None)
    return _choice(part, printer, again[0], cupped), again


def fitting_layer_mm(printer: Printer, direction: PrintDirection, *, wanted_step_mm: float) -> float:
    """The thickest layer whose steps stay within `wanted_step_mm` in a direction, else the thinnest."""
    per_layer = direction.step_mm / direction.layer_mm
    thin_enough = [one for one in printer.layer_heights_mm if one * per_layer <= wanted_step_mm]
    return max(thin_enough, default=min(printer.layer_heights_mm))


def _at_layer(
    part: Part,
    found: tuple[PrintDirection, ...],
    printer: Printer,
    features: tuple[RoundFeature, ...],
    layer_mm: float,
) -> tuple[PrintDirection, ...]:
    """The same directions and footings at another layer height, ranked anew."""
    again: list[PrintDirection] = []
    for footing in Footing:
        same = [one.direction for one in found if one.footing is footing]
        if same:
            again += measure_directions(
                part, np.array(same), printer=printer, layer_mm=layer_mm, features=features, footing=footing
            )
    return ranked(tuple(again))


def _choice(part: Part, printer: Printer, direction: PrintDirection, cupped: PrintDirection | None) -> MasterChoice:
    steps = steps_after(part, direction, process=printer.process)
    hands = sum(step.hands_min for step in steps)
    return MasterChoice(
        printer=printer,
        direction=direction,
        steps=steps,
        hands_min=hands,
        total_min=direction.print_min + hands + sum(step.wait_min for step in steps),
        cupped=cupped,
    )


def steps_after(part: Part, direction: PrintDirection, *, process: Process) -> tuple[Step, ...]:
    """The work on the part as printed in a direction, until silicone may be poured on it."""
    return post_steps(
        process=process,
        step_mm=direction.step_mm,
        show_area_mm2=float(face_areas_mm2(part.mesh)[show_faces(part)].sum()),
        support_mm2=direction.support_mm2,
    )
