"""How the mould parts: the kind of mould, the block, the seam cut once, the parting surface and the halves.

Everything is at the part's own size; the mould scales it by the allowance of its materials (`scaled_parting`).
"""

from dataclasses import astuple, dataclass, replace

import numpy as np
import shapely

from firstpour.errors import BadRequest, MouldFailed
from firstpour.part.part import FaceMark, Part, marked
from firstpour.parting.block import Block, block_around
from firstpour.parting.flat_back import back_down, flat_backs
from firstpour.parting.halves import Halves, seam_halves
from firstpour.parting.key_room import corner_sites
from firstpour.parting.opening import COMES_APART, Shut, what_shuts
from firstpour.parting.outline import looped_halves, outline_halves
from firstpour.parting.seam import Seamed, cut_seam, tied_seams
from firstpour.parting.sheet import sheet_height_mm
from firstpour.parting.showing import Showing, show_halves
from firstpour.parting.values import Draw, MouldKind
from firstpour.values import FloatArray, Mesh, Remembered, frame_along, scaled, turned

SIDE_STEP_MM, MOST_WIDENING_MM = 2.0, 16.0
"""The block is widened in such steps, and by so much at the most, until keys find room."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartingSizes:
    """What the maker may set about the parting: silicone around the part, the flat rim, the keys that need room."""

    wall_mm: float = 8.0
    rim_mm: float = 3.0
    key_radius_mm: float = 4.0
    least_silicone_mm: float = 1.5
    """Thinner silicone tears on demoulding (typical of a soft silicone, common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parting:
    """How the mould of one part opens, in the frame of the draw (rows of `frame`; the draw is +z).

    `mesh` is the part in that frame, `seam_mm` the parting line there as closed polylines (k, 3), or as single
    edges (2, 3). `halves` is None for an open-face and a block mould, and so is `showing`, what they show at the
    part's own size. `smooth` tells the seam through the part's own mesh from the one that only follows its outline.
    """

    kind: MouldKind
    draw: Draw
    frame: FloatArray
    mesh: Mesh
    block: Block
    seam_mm: tuple[FloatArray, ...]
    halves: Halves | None
    smooth: bool
    shut: Shut = COMES_APART
    """What keeps two halves from coming apart. A block has none: it is what is made instead, and is cut open."""
    showing: Showing | None = None

    @property
    def seam_on_part_mm(self) -> tuple[FloatArray, ...]:
        """The parting line in the part's own coordinates."""
        return tuple(loop @ self.frame for loop in self.seam_mm)

    def surface_height_mm(self, xy_mm: FloatArray) -> FloatArray:
        """Height (n,) of the parting surface along the draw at places (n, 2) in the frame of the draw.

        Inside the part, where there is no surface, that of its nearest place.

        Raises
        ------
        BadRequest
            If the mould is an open-face or a block mould, which has none.
        """
        if self.halves is None:
            raise BadRequest(f"a parting surface of a mould of kind {self.kind}", remedy="ask for trays or bedding")
        return sheet_height_mm(self.halves.sheet, xy_mm)


def choose_kind(part: Part, direction: FloatArray) -> MouldKind:
    """Open-face where the part has a flat back that is hidden; else trays, which cure both halves at once."""
    hidden = marked(part, FaceMark.HIDDEN)
    is_open = any(hidden[back].all() for _, back in flat_backs(part.mesh, direction))
    return MouldKind.OPEN_FACE if is_open else MouldKind.TRAYS


def lay_parting(
    part: Part, draw: Draw, *, kind: MouldKind | None = None, sizes: PartingSizes | None = None
) -> Parting:
    """Cut the seam, lay the parting surface and build the halves, at the part's own size.

    Raises
    ------
    BadRequest
        If an open-face mould is asked of a part without a flat back.
    MouldFailed
        If no closed parting surface can be laid.
    """
    sizes = sizes or PartingSizes()
    kind = kind or choose_kind(part, draw.direction)
    if kind is MouldKind.OPEN_FACE:
        draw = back_down(part, draw)
    key = (kind, draw.direction.tobytes(), draw.reach.tobytes(), part.marks.tobytes(), astuple(sizes))
    return replace(_LAID.of(part.mesh, key, lambda: _laid(part, draw, kind=kind, sizes=sizes)), draw=draw)


_LAID: Remembered[Mesh, Parting] = Remembered(2)
"""Laid while the draw is chosen, and taken again for the mould."""


def _laid(part: Part, draw: Draw, *, kind: MouldKind, sizes: PartingSizes) -> Parting:
    """As `lay_parting`, the kind and the draw known."""
    frame = frame_along(draw.direction)
    mesh = turned(part.mesh, rotation=frame)
    around = block_around(mesh.vertices_mm, wall_mm=sizes.wall_mm, side_mm=sizes.wall_mm)
    laid = Parting(kind=kind, draw=draw, frame=frame, mesh=mesh, block=around, seam_mm=(), halves=None, smooth=True)
    if kind is MouldKind.OPEN_FACE:
        low = np.array([*around.low_mm[:2], mesh.vertices_mm[:, 2].min()])
        return replace(laid, block=Block(low_mm=low, high_mm=around.high_mm))
    seamed = cut_seam(mesh, reach=draw.reach, marks=part.marks)
    seam_mm = _seam(seamed)
    if kind is MouldKind.BLOCK:
        return replace(laid, seam_mm=seam_mm)
    block = _block_with_room(seam_mm, mesh.vertices_mm, sizes)
    smooth = seam_halves(seamed, block, rim_band_mm=sizes.rim_mm)
    if smooth is None and draw.locked_loops == 0:
        smooth = _tied_halves(part, draw, mesh, block, rim_band_mm=sizes.rim_mm)
    halves = smooth or outline_halves(mesh, seamed, block, rim_band_mm=sizes.rim_mm)
    return replace(
        laid,
        block=block,
        seam_mm=halves.seam_mm,
        halves=halves,
        smooth=smooth is not None,
        shut=what_shuts(halves),
        showing=show_halves(halves, least_wall_mm=sizes.least_silicone_mm),
    )


def _tied_halves(part: Part, draw: Draw, mesh: Mesh, block: Block, *, rim_band_mm: float) -> Halves | None:
    """The halves through a seam that leaves silicone between facing faces whole: the first that come apart.

    None where none do.
    """
    for seamed in tied_seams(mesh, reach=draw.reach, marks=part.marks):
        for build in (seam_halves, looped_halves):
            halves = build(seamed, block, rim_band_mm=rim_band_mm)
            if halves is not None and not what_shuts(halves):
                return halves
    return None


def lay_parting_that_opens(part: Part, draw: Draw, *, kind: MouldKind, sizes: PartingSizes | None = None) -> Parting:
    """As `lay_parting`; a block to be cut open along the seam where two halves would not come apart.

    Raises
    ------
    BadRequest
        As `lay_parting`.
    """
    try:
        parting = lay_parting(part, draw, kind=kind, sizes=sizes)
    except MouldFailed as error:
        return replace(lay_parting(part, draw, kind=MouldKind.BLOCK, sizes=sizes), shut=Shut(why=error.problem))
    shut = parting.shut or _splinters(parting)
    if not shut:
        return parting
    return replace(lay_parting(part, parting.draw, kind=MouldKind.BLOCK, sizes=sizes), shut=shut)


def _splinters(parting: Parting) -> Shut:
    """What keeps halves along the outline apart from a sound mould: fins that tear off at the first opening."""
    if parting.smooth or parting.showing is None or parting.showing.fin is None:
        return COMES_APART
    return Shut(why="the seam crosses itself seen along the draw, and the halves would end in splinters")


def scaled_parting(parting: Parting, *, factor: float) -> Parting:
    """The parting with every length times `factor`, about the origin."""
    halves = parting.halves
    if halves is not None:
        sheet = replace(
            halves.sheet,
            points_mm=halves.sheet.points_mm * factor,
            rim_mm=halves.sheet.rim_mm * factor,
            region=shapely.transform(halves.sheet.region, lambda xy: xy * factor),
        )
        halves = replace(
            halves,
            upper=halves.upper.scale((factor, factor, factor)),
            lower=halves.lower.scale((factor, factor, factor)),
            seam_mm=tuple(loop * factor for loop in halves.seam_mm),
            sheet=sheet,
            enclosed_mm3=halves.enclosed_mm3 * factor**3,
        )
    return replace(
        parting,
        mesh=scaled(parting.mesh, factor=factor),
        block=Block(low_mm=parting.block.low_mm * factor, high_mm=parting.block.high_mm * factor),
        seam_mm=tuple(loop * factor for loop in parting.seam_mm),
        halves=halves,
    )


def _seam(seamed: Seamed) -> tuple[FloatArray, ...]:
    """The seam as closed polylines, or as single edges where its loops touch."""
    chains = seamed.loops or tuple(seamed.edges)
    return tuple(seamed.mesh.vertices_mm[chain] for chain in chains)


def _block_with_room(seam_mm: tuple[FloatArray, ...], vertices_mm: FloatArray, sizes: PartingSizes) -> Block:
    """The block around the part, widened until keys find room beside the silicone wall."""
    outline = shapely.union_all([shapely.Polygon(loop[:, :2]).buffer(0) for loop in seam_mm if len(loop) > 2])
    if outline.is_empty:
        outline = shapely.MultiPoint(vertices_mm[:, :2]).convex_hull
    side_mm = sizes.wall_mm
    while True:
        block = block_around(vertices_mm, wall_mm=sizes.wall_mm, side_mm=side_mm)
        sites = corner_sites(outline, block, wall_mm=sizes.wall_mm, key_radius_mm=sizes.key_radius_mm)
        if len(sites) >= 3 or side_mm >= sizes.wall_mm + MOST_WIDENING_MM:
            return block
        side_mm += SIDE_STEP_MM
