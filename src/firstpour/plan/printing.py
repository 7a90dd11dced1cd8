"""What is really printed for a part: every piece, how the surface that silicone copies comes out, size and fits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.job.job import PartRequest
from firstpour.materials.steps import Step
from firstpour.mould.bed import printed
from firstpour.mould.settings import MouldMaterials
from firstpour.mould.values import Mould, Piece, Role
from firstpour.part.part import Part
from firstpour.plan.needs import IN_TRAYS
from firstpour.printing.allowance import Allowance, by_inserts, same_all_round, work_out_allowance
from firstpour.printing.choice import MasterPlan
from firstpour.printing.choose import choose_master
from firstpour.printing.estimate import WANTED_STEP_MM
from firstpour.printing.orient import PrintDirection, measure_directions
from firstpour.printing.print_piece import PrintPlan, fitting_layer_mm, plan_print, work_on_print
from firstpour.printing.printers import Printer
from firstpour.printing.slices import Footing
from firstpour.printing.to_print import mesh_to_print, part_to_print
from firstpour.rounds.round_features import RoundFeature
from firstpour.values import Finding, Severity, frame_along
from firstpour.workshop.equipment import pieces_printer, printers_for

COPIED = (Role.TRAY, Role.BEDDING)
"""Pieces whose surface the silicone copies; a box only has to hold it, and gets the thickest layers."""
CLEANING = frozenset({"wash", "dry-wash", "supports-off", "post-cure"})
"""Work that every print needs; the rest is done to the surface that silicone copies."""
TELLING = (Severity.ERROR, Severity.WARNING)
"""What is told of a piece other than the master."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PiecePrint:
    """One piece of the mould on its printer."""

    name: str
    role: Role
    plan: PrintPlan


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartPrinting:
    """The prints of one part. `surface` is the part's own surface as it is printed, in its trays or by itself.

    `master` is None where the part is printed within its trays. `steps` are the work on the surface before silicone.
    """

    pieces: tuple[PiecePrint, ...]
    surface: PrintDirection
    printer: Printer
    master: MasterPlan | None
    features: tuple[RoundFeature, ...]
    steps: tuple[Step, ...]
    allowance: Allowance
    findings: tuple[Finding, ...]

    @property
    def print_min(self) -> float:
        """Minutes on printers, one piece after the other."""
        return sum(piece.plan.print_min for piece in self.pieces)

    def cleaning_of(self, piece: PiecePrint) -> tuple[Step, ...]:
        """Work that every print needs, on a piece other than the master; not what is done to the surface anyway."""
        if piece.role is Role.MASTER:
            return ()
        on_surface = {one.id for one in self.steps}
        return tuple(one for one in piece.plan.steps if one.id in CLEANING and one.id not in on_surface)

    @property
    def cleaning(self) -> tuple[Step, ...]:
        """That of all pieces."""
        return tuple(step for piece in self.pieces for step in self.cleaning_of(piece))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Surface:
    """How the surface that silicone copies is printed."""

    way: PrintDirection
    printer: Printer
    master: MasterPlan | None
    features: tuple[RoundFeature, ...]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def plan_printing(
    part: Part, mould: Mould, request: PartRequest, materials: MouldMaterials, *, printers: Sequence[Printer]
) -> PartPrinting:
    """Plan every print of the mould, and what its surface comes to.

    Raises
    ------
    BadJob
        If a fit names no round feature of the part, or no printer of its process is in the workshop.
    """
    surface = _in_trays(part, mould, request, printers) if mould.kind in IN_TRAYS else _loose(part, request, printers)
    pieces = tuple(_piece_print(piece, request, printers, surface) for piece in printed(mould.pieces))
    chain = [
        same_all_round("silicone", materials.silicone_shrinkage_ratio),
        same_all_round("casting", materials.casting_shrinkage_ratio),
    ]
    allowance = work_out_allowance(
        chain,
        printer=surface.printer,
        direction=surface.way.direction,
        layer_mm=surface.way.layer_mm,
        features=surface.features,
        fits=request.fits,
    )
    if request.inserts:
        made = [(one.at_mm, one.along, one.hole_mm, one.tolerance_mm) for one in request.inserts if one.hole_mm]
        allowance = by_inserts(allowance, made)
    of_pieces = tuple(
        replace(each, where=piece.name)
        for piece in pieces
        if piece.role is not Role.MASTER
        for each in piece.plan.findings
        if each.severity in TELLING
    )
    return PartPrinting(
        pieces=pieces,
        surface=surface.way,
        printer=surface.printer,
        master=surface.master,
        features=surface.features,
        steps=surface.steps,
        allowance=allowance,
        findings=(*surface.findings, *of_pieces, *allowance.findings),
    )


def stood_as_printed(mould: Mould, printing: PartPrinting) -> Mould:
    """The mould with a master that is printed by itself turned the way up that was chosen for it."""
    if printing.master is None:
        return mould
    turn = frame_along(printing.master.direction.direction)
    pieces = tuple(replace(piece, print_turn=turn) if piece.role is Role.MASTER else piece for piece in mould.pieces)
    return replace(mould, pieces=pieces)


def _in_trays(part: Part, mould: Mould, request: PartRequest, printers: Sequence[Printer]) -> _Surface:
    """The part as printed within its trays, along the draw."""
    printer = pieces_printer(printers, request.process)
    thing = part_to_print(part)
    up = mould.draw.direction
    layer_mm = fitting_layer_mm(thing, up, printer=printer, wanted_step_mm=WANTED_STEP_MM)
    way = measure_directions(thing, up[None], printer=printer, layer_mm=layer_mm)[0]
    return _Surface(
        way=way,
        printer=printer,
        master=None,
        features=thing.features,
        steps=work_on_print(thing, way, 0.0, printer=printer),
        findings=_tray_findings(way, beside=bool(request.members)),
    )


def _loose(part: Part, request: PartRequest, printers: Sequence[Printer]) -> _Surface:
    """The master printed by itself."""
    plan = choose_master(part, printers_for(printers, request.process))
    return _Surface(
        way=plan.direction,
        printer=plan.chosen.printer,
        master=plan,
        features=plan.features,
        steps=plan.steps,
        findings=plan.findings,
    )


def _piece_print(piece: Piece, request: PartRequest, printers: Sequence[Printer], surface: _Surface) -> PiecePrint:
    """One piece, standing as it must; the master as it was chosen, gate and vents and all."""
    thing = mesh_to_print(piece.mesh)
    if piece.role is Role.MASTER and surface.master is not None:
        way = surface.master.direction
        plan = plan_print(
            thing,
            printer=surface.master.chosen.printer,
            direction=way.direction,
            footing=way.footing,
            layer_mm=way.layer_mm,
        )
        return PiecePrint(name=piece.name, role=piece.role, plan=plan)
    printer = pieces_printer(printers, request.process)
    copied = piece.role in COPIED and surface.master is None
    layer_mm = surface.way.layer_mm if copied else max(printer.layer_heights_mm)
    plan = plan_print(thing, printer=printer, direction=piece.print_turn[2], footing=Footing.PLATE, layer_mm=layer_mm)
    return PiecePrint(name=piece.name, role=piece.role, plan=plan)


def _tray_findings(way: PrintDirection, *, beside: bool) -> tuple[Finding, ...]:
    """Say that the layers of a tray show; what lies `beside` others has no other kind of mould."""
    if way.step_mm <= WANTED_STEP_MM:
        return ()
    return (
        Finding(
            severity=Severity.INFO,
            code="tray-steps",
            what=f"printed in its trays the part has layer steps of {way.step_mm:.2f} mm on show faces",
            remedy="fill, sand and seal the trays"
            + (
                ""
                if beside
                else ', or take kind = "bedding" with a master printed by itself, which can lie the best way up'
            ),
        ),
    )
