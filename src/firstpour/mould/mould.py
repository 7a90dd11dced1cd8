"""From a part and a draw direction to the mould: block, halves, keys, channels, pieces, quantities."""

from dataclasses import dataclass, replace

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.fill.values import Channel, ChannelUse
from firstpour.formulas.shrinkage import scale_for_chain
from firstpour.mould.channels import channel_solid, default_channels, led_out
from firstpour.mould.joints import cut_to_fit, fits, size_mm
from firstpour.mould.keys import closes_one_way, corner_sites, place_keys
from firstpour.mould.mould_findings import bodies_finding, cut_finding, two_part_findings, undercut_findings
from firstpour.mould.pieces import (
    Cast,
    Solid,
    bedding_pieces,
    block_pieces,
    joined,
    open_face_pieces,
    silicone_halves,
    tray_pieces,
)
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Mould, MouldKind, Piece, Role
from firstpour.part.part import FaceMark, Part, marked
from firstpour.parting.block import Block, block_around, block_solid
from firstpour.parting.draw import FREE_GIVE_RATIO, draw_along
from firstpour.parting.flat_back import back_down, flat_back
from firstpour.parting.halves import seam_halves
from firstpour.parting.outline import outline_halves
from firstpour.parting.seam import Seamed, cut_seam
from firstpour.parting.values import Draw
from firstpour.surface.solids import count_bodies, from_solid, to_solid
from firstpour.units import MM3_PER_ML
from firstpour.values import (
    BoolArray,
    Finding,
    FloatArray,
    Mesh,
    frame_along,
    scaled,
    turned,
)

SIDE_STEP_MM, MOST_WIDENING_MM = 2.0, 16.0


def allowance(settings: MouldSettings) -> float:
    """Scale of the master so that the copy comes out at size: 1/((1 − s₁)(1 − s₂)), silicone then casting.

    >>> round(allowance(MouldSettings(silicone_shrinkage_ratio=0.001, casting_shrinkage_ratio=0.004)), 8)
    1.00502109
    """
    return scale_for_chain((settings.silicone_shrinkage_ratio, settings.casting_shrinkage_ratio))


def choose_kind(part: Part, direction: FloatArray) -> MouldKind:
    """Open-face where the part has a flat back that is hidden; else trays, which cure both halves at once."""
    for d in (direction, -direction):
        back = flat_back(part.mesh, d)
        if back is not None and marked(part, FaceMark.HIDDEN)[back].all():
            return MouldKind.OPEN_FACE
    return MouldKind.TRAYS


def make_mould(
    part: Part,
    draw: Draw,
    *,
    kind: MouldKind | None = None,
    settings: MouldSettings | None = None,
    channels: tuple[Channel, ...] | None = None,
    printer_mm: tuple[float, float, float] = (200.0, 200.0, 200.0),
) -> Mould:
    """Work out the mould. `channels` are in the part's coordinates before the allowance; by default gate and vents
    stand along the draw at the peaks of the part's top.

    Raises
    ------
    BadRequest
        If an open-face mould is asked of a part without a flat back, or the printer's build volume is not positive.
    MouldFailed
        If no closed parting surface can be laid.
    """
    settings = settings or MouldSettings()
    if min(printer_mm) <= 0.0:
        raise BadRequest(f"a build volume of {printer_mm} mm", remedy="give three lengths above 0")
    draw = draw if draw.reach is not None else draw_along(part, draw.direction)
    kind = kind or choose_kind(part, draw.direction)
    if kind is MouldKind.OPEN_FACE:
        draw = back_down(part, draw)
    frame = frame_along(draw.direction)
    scale = allowance(settings)
    mesh = turned(scaled(part.mesh, factor=scale), rotation=frame)
    given = None if channels is None else tuple(_turned_channel(channel, frame * scale) for channel in channels)
    if kind is MouldKind.OPEN_FACE:
        made = _open_face(mesh, settings)
    elif kind is MouldKind.BLOCK:
        made = _block(part, draw, mesh, settings, given)
    else:
        made = _two_part(kind, part, draw, mesh, settings, given)
    pieces, findings = _pieces(made.solids, frame=frame, printer_mm=np.array(printer_mm))
    silicone_mm3 = sum(piece.volume_mm3 for piece in pieces if piece.role is Role.SILICONE)
    return Mould(
        kind=kind,
        draw=draw,
        pieces=pieces,
        channels=tuple(_turned_channel(channel, frame.T) for channel in made.cast.channels),
        seam_mm=tuple(loop @ frame for loop in made.seam_mm),
        silicone_ml=silicone_mm3 / MM3_PER_ML,
        casting_ml=_casting_mm3(made.cast) / MM3_PER_ML,
        print_ml=(sum(piece.volume_mm3 for piece in pieces) - silicone_mm3) / MM3_PER_ML,
        stretch_ratio=(draw.undercut_depth_mm or 0.0) / settings.wall_mm,
        scale=scale,
        findings=(*undercut_findings(draw, settings), *made.findings, *findings),
    )


def seam_along(part: Part, draw: Draw, settings: MouldSettings) -> tuple[FloatArray, ...]:
    """The parting line of a two-part mould as closed polylines (k, 3) on the part, before the allowance."""
    frame = frame_along(draw.direction)
    mesh = turned(part.mesh, rotation=frame)
    seamed = cut_seam(mesh, reach=_reach(draw), marks=part.marks, shallow=_shallow(draw, settings))
    return tuple(chain @ frame for chain in _seam(seamed))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Made:
    """What one kind of mould came to, in the frame of the draw."""

    solids: list[Solid]
    cast: Cast
    seam_mm: tuple[FloatArray, ...] = ()
    findings: tuple[Finding, ...] = ()


def _open_face(mesh: Mesh, settings: MouldSettings) -> _Made:
    """The part on its flat back in a tray; the silicone is poured over it, and the casting into the silicone."""
    around = block_around(mesh.vertices_mm, wall_mm=settings.wall_mm, side_mm=settings.wall_mm)
    low = np.array([*around.low_mm[:2], mesh.vertices_mm[:, 2].min()])
    cast = Cast(part=mesh, block=Block(low_mm=low, high_mm=around.high_mm), channels=(), settings=settings)
    return _Made(solids=open_face_pieces(cast), cast=cast)


def _block(part: Part, draw: Draw, mesh: Mesh, settings: MouldSettings, given: tuple[Channel, ...] | None) -> _Made:
    """The master in one pour of silicone; the seam is where the block is cut open."""
    block = block_around(mesh.vertices_mm, wall_mm=settings.wall_mm, side_mm=settings.wall_mm)
    cast = Cast(part=mesh, block=block, channels=_channels(mesh, block, settings, given), settings=settings)
    _check_gate_on_top(cast)
    seamed = cut_seam(mesh, reach=_reach(draw), marks=part.marks)
    return _Made(solids=block_pieces(cast), cast=cast, seam_mm=_seam(seamed))


def _check_gate_on_top(cast: Cast) -> None:
    """The master of a block mould stands on its gate, so there must be one that leaves by the top of the block."""
    mouths = [channel.path_mm[-1] for channel in cast.channels if channel.use is ChannelUse.GATE]
    if mouths and mouths[0][2] >= cast.block.high_mm[2]:
        return
    raise BadRequest(
        "the gate of a block mould must leave along the draw" if mouths else "a block mould without a gate",
        remedy="give a gate that leads up along the draw, give no channels at all, or make trays",
    )


def _two_part(
    kind: MouldKind, part: Part, draw: Draw, mesh: Mesh, settings: MouldSettings, given: tuple[Channel, ...] | None
) -> _Made:
    """Two halves that meet in the parting surface, poured in trays or on a bed."""
    seamed = cut_seam(mesh, reach=_reach(draw), marks=part.marks, shallow=_shallow(draw, settings))
    block = _block_with_room(seamed, settings, given or ())
    halves = seam_halves(seamed, block, rim_band_mm=settings.rim_mm)
    crossing = halves is None
    if halves is None:
        halves = outline_halves(mesh, seamed, block, rim_band_mm=settings.rim_mm)
    channels = _channels(mesh, block, settings, given)
    keys = place_keys(halves.sheet, block, settings, channels=channels)
    cast = Cast(part=mesh, block=block, channels=channels, settings=settings)
    poured = cast if kind is MouldKind.TRAYS else replace(cast, settings=_poured_on_each_other(settings))
    upper, lower = silicone_halves(halves.upper, halves.lower, poured, keys=keys, rim_mm=halves.sheet.rim_mm)
    solids = (bedding_pieces if kind is MouldKind.BEDDING else tray_pieces)(upper, lower, cast)
    findings = two_part_findings(halves, crossing=crossing, keyed=closes_one_way(keys, block))
    return _Made(solids=solids, cast=cast, seam_mm=halves.seam_mm, findings=findings)


def _poured_on_each_other(settings: MouldSettings) -> MouldSettings:
    """In a bedding mould the second half takes the shape of the first: no clearance of keys, no pry notches."""
    return replace(settings, key_clearance_mm=0.0, notch_mm=0.0)


def _reach(draw: Draw) -> NDArray[np.uint8]:
    if draw.reach is None:
        raise BadRequest("the draw direction was only ranked", remedy="work it out with draw_along first")
    return draw.reach


def _shallow(draw: Draw, settings: MouldSettings) -> BoolArray:
    """Faces (m,) that bound no undercut deeper than the silicone gives without notice."""
    shallow = np.ones(len(_reach(draw)), bool)
    for region in draw.regions or ():
        if region.depth_mm is None or region.depth_mm > FREE_GIVE_RATIO * settings.wall_mm:
            shallow[region.faces] = False
    return shallow


def _seam(seamed: Seamed) -> tuple[FloatArray, ...]:
    """The seam as closed polylines, or as single edges where its loops touch."""
    chains = seamed.loops or tuple(seamed.edges)
    return tuple(seamed.mesh.vertices_mm[chain] for chain in chains)


def _block_with_room(seamed: Seamed, settings: MouldSettings, given: tuple[Channel, ...]) -> Block:
    """The block around the part, widened until keys find room beside the silicone wall and the channels given."""
    vertices = seamed.mesh.vertices_mm
    outline = shapely.union_all([shapely.Polygon(loop[:, :2]).buffer(0) for loop in _seam(seamed) if len(loop) > 2])
    if outline.is_empty:
        outline = shapely.MultiPoint(vertices[:, :2]).convex_hull
    side_mm = settings.wall_mm
    while True:
        block = block_around(vertices, wall_mm=settings.wall_mm, side_mm=side_mm)
        channels = tuple(led_out(channel, block) for channel in given)
        room = len(corner_sites(outline, block, settings, channels=channels)) >= 3
        if room or side_mm >= settings.wall_mm + MOST_WIDENING_MM:
            return block
        side_mm += SIDE_STEP_MM


def _channels(
    mesh: Mesh, block: Block, settings: MouldSettings, given: tuple[Channel, ...] | None
) -> tuple[Channel, ...]:
    """The channels given, led out of the block, or those at the peaks of the part's top."""
    if given is None:
        return default_channels(mesh, block, settings)
    return tuple(led_out(channel, block) for channel in given)


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


def _turned_channel(channel: Channel, turn: FloatArray) -> Channel:
    """The channel turned (and scaled) by a matrix (3, 3); its radii are made, not scaled."""
    return replace(channel, path_mm=channel.path_mm @ turn.T)


def _casting_mm3(cast: Cast) -> float:
    """Casting material of one shot: the part, and what gate and vents hold within the block."""
    part = to_solid(cast.part)
    channels = joined([channel_solid(channel) for channel in cast.channels])
    return float(part.volume() + ((channels ^ block_solid(cast.block)) - part).volume())
