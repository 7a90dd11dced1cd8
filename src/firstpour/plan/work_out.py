"""One part through parting, fill, mould and printing, with its materials known."""

from dataclasses import dataclass, replace

from firstpour.cavities.lay import Option, cavity_options, lay_cavities
from firstpour.fill.breathing import Mix
from firstpour.inserts.placing import HeldInsert
from firstpour.job.job import PartRequest
from firstpour.mould.mould import make_mould
from firstpour.mould.pours import MouldPour, pour_findings, pours_of
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.values import Mould
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import lay_parting, lay_parting_that_opens
from firstpour.parting.stretch import Give
from firstpour.plan.cavity_room import Room
from firstpour.plan.filling import PartFill, plan_fill, wedge_piece
from firstpour.plan.laid import LaidMember
from firstpour.plan.look import Looked
from firstpour.plan.needs import IN_TRAYS
from firstpour.plan.printing import PartPrinting, plan_printing, stood_as_printed
from firstpour.plan.turned_block import turned_for_its_pour
from firstpour.plan.with_inserts import check_held, held_in, own_draw, seam_on_shot, told_of, with_inserts
from firstpour.printing.printers import Printer
from firstpour.workshop.equipment import pieces_printer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkedOut:
    """The fill, the mould, every pour of it, and how its pieces are printed."""

    fill: PartFill | None
    mould: Mould
    pours: tuple[MouldPour, ...]
    printing: PartPrinting
    inserts: tuple[HeldInsert, ...]
    cavity_options: tuple[Option, ...]
    """What each number of cavities would take; empty where the mould takes one only."""
    smooth: bool
    """Whether the seam runs through the part's own mesh, not along its outline."""
    laid: Looked | None = None
    """Of different parts in one mould: all of them as they lie there, as one part."""
    members: tuple[LaidMember, ...] = ()


def work_out(
    looked: Looked,
    request: PartRequest,
    settings: MouldSettings,
    materials: MouldMaterials,
    printers: tuple[Printer, ...],
    mix: Mix | None = None,
    room: Room | None = None,
) -> WorkedOut:
    """Lay the parting, fill it, make the mould at the size its materials ask for, and see how it is printed.

    `mix` is the casting material, where it is known; `room` is how many cavities it and the silicone allow, and
    whether they are filled from one basin.

    Raises
    ------
    WorkshopError
        If no valid mould comes out.
    """
    room = room or Room()
    held = held_in(looked, request, settings, materials)
    part = looked.part if held is None else held.shot
    body = looked.part if held is None else held.cored
    draw = (
        looked.draw if held is None else draw_along(body, looked.draw.direction, give=Give(wall_mm=settings.wall_mm))
    )
    lay = lay_parting_that_opens if request.kind is None else lay_parting
    parting = lay(body, draw, kind=looked.kind, sizes=settings.parting)
    if held is not None:
        check_held(held, parting, looked)
    if request.draw is None:
        parting = turned_for_its_pour(parting, body, sizes=settings.parting)
    filled = parting if held is None else seam_on_shot(parting, held)
    fill = plan_fill(part, filled, request, settings, mix=mix)
    channels = () if fill is None else fill.channels
    pieces_on = pieces_printer(printers, request.process if parting.kind in IN_TRAYS else None)
    several = lay_cavities(
        body,
        parting,
        channels,
        up=None if fill is None else fill.up,
        wanted=request.cavities,
        settings=settings,
        materials=materials,
        printer_mm=pieces_on.size_mm,
        room=room.cavities,
    )
    options = (
        several.options
        if several is not None
        else cavity_options(
            parting,
            channels,
            up=None if fill is None else fill.up,
            settings=settings,
            materials=materials,
            printer_mm=pieces_on.size_mm,
        )
    )
    laid = parting if several is None else replace(several.parting, draw=parting.draw)
    mould = make_mould(
        laid if held is None else replace(laid, draw=own_draw(held, looked, parting, settings)),
        settings=settings,
        materials=materials,
        channels=channels if several is None else several.channels,
        printer_mm=pieces_on.size_mm,
        name=request.name,
        cavities=1 if several is None else several.cavities,
        taken_mm3=0.0 if held is None else held.taken_mm3,
        basin=room.basin,
    )
    whole = body if several is None else several.part
    pours = pours_of(mould, part, None if fill is None else fill.plan, whole=whole)
    told = () if held is None else told_of(held, looked, fill)
    mould = with_inserts(mould, held, parting, settings)
    mould = replace(mould, findings=(*mould.findings, *told, *pour_findings(pours)))
    foot = wedge_piece(fill, mould)
    if foot is not None:
        mould = replace(mould, pieces=(*mould.pieces, foot))
    printing = plan_printing(looked.part, mould, request, materials, printers=printers)
    return WorkedOut(
        fill=fill,
        mould=stood_as_printed(mould, printing),
        pours=pours,
        printing=printing,
        inserts=() if held is None else held.inserts,
        cavity_options=options,
        smooth=parting.smooth,
    )
