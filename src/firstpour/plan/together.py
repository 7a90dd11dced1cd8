"""Different parts in one mould: each drawn, parted and filled alone, then nested and made as one of several bodies.

Each lies with its draw upright and is poured along it, whichever way up gives the least trouble. So every gate leaves
through the half above its own cavity, none runs through a neighbour, and each part may be turned about the draw.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

import numpy as np

from firstpour.cavities.footprint import footprint_of
from firstpour.cavities.joint import Cavity, joint_channels, joint_draw, joint_part
from firstpour.cavities.lay import fits_bed, tray_mm
from firstpour.cavities.nest import nest
from firstpour.cavities.values import Footprint, Place
from firstpour.errors import BadRequest, WorkshopError
from firstpour.fill.breathing import Mix
from firstpour.fill.cavity import cut_cavity
from firstpour.fill.channels import ChannelPlan
from firstpour.fill.pockets import fill_cavity
from firstpour.fill.values import Channel, ChannelUse
from firstpour.job.job import Member, PartRequest
from firstpour.mould.box import box_wall_mm
from firstpour.mould.mould import make_mould
from firstpour.mould.pours import pour_findings, pours_of
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.part.measure import measure_part
from firstpour.part.part import Part
from firstpour.parting.block import Block
from firstpour.parting.draw import draw_along
from firstpour.parting.parting import Parting, lay_parting, lay_parting_that_opens
from firstpour.parting.stretch import Give
from firstpour.parting.values import MouldKind
from firstpour.plan.filling import RESOLUTION, PartFill, plan_fill, trouble
from firstpour.plan.laid import LaidMember
from firstpour.plan.look import Looked, look_at
from firstpour.plan.printing import plan_printing, stood_as_printed
from firstpour.plan.values import of_part
from firstpour.plan.work_out import WorkedOut
from firstpour.printing.allowance import Fit
from firstpour.printing.printers import Printer
from firstpour.values import Finding, FloatArray, Severity
from firstpour.workshop.equipment import pieces_printer

UP = np.array([0.0, 0.0, 1.0])
"""The draw of the mould, and its pour."""
ALONG_COS = 0.999
"""An `up` of the maker's counts as along the draw from this cosine on: within 2.6°."""
MOST_LINES = 768
"""Lines of the grid on which all cavities are filled, at the most."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Alone:
    """One of the parts before it is nested."""

    member: Member
    part: Part
    parting: Parting
    fill: PartFill
    foot: Footprint


_Laid = tuple[_Alone, tuple[Cavity, ...]]
"""A part and its cavities where they lie."""


def look_together(request: PartRequest, settings: MouldSettings) -> Looked:
    """Every part looked at, and all copies of a shot in a row as one part, for first volumes and materials.

    Raises
    ------
    WorkshopError
        If one of them cannot be used; the problem names it.
    """
    looks = tuple(_look(member, settings) for member in request.members)
    copies: list[Cavity] = []
    at_mm = 0.0
    for member, look in zip(request.members, looks, strict=True):
        alone = _unparted(look)
        low, high = alone.mesh.vertices_mm.min(axis=0), alone.mesh.vertices_mm.max(axis=0)
        for _ in range(member.count):
            place = Place(shift_mm=np.array([at_mm - low[0], -low[1]]))
            copies.append(
                Cavity(
                    part=look.part,
                    alone=alone,
                    channels=(),
                    centre_mm=np.zeros(2),
                    place=place,
                    lift_mm=-float(low[2]),
                )
            )
            at_mm += float(high[0] - low[0]) + settings.wall_mm
    return replace(_looked_at(request, copies, settings), members=looks)


def _unparted(look: Looked) -> Parting:
    """The part with its draw upright, before anything is laid."""
    return lay_parting(look.part, look.draw, kind=MouldKind.BLOCK)


def _looked_at(request: PartRequest, copies: Sequence[Cavity], settings: MouldSettings) -> Looked:
    """All copies as one part, with what is known of it."""
    findings = [of_part(each, one.part.name) for one in copies for each in one.part.findings]
    like = replace(copies[0].part, name=request.name, findings=tuple(dict.fromkeys(findings)), source=None)
    whole = joint_part(copies, like=like, frame=np.eye(3))
    draw = joint_draw(draw_along(whole, UP, give=Give(wall_mm=settings.wall_mm)), copies)
    return Looked(part=whole, measures=measure_part(whole), draws=(draw,), draw=draw, kind=MouldKind.TRAYS)


def work_out_together(
    looked: Looked,
    request: PartRequest,
    settings: MouldSettings,
    materials: MouldMaterials,
    printers: tuple[Printer, ...],
    mix: Mix | None = None,
) -> WorkedOut:
    """Part and fill each alone, nest them, make the one mould, and see how it is printed.

    Raises
    ------
    WorkshopError
        If one of them does not open in two halves along its draw, or all fit no printer.
    """
    pairs = zip(request.members, looked.members, strict=True)
    alone = [_alone(member, look, settings, mix) for member, look in pairs]
    printer = pieces_printer(printers, request.process)
    nested = _nested(alone, settings, materials, printer)
    cavities = [cavity for each in nested for cavity in each]
    where = list(zip(alone, nested, strict=True))
    laid = _looked_at(request, cavities, settings)
    parting = lay_parting(laid.part, laid.draw, kind=MouldKind.TRAYS, sizes=settings.parting)
    _check_bed(parting, request, settings, materials, printer)
    channels = joint_channels(cavities, joint=parting)
    fill = _fill(laid.part, where, channels)
    mould = make_mould(
        parting,
        settings=settings,
        materials=materials,
        channels=channels,
        printer_mm=printer.size_mm,
        name=request.name,
        beside=len(cavities),
    )
    pours = pours_of(mould, laid.part, fill.plan)
    told = (_told(request), *pour_findings(pours))
    mould = replace(mould, findings=(*mould.findings, *told))
    fitted = replace(request, fits=tuple(fit for one, each in where for fit in _fits(one, each)))
    printing = plan_printing(laid.part, mould, fitted, materials, printers=printers)
    return WorkedOut(
        fill=fill,
        mould=stood_as_printed(mould, printing),
        pours=pours,
        printing=printing,
        inserts=(),
        cavity_options=(),
        smooth=parting.smooth,
        laid=laid,
        members=tuple(
            LaidMember(member=one.member, part=one.part, fill=one.fill, in_mould=tuple(each.way for each in own))
            for one, own in where
        ),
    )


@contextmanager
def _named(member: Member) -> Iterator[None]:
    """What goes wrong within is told with the name of the part."""
    try:
        yield
    except WorkshopError as error:
        error.problem = f"{member.request.name}: {error.problem}"
        raise


def _look(member: Member, settings: MouldSettings) -> Looked:
    with _named(member):
        return look_at(member.request, settings)


def _alone(member: Member, look: Looked, settings: MouldSettings, mix: Mix | None) -> _Alone:
    """The part parted along its draw and filled, the way up that gives the least trouble."""
    with _named(member):
        tried = [_upright(member, look, up, settings, mix) for up in _ups(member, look.draw.direction)]
        return min(tried, key=lambda one: trouble(one.fill.plan))


def _ups(member: Member, direction: FloatArray) -> tuple[FloatArray, ...]:
    """The ways up that are tried: both along the draw, or the one that its maker fixed."""
    if member.request.up is None:
        return direction, -direction
    up = np.array(member.request.up) / np.linalg.norm(member.request.up)
    if abs(float(up @ direction)) < ALONG_COS:
        raise BadRequest(
            f"it is to be poured with {member.request.up} up, across its draw: parts together are poured along it",
            remedy="give up along its draw, or leave it out, or give it a mould of its own",
        )
    return (direction if float(up @ direction) > 0.0 else -direction,)


def _upright(member: Member, look: Looked, up: FloatArray, settings: MouldSettings, mix: Mix | None) -> _Alone:
    """The part with its mould standing so that `up`, along the draw, is on top."""
    part, draw = look.part, look.draw
    if float(up @ draw.direction) < 0.0:
        draw = draw_along(part, up, give=Give(wall_mm=settings.wall_mm))
    parting = lay_parting_that_opens(part, draw, kind=MouldKind.TRAYS, sizes=settings.parting)
    if parting.kind is not MouldKind.TRAYS:
        raise BadRequest(
            f"it shares no draw with the others, for two halves do not come apart along its own: {parting.shut.why}",
            remedy="give it a draw along which two halves open, or a mould of its own",
        )
    request = replace(member.request, up=(float(up[0]), float(up[1]), float(up[2])))
    fill = plan_fill(part, parting, request, settings, mix=mix, beside=True)
    assert fill is not None, "trays have a fill"
    foot = footprint_of(parting, fill.channels, up=parting.draw.direction)
    return _Alone(member=member, part=part, parting=parting, fill=fill, foot=foot)


def _nested(
    alone: Sequence[_Alone], settings: MouldSettings, materials: MouldMaterials, printer: Printer
) -> list[tuple[Cavity, ...]]:
    """The cavities of every part where they lie; all rims of the parting surface at one height."""
    feet, counts = [one.foot for one in alone], [one.member.count for one in alone]
    room_mm = _room_mm(alone, settings, materials, printer)
    found = nest(feet, counts, wall_mm=settings.wall_mm, room_mm=room_mm)
    laid = []
    for k, one in enumerate(alone):
        rim_mm = 0.0 if one.parting.halves is None else one.parting.halves.sheet.rim_mm
        laid.append(
            tuple(
                Cavity(
                    part=one.part,
                    alone=one.parting,
                    channels=one.fill.channels,
                    centre_mm=one.foot.centre_mm,
                    place=copy.place,
                    lift_mm=-rim_mm,
                )
                for copy in found.copies
                if copy.part == k
            )
        )
    return laid


def _room_mm(
    alone: Sequence[_Alone], settings: MouldSettings, materials: MouldMaterials, printer: Printer
) -> FloatArray:
    """What the bed leaves (2,) for the silhouettes, walls taken as thick as a box as large as the bed wants them."""
    bed = np.array(printer.size_mm[:2])
    blocks = [one.parting.block for one in alone]
    tall_mm = max(float((block.high_mm - block.low_mm)[2]) for block in blocks) * materials.scale
    whole = Block(low_mm=np.zeros(3), high_mm=np.array([*bed, tall_mm]))
    wall_mm = box_wall_mm(whole, settings, silicone_g_ml=materials.silicone_g_ml)
    room: FloatArray = np.maximum(0.0, (bed - 2.0 * wall_mm) / materials.scale - 2.0 * settings.wall_mm)
    return room


def _check_bed(
    parting: Parting, request: PartRequest, settings: MouldSettings, materials: MouldMaterials, printer: Printer
) -> None:
    tray = tray_mm(parting.block, settings, materials)
    if fits_bed(tray, printer.size_mm):
        return
    raise BadRequest(
        f"{_set_words(request)} together fit no printer here: the tray is {tray[0]:.0f} × {tray[1]:.0f} mm, and the "
        f"printer takes {printer.size_mm[0]:g} × {printer.size_mm[1]:g} mm",
        remedy="give fewer cavities, or one of the parts a mould of its own; less silicone between them "
        "(mould.wall_mm); or enter a larger printer",
    )


def _fill(whole: Part, laid: Sequence[_Laid], channels: Sequence[Channel]) -> PartFill:
    """All cavities filled at once, each by its own gate, and what was found at each alone."""
    gates = tuple(one for one in channels if one.use is ChannelUse.GATE)
    vents = tuple(one for one in channels if one.use is ChannelUse.VENT)
    shut = [
        cavity.in_mould(one.fill.plan.vented.gate_mm[None])[0]
        for one, own in laid
        if one.fill.plan.gate is None
        for cavity in own
    ]
    cavity = cut_cavity(whole, UP, resolution=_lines(whole, [one.part for one, _ in laid]))
    at = tuple(one.at_mm for one in gates) + tuple(shut)
    findings = tuple(of_part(each, one.member.request.name) for one, _ in laid for each in one.fill.findings)
    plan = ChannelPlan(
        gates=gates,
        vents=vents,
        gate_alone=fill_cavity(cavity, gate_mm=at[0], more_gates_mm=at[1:]),
        vented=fill_cavity(cavity, gate_mm=at[0], more_gates_mm=at[1:], vents_mm=tuple(one.at_mm for one in vents)),
        findings=findings,
    )
    return PartFill(pours=(), up=UP, plan=plan, findings=findings)


def _lines(whole: Part, parts: Sequence[Part]) -> int:
    """Lines of the grid as close as those on which the largest part was filled alone."""
    across = [float(np.ptp(one.mesh.vertices_mm, axis=0).max()) for one in parts]
    return min(MOST_LINES, round(RESOLUTION * float(np.ptp(whole.mesh.vertices_mm, axis=0).max()) / max(across)))


def _fits(one: _Alone, cavities: tuple[Cavity, ...]) -> tuple[Fit, ...]:
    """The fits of a part, each at its place in every cavity."""
    return tuple(
        fit if fit.near_mm is None else replace(fit, near_mm=_place(cavity, fit.near_mm))
        for fit in one.member.request.fits
        for cavity in (cavities if fit.near_mm is not None else cavities[:1])
    )


def _place(cavity: Cavity, at_mm: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in cavity.in_mould(np.array(at_mm)[None])[0])
    return (x, y, z)


def _set_words(request: PartRequest) -> str:
    return _listed([f"{one.count} × {one.request.name}" for one in request.members])


def _listed(words: Sequence[str]) -> str:
    """Words as one says them.

    >>> _listed(["a", "b", "c"])
    'a, b and c'
    """
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _told(request: PartRequest) -> Finding:
    """Say what a copy is here."""
    asked = _listed([f"{one.request.copies} × {one.request.name}" for one in request.members])
    return Finding(
        severity=Severity.INFO,
        code="together",
        what=f"one shot gives {_set_words(request)}, filled one after the other from one mix; a copy is such a set: "
        f"{request.copies} of them give the {asked} that are wanted",
        remedy="give a part cavities = 2 where two of it are wanted for each of the others",
    )
