"""The master's part of the plan: how it is printed, what trays show of their layers, and what the fits come to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.job.job import PartRequest
from firstpour.materials.steps import Step
from firstpour.mould.settings import MouldMaterials
from firstpour.mould.values import Mould, Role
from firstpour.part.part import Part
from firstpour.parting.parting import Parting
from firstpour.plan.needs import IN_TRAYS
from firstpour.printing.allowance import Allowance, same_all_round, work_out_allowance
from firstpour.printing.choice import MasterPlan
from firstpour.printing.choose import choose_master
from firstpour.printing.orient import PrintDirection, measure_directions
from firstpour.printing.print_piece import work_on_print
from firstpour.printing.printers import Printer, Process
from firstpour.printing.to_print import part_to_print
from firstpour.values import Finding, Severity, frame_along
from firstpour.workshop.equipment import pieces_printer, printers_for

STEPS_WORTH_SAYING = 1.5
"""Layer steps in a tray are mentioned when they are this many times those of a loose master (our own choice)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartMaster:
    """The master of one part: how it is best printed by itself, what a tray gives, the allowance and its fits."""

    plan: MasterPlan
    in_tray: PrintDirection | None
    """The part as printed in its tray, along the draw; None where the master is printed by itself."""
    process: Process
    """How the surface that the silicone copies is printed."""
    steps: tuple[Step, ...]
    """The work on that surface before silicone meets it, in order."""
    allowance: Allowance
    findings: tuple[Finding, ...]


def plan_master(
    part: Part,
    parting: Parting,
    request: PartRequest,
    materials: MouldMaterials,
    *,
    printers: Sequence[Printer],
) -> PartMaster:
    """Choose how the master is printed, and say what trays give instead.

    Raises
    ------
    BadJob
        If a fit names no round feature of the part, or no printer of its process is in the workshop.
    """
    plan = choose_master(part, printers_for(printers, request.process))
    in_tray, steps = None, plan.steps
    process, printer, direction, layer_mm = plan.process, plan.chosen.printer, plan.direction.direction, plan.layer_mm
    if parting.kind in IN_TRAYS:
        printer = pieces_printer(printers, request.process)
        process, direction = printer.process, parting.draw.direction
        layer_mm = min(printer.layer_heights_mm)
        thing = part_to_print(part, features=plan.features)
        in_tray = measure_directions(thing, direction[None], printer=printer, layer_mm=layer_mm)[0]
        steps = work_on_print(thing, in_tray, in_tray.support_mm2, printer=printer)
    chain = [
        same_all_round("silicone", materials.silicone_shrinkage_ratio),
        same_all_round("casting", materials.casting_shrinkage_ratio),
    ]
    allowance = work_out_allowance(
        chain, printer=printer, direction=direction, layer_mm=layer_mm, features=plan.features, fits=request.fits
    )
    findings = plan.findings if in_tray is None else (*_tray_findings(plan, in_tray), *_of_hollows(plan))
    return PartMaster(
        plan=plan,
        in_tray=in_tray,
        process=process,
        steps=steps,
        allowance=allowance,
        findings=(*findings, *allowance.findings),
    )


def stood_as_chosen(mould: Mould, master: PartMaster) -> Mould:
    """The mould with a master that is printed by itself turned the way up that was chosen for it."""
    if master.in_tray is not None:
        return mould
    turn = frame_along(master.plan.direction.direction)
    masters = [piece for piece in mould.pieces if piece.role is Role.MASTER]
    if len(masters) != 1:
        return mould
    pieces = tuple(replace(piece, print_turn=turn) if piece.role is Role.MASTER else piece for piece in mould.pieces)
    return replace(mould, pieces=pieces)


def _of_hollows(plan: MasterPlan) -> tuple[Finding, ...]:
    """What was found of shut hollows: worth knowing of the part even where trays are printed instead."""
    return tuple(finding for finding in plan.findings if finding.code.startswith("shut-hollow"))


def _tray_findings(plan: MasterPlan, in_tray: PrintDirection) -> tuple[Finding, ...]:
    """Say where trays show coarser layers than a master printed by itself would."""
    if in_tray.step_mm <= STEPS_WORTH_SAYING * plan.direction.step_mm:
        return ()
    return (
        Finding(
            severity=Severity.INFO,
            code="tray-steps",
            what=f"printed in its trays the part has layer steps of {in_tray.step_mm:.2f} mm on show faces; a master "
            f"by itself has {plan.direction.step_mm:.2f} mm ({plan.chosen.printer.name})",
            remedy='fill and sand the tray, or take kind = "bedding" with a master printed by itself',
        ),
    )
