"""The master chosen: process, direction and layer height, why, and the work on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstpour.errors import BadRequest
from firstpour.master.estimate import SMOOTH_MM, PrintEstimate, post_steps
from firstpour.master.orient import (
    LEAST_CUP_MM2,
    PrintDirection,
    measure_directions,
    rank_print_directions,
    ranked,
    show_faces,
)
from firstpour.master.printers import PostStep, Printer, Process
from firstpour.master.round_features import RoundFeature, find_round_features
from firstpour.master.slices import Footing, Hollows, Slices, find_hollows, slice_part
from firstpour.master.suction import Suction, suction_findings, suction_of
from firstpour.part.part import Part
from firstpour.values import Finding, Severity, face_areas_mm2

KEEP = 12
CUP_WORTH_SAYING_MM2 = 50.0
WANTED_STEP_MM = 0.03
"""Steps below this are gone after priming and a light sanding (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MasterChoice:
    """One printer at its best: direction with layer height, the work after printing, and the total."""

    printer: Printer
    direction: PrintDirection
    steps: tuple[PostStep, ...]
    hands_min: float
    total_min: float
    cupped: PrintDirection | None
    """The direction tried in which the largest cup would be sealed, if any."""

    @property
    def process(self) -> Process:
        """How it is printed."""
        return self.printer.process

    @property
    def flaw_mm(self) -> float:
        """What is wrong with it, as `orient.flaw_mm` counts."""
        return self.direction.score_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MasterPlan:
    """How the master is made, and what was weighed against it.

    `why` are sentences for the maker. `ranked` are the best directions of the chosen printer, best first.
    """

    chosen: MasterChoice
    others: tuple[MasterChoice, ...]
    why: tuple[str, ...]
    ranked: tuple[PrintDirection, ...]
    features: tuple[RoundFeature, ...]
    slices: Slices
    hollows: Hollows
    suction: Suction
    findings: tuple[Finding, ...]

    @property
    def process(self) -> Process:
        """How the master is printed."""
        return self.chosen.process

    @property
    def direction(self) -> PrintDirection:
        """Which way up, and at which layer height."""
        return self.chosen.direction

    @property
    def layer_mm(self) -> float:
        """Layer height."""
        return self.chosen.direction.layer_mm

    @property
    def steps(self) -> tuple[PostStep, ...]:
        """The work on the print, in order."""
        return self.chosen.steps

    @property
    def estimate(self) -> PrintEstimate:
        """Time and material of the print."""
        return self.chosen.direction.estimate


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
            *_direction_findings(chosen, hollows),
            *suction_findings(suction, hollows, printer=chosen.printer),
            *_cup_elsewhere(chosen, others),
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
    show_area_mm2 = float(face_areas_mm2(part.mesh)[show_faces(part)].sum())
    steps = post_steps(
        process=printer.process,
        step_mm=direction.step_mm,
        show_area_mm2=show_area_mm2,
        support_mm2=direction.support_mm2,
    )
    hands = sum(step.hands_min for step in steps)
    return MasterChoice(
        printer=printer,
        direction=direction,
        steps=steps,
        hands_min=hands,
        total_min=direction.print_min + hands + sum(step.wait_min for step in steps),
        cupped=cupped,
    )


def reasons(
    chosen: MasterChoice,
    others: tuple[MasterChoice, ...],
    found: tuple[PrintDirection, ...],
    *,
    wanted_step_mm: float,
) -> tuple[str, ...]:
    """Why this printer, this direction and this layer, in sentences."""
    best = chosen.direction
    said = [
        f"steps of {best.step_mm:.3f} mm or less on 95 % of the show faces"
        + (f", within the {wanted_step_mm:g} mm wanted" if best.step_mm <= wanted_step_mm else ", to be sanded")
    ]
    if best.roundness_mm > 0.0:
        said.append(f"round features come out of round by {best.roundness_mm:.2f} mm at most")
    if best.support_mm2 > 0.0:
        shown = (
            f"{best.marks_mm2:.0f} mm² of it on show faces" if best.marks_mm2 >= 1.0 else "none of it on show faces"
        )
        said.append(f"{best.support_mm2:.0f} mm² needs support, {shown}")
    else:
        said.append("needs no support")
    if chosen.process is Process.VAT:
        cup = "no cup is sealed" if best.cup_mm2 < LEAST_CUP_MM2 else f"a cup of {best.cup_mm2:.0f} mm² is sealed"
        said.append(f"the film pulls about {best.suction_n:.0f} N at most (an estimate), {cup}")
    if len(found) > 1:
        said.append(_against(best, found[1]))
    said += [_against_printer(chosen, other) for other in others]
    return tuple(said)


def _against(best: PrintDirection, next_best: PrintDirection) -> str:
    x, y, z = next_best.direction
    return (
        f"the next direction ({x:.2f}, {y:.2f}, {z:.2f}; {next_best.footing.value}) has steps of"
        f" {next_best.step_mm:.3f} mm, {next_best.roundness_mm:.2f} mm out of round,"
        f" {next_best.print_min:.0f} min against {best.print_min:.0f}"
    )


def _against_printer(chosen: MasterChoice, other: MasterChoice) -> str:
    way = other.direction
    if chosen.direction.fits and not way.fits:
        return f"{other.printer.name}: the part does not fit its build volume"
    cup = f", a sealed cup of {way.cup_mm2:.0f} mm²" if way.cup_mm2 >= LEAST_CUP_MM2 else ""
    return (
        f"{other.printer.name} at its best: steps of {way.step_mm:.3f} mm, {way.roundness_mm:.2f} mm out of round"
        f"{cup}, {other.total_min / 60.0:.1f} h with the work against {chosen.total_min / 60.0:.1f} h"
    )


def _direction_findings(chosen: MasterChoice, hollows: Hollows) -> tuple[Finding, ...]:
    best = chosen.direction
    findings = []
    if not best.fits:
        size = " × ".join(f"{v:g}" for v in chosen.printer.size_mm)
        findings.append(
            Finding(
                severity=Severity.ERROR,
                code="master-too-large",
                what=f"the master fits no printer; the nearest, {chosen.printer.name}, holds {size} mm",
                remedy="print it in pieces and join them, or enter a larger printer",
            )
        )
    if len(hollows.islands_mm):
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="islands",
                what=f"places that begin in the air, above the first layers: {len(hollows.islands_mm)}",
                remedy="each needs a support under it; see that none is missed",
                where="; ".join("{:.1f}, {:.1f}, {:.1f} mm".format(*at) for at in hollows.islands_mm[:6]),
            )
        )
    if best.step_mm > SMOOTH_MM:
        findings.append(
            Finding(
                severity=Severity.INFO,
                code="steps-show",
                what=f"layer steps of {best.step_mm:.3f} mm would be copied into every casting",
                remedy="sand and prime the show faces before sealing, or use thinner layers",
            )
        )
    return tuple(findings)


def _cup_elsewhere(chosen: MasterChoice, others: tuple[MasterChoice, ...]) -> tuple[Finding, ...]:
    """A cup that was got round: said, so that nobody turns the part back into it."""
    cupped = next((one for one in (chosen, *others) if one.cupped is not None), None)
    if cupped is None or cupped.cupped is None or chosen.direction.cup_mm2 >= LEAST_CUP_MM2:
        return ()
    worst = cupped.cupped
    filament = chosen.process is Process.FILAMENT
    how = "in filament, where a cup pulls nothing" if filament else "turned or lifted so that the hollow stays open"
    x, y, z = worst.direction
    return (
        Finding(
            severity=Severity.INFO,
            code="cup-avoided",
            what=(
                f"with ({x:.2f}, {y:.2f}, {z:.2f}) up on {cupped.printer.name}, standing on"
                f" {worst.footing.value}, a cup of {worst.cup_mm2:.0f} mm² would be sealed against the film;"
                f" it is printed {how}"
            ),
            remedy="keep this direction; the other way up, the hollow needs a vent hole near its closed end",
        ),
    )
