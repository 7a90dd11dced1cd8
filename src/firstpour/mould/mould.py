"""From a parting to the mould: keys, channels, pieces, quantities, at the size that its materials ask for."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import manifold3d
import numpy as np

from firstpour.errors import BadRequest
from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.basin import Basin, basin_of, gates_of
from firstpour.mould.carried import Carried, carried_findings, carried_on_rod
from firstpour.mould.channels import channel_solid, default_channels, led_out, moved_channel
from firstpour.mould.feet import seated
from firstpour.mould.held import RIGID_MM3, SOFT_RATIO, held_mm3, held_soft_mm3, locked_finding, stuck_finding
from firstpour.mould.jackets import with_jackets
from firstpour.mould.joints import cut_to_fit, fits, size_mm
from firstpour.mould.keys import closes_one_way, place_keys
from firstpour.mould.marks import RIDGE_MM
from firstpour.mould.mould_findings import (
    bodies_finding,
    cut_finding,
    no_basin_finding,
    shut_findings,
    spare_findings,
    thin_findings,
    two_part_findings,
)
from firstpour.mould.pieces import (
    Cast,
    Solid,
    bedding_pieces,
    block_pieces,
    joined,
    open_face_pieces,
    silicone_halves,
    sturdy,
    tray_pieces,
)
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.mould.standing import boards_for, poses_of
from firstpour.mould.values import Mould, Piece, Role
from firstpour.parting.block import block_solid
from firstpour.parting.draw_findings import LOCKED, draw_findings
from firstpour.parting.parting import Parting, scaled_parting
from firstpour.parting.stretch import Give
from firstpour.parting.values import MouldKind
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.units import MM3_PER_ML
from firstpour.values import Finding, FloatArray

KEY_EVERY_MM = 50.0
"""Between cavities a key stands wherever there is room so far from all others (our own choice, decision 0054)."""
UP = np.array([0.0, 0.0, 1.0])
POURED_FROM: dict[MouldKind, dict[str, int]] = {
    MouldKind.TRAYS: {"silicone-upper": 1, "silicone-lower": -1},
    MouldKind.OPEN_FACE: {"silicone": 1},
    MouldKind.BLOCK: {"silicone": -1},
    MouldKind.BEDDING: {},
}
"""Which silicones may have a jacket, and along which way of the draw they are poured. None on a bed: the second half
is poured in a box turned over, which has no lip to hang a jacket in; none where a basin is left in the silicone."""


def make_mould(
    parting: Parting,
    *,
    settings: MouldSettings | None = None,
    materials: MouldMaterials | None = None,
    channels: tuple[Channel, ...] | None = None,
    printer_mm: tuple[float, float, float] = (200.0, 200.0, 200.0),
    name: str = "",
    cavities: int = 1,
    beside: int = 1,
    taken_mm3: float = 0.0,
    basin: bool = False,
) -> Mould:
    """Work out the mould. `channels` are in the part's coordinates before the allowance; by default
    those that the fill proposes for pouring with the draw upright. `settings` hold the sizes that the parting was
    laid with, `name` is engraved on what is printed. `cavities`: how many equal ones the parting holds;
    `beside`: how many different parts lie side by side in each, which one shot fills;
    `taken_mm3`: what inserts take of each, at the part's own size; `basin`: whether all gates are filled from one.

    Raises
    ------
    BadRequest
        If the printer's build volume is not positive, or the gate of a block mould leaves by a side.
    """
    settings, materials = settings or MouldSettings(), materials or MouldMaterials()
    if min(printer_mm) <= 0.0:
        raise BadRequest(f"a build volume of {printer_mm} mm", remedy="give three lengths above 0")
    scale, frame = materials.scale, parting.frame
    grown = scaled_parting(parting, factor=scale)
    if parting.kind is MouldKind.OPEN_FACE:
        given: tuple[Channel, ...] = ()
    else:
        wanted = default_channels(parting, settings) if channels is None else channels
        given = tuple(led_out(moved_channel(channel, frame * scale), grown.block) for channel in wanted)
    if parting.kind is MouldKind.BLOCK:
        given = tuple(map(sturdy, given))
    given = tuple(seated(channel, to_solid(grown.mesh)) for channel in given)
    cast = Cast(
        part=grown.mesh,
        block=grown.block,
        channels=given,
        settings=settings,
        silicone_g_ml=materials.silicone_g_ml,
        name=name,
        cavities=cavities * beside,
    )
    wanted_basin = basin and parting.kind is MouldKind.TRAYS and len(gates_of(given)) > 1
    found = basin_of(given, grown.block, settings) if wanted_basin else None
    trough = found if isinstance(found, Basin) else None
    cast = replace(cast, basin=trough)
    made = _MAKERS[parting.kind](grown, cast)
    under_jackets = {} if trough is not None else POURED_FROM[parting.kind]
    solids, spares, holes = with_jackets(made.solids, cast, ways=under_jackets)
    pieces, findings = _pieces(solids, frame=frame, printer_mm=np.array(printer_mm))
    silicone_mm3 = sum(piece.volume_mm3 for piece in pieces if piece.role is Role.SILICONE)
    return Mould(
        kind=parting.kind,
        draw=parting.draw,
        pieces=pieces,
        channels=tuple(moved_channel(channel, frame.T) for channel in given),
        seam_mm=grown.seam_on_part_mm,
        silicone_ml=silicone_mm3 / MM3_PER_ML,
        casting_ml=(_casting_mm3(cast) / cavities - taken_mm3 * scale**3) / MM3_PER_ML,
        print_ml=(sum(piece.volume_mm3 for piece in pieces) - silicone_mm3) / MM3_PER_ML,
        stretch_ratio=parting.draw.stretch_ratio,
        scale=scale,
        findings=(
            *_opening_findings(parting, settings),
            *shut_findings(parting),
            *thin_findings(parting),
            *made.findings,
            *findings,
            *((no_basin_finding(found),) if isinstance(found, str) else ()),
            *spare_findings(spares, silicone_ml=silicone_mm3 / MM3_PER_ML, made=bool(holes)),
        ),
        boards=boards_for(parting.kind, grown.block.high_mm - grown.block.low_mm),
        poses=poses_of(
            parting.kind,
            pieces,
            parting.draw.direction,
            holes_mm={name: feet @ frame for name, feet in holes.items()},
        ),
        cut_mm=made.cut_mm,
        carried=made.carried,
        cavities=cavities,
        basin=trough,
        spares=spares,
    )


def _opening_findings(parting: Parting, settings: MouldSettings) -> tuple[Finding, ...]:
    """What the draw asks of the silicone; rings that the halves themselves show are told by `shut_findings`."""
    told = draw_findings(parting.draw, Give(wall_mm=settings.wall_mm))
    return tuple(finding for finding in told if not (parting.shut and finding.code == LOCKED))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Made:
    """What one kind of mould came to, in the frame of the draw."""

    solids: list[Solid]
    findings: tuple[Finding, ...] = ()
    cut_mm: float | None = None
    carried: Carried | None = None


def _open_face(parting: Parting, cast: Cast) -> _Made:
    """The part on its flat back in a tray; the silicone is poured over it, and the casting into the silicone."""
    return _Made(solids=open_face_pieces(cast))


def _block(parting: Parting, cast: Cast) -> _Made:
    """The master in one pour of silicone; the seam is where the block is cut open."""
    _check_gate_on_top(cast)
    cut_mm = _cut_height_mm(parting)
    over_mm = None if cut_mm is None else float(cast.block.high_mm[2]) - cut_mm
    solids = block_pieces(cast, cut_mm=cut_mm)
    rod = next(channel for channel in cast.channels if channel.use is ChannelUse.GATE)
    carried = carried_on_rod(cast.part, rod, up=-UP, silicone_g_ml=cast.silicone_g_ml)
    return _Made(solids=solids, findings=carried_findings(carried), cut_mm=over_mm, carried=carried)


def _cut_height_mm(parting: Parting) -> float | None:
    """Where a block is cut open from outside: the middle height of the seam, if it leaves room above and below."""
    if not parting.seam_mm:
        return None
    height = float(np.median(np.concatenate(parting.seam_mm)[:, 2]))
    room = min(height - float(parting.block.low_mm[2]), float(parting.block.high_mm[2]) - height)
    return height if room > 2.0 * RIDGE_MM else None


def _check_gate_on_top(cast: Cast) -> None:
    """The master of a block mould stands on its gate, so there must be one that leaves by the top of the block."""
    mouths = [channel.path_mm[-1] for channel in cast.channels if channel.use is ChannelUse.GATE]
    if mouths and mouths[0][2] >= cast.block.high_mm[2]:
        return
    raise BadRequest(
        "the gate of a block mould must leave along the draw" if mouths else "a block mould without a gate",
        remedy="give a gate that leads up along the draw, give no channels at all, or make trays",
    )


def _two_part(parting: Parting, cast: Cast) -> _Made:
    """Two halves that meet in the parting surface, poured in trays or on a bed."""
    halves, bedding = parting.halves, parting.kind is MouldKind.BEDDING
    if halves is None:
        raise BadRequest("a parting without halves", remedy="lay it for trays or bedding")
    every_mm = np.inf if cast.cavities == 1 else KEY_EVERY_MM
    keys = place_keys(halves.sheet, cast.block, cast.settings, channels=cast.channels, every_mm=every_mm)
    poured = replace(cast, settings=_poured_on_each_other(cast.settings)) if bedding else cast
    upper, lower = silicone_halves(halves.upper, halves.lower, poured, keys=keys, rim_mm=halves.sheet.rim_mm)
    solids = (bedding_pieces if bedding else tray_pieces)(upper, lower, cast)
    held = _held_findings({item.name: item.solid for item in solids}, cast)
    findings = two_part_findings(halves, crossing=not parting.smooth, keyed=closes_one_way(keys, cast.block))
    return _Made(solids=solids, findings=(*findings, *held))


def _held_findings(solids: dict[str, manifold3d.Manifold], cast: Cast) -> tuple[Finding, ...]:
    """Say which pieces cannot be moved out of which: the master of its bedding, cured silicone of its tray."""
    if "bedding" in solids:
        held = held_mm3(solids["master"], solids["bedding"], way=UP)
        return (stuck_finding("master", "bedding", held),) if held > RIGID_MM3 else ()
    findings = []
    for side, way in (("upper", 1), ("lower", -1)):
        silicone = solids[f"silicone-{side}"]
        held = held_soft_mm3(from_solid(silicone), from_solid(solids[f"tray-{side}"]), aside=cast.part, way=way)
        if held > RIGID_MM3 + SOFT_RATIO * silicone.surface_area():
            findings.append(locked_finding(f"silicone-{side}", f"tray-{side}", held))
    return tuple(findings)


_MAKERS: dict[MouldKind, Callable[[Parting, Cast], _Made]] = {
    MouldKind.OPEN_FACE: _open_face,
    MouldKind.BLOCK: _block,
    MouldKind.TRAYS: _two_part,
    MouldKind.BEDDING: _two_part,
}


def _poured_on_each_other(settings: MouldSettings) -> MouldSettings:
    """In a bedding mould the second half takes the shape of the first: no clearance of keys, no pry notches."""
    return replace(settings, key_clearance_mm=0.0, notch_mm=0.0)


def _pieces(
    solids: list[Solid], *, frame: FloatArray, printer_mm: FloatArray
) -> tuple[tuple[Piece, ...], tuple[Finding, ...]]:
    """Pieces in the part's coordinates, those to print cut to fit the printer."""
    pieces: list[Piece] = []
    findings: list[Finding] = []
    for item in solids:
        parts = [item.solid]
        if item.role is not Role.SILICONE:
            standing = item.solid.transform(_affine(item.turn))
            if not fits(size_mm(standing), printer_mm):
                cut = cut_to_fit(standing, printer_mm)
                findings.append(cut_finding(item.name, cut, printer_mm))
                parts = [part.transform(_affine(item.turn.T)) for part in cut.parts]
        for n, part in enumerate(parts, start=1):
            name = item.name if len(parts) == 1 else f"{item.name}-{n}"
            pieces.append(_piece(name, item, part, frame))
    findings += [bodies_finding(piece) for piece in pieces if piece.bodies != 1]
    return tuple(pieces), tuple(findings)


def _piece(name: str, item: Solid, solid: manifold3d.Manifold, frame: FloatArray) -> Piece:
    mesh = from_solid(solid.transform(_affine(frame.T)))
    return Piece(
        name=name,
        role=item.role,
        mesh=mesh,
        volume_mm3=float(solid.volume()),
        bodies=count_bodies(solid),
        print_turn=item.turn @ frame,
    )


def _affine(turn: FloatArray) -> FloatArray:
    """A rotation (3, 3) as the (3, 4) that manifold3d takes."""
    return np.column_stack([turn, np.zeros(3)])


def _casting_mm3(cast: Cast) -> float:
    """Casting material of one shot: the part, and what gates, vents and basin hold within the block."""
    part = to_solid(cast.part)
    trough = [] if cast.basin is None else [cast.basin.solid()]
    channels = joined([*(channel_solid(channel) for channel in cast.channels), *trough])
    return float(part.volume() + ((channels ^ block_solid(cast.block)) - part).volume())
