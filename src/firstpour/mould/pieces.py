"""The pieces of each kind of mould: the silicone for the record, and what is printed for it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import manifold3d
import numpy as np
import shapely

from firstpour.fill.routes import BESIDE_MM
from firstpour.fill.values import Channel, ChannelUse, MadeAs
from firstpour.mould.basin import Basin, gates_of
from firstpour.mould.box import box_ring, box_wall_mm, outline_of, prism, square_wider, tray_outer, wider
from firstpour.mould.channels import channel_solid
from firstpour.mould.held import over_voids
from firstpour.mould.keys import Key, key_solid
from firstpour.mould.marks import FLOOR_DEEP_MM, cut_ridge, floor_words, rim_marks
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Role
from firstpour.parting.block import Block, block_solid, box_solid
from firstpour.surface.solids import count_bodies, to_solid, without_crumbs
from firstpour.values import FloatArray, Mesh, face_normals

UPRIGHT = np.eye(3)
TURNED_OVER = np.diag([1.0, -1.0, -1.0])
POST_MM = 6.0
"""How deep the master's gate stands in the base of a block mould."""
POST_SUNK_MM = 0.01
"""The post begins so far below the base, so that both are one."""
SCREW_PILOT_MM, SCREW_FREE_MM, SCREW_DEEP_MM, LEAST_SCREWED_MM = 1.25, 1.7, 6.0, 3.5
"""Radii of the hole for a screw of 3 mm in the post and through the base, its depth; the least post for one."""
LEAST_PIN_RADIUS_MM, PIN_SINK_MM = 2.0, 0.3
"""Thinnest rod that carries a master (our own choice: decision 0041), and how deep a wider one sinks into a rim."""
MOST_MITRE = 4.0
LEAST_SPREAD = 0.02
"""Planes that differ by less than this (square of the sine, about) count as one."""
NOTCH_SHARES = (0.0, 0.15, -0.15, 0.3, -0.3, 0.4, -0.4)
"""Places for a pry notch along its side, from the middle out."""
NOTCH_HIGH_MM, FULL_RATIO = 2.0, 0.9
"""Height of a pry notch; so much of the room in and around it must be silicone: a surface of 40° behind it, about."""
HAIR_MM = 1e-4
"""A cutter reaches so far through the surface at which it ends, or a film as thin as rounding would stay there."""
RUNNER = "runner"
CRUMB_MM3 = 1.0
"""What a cut leaves loose is dropped below this."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """A piece in the frame of the draw; `turn` (3, 3) stands it as it is printed."""

    name: str
    role: Role
    solid: manifold3d.Manifold
    turn: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cast:
    """What all kinds are built from: the part in the frame of the draw, its block, channels and settings."""

    part: Mesh
    block: Block
    channels: tuple[Channel, ...]
    settings: MouldSettings
    silicone_g_ml: float
    name: str = ""
    """What is engraved on the pieces for the part."""
    cavities: int = 1
    """Equal bodies that `part` holds."""
    basin: Basin | None = None
    """What all gates are filled from, if anything."""

    @property
    def outline(self) -> shapely.Polygon:
        """The plan of the silicone."""
        return outline_of(self.block)

    @property
    def wall_mm(self) -> float:
        """Thickness of the box walls."""
        return box_wall_mm(self.block, self.settings, silicone_g_ml=self.silicone_g_ml)


def silicone_halves(
    upper: manifold3d.Manifold, lower: manifold3d.Manifold, cast: Cast, *, keys: tuple[Key, ...], rim_mm: float
) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """The two halves with keys and seats, channels cut, and two pry notches along the parting line."""
    clearance_mm = cast.settings.key_clearance_mm
    on_lower = [key for key in keys if key.on_lower]
    on_upper = [key for key in keys if not key.on_lower]
    cuts = [channel_solid(channel) for channel in cast.channels]
    cuts += [] if cast.basin is None else [cast.basin.solid(above_mm=HAIR_MM)]
    marks = (
        rim_marks(cast.block, cast.settings, channels=cast.channels, keys=keys, rim_mm=rim_mm)
        if cast.settings.notch_mm > 0.0
        else ()
    )
    upper_cuts = [
        *cuts,
        *marks[:1],
        _pry_notches(upper, cast, keys, rim_mm),
        *(key_solid(k, clearance_mm=clearance_mm) for k in on_lower),
    ]
    lower_cuts = [*cuts, *marks[1:], *(key_solid(k, clearance_mm=clearance_mm) for k in on_upper)]
    upper = joined([upper, *map(key_solid, on_upper)]) - joined(upper_cuts)
    lower = joined([lower, *map(key_solid, on_lower)]) - joined(lower_cuts)
    return without_crumbs(upper, least_mm3=CRUMB_MM3), without_crumbs(lower, least_mm3=CRUMB_MM3)


def tray_pieces(upper: manifold3d.Manifold, lower: manifold3d.Manifold, cast: Cast) -> list[Solid]:
    """Both silicone halves and the tray that each is poured in, the half of the part standing in it.

    A channel through one half alone is no part of its tray, which would lock it: a loose rod stands in a seat in the
    tray's half of the part, a drilled hole leaves nothing.
    """
    rods = [channel for channel in cast.channels if channel.made_as is MadeAs.LOOSE_ROD]
    drilled = [
        channel_solid(channel, clearance_mm=HAIR_MM) for channel in cast.channels if channel.made_as is MadeAs.DRILLED
    ]
    play = cast.settings.bed_clearance_mm
    free = joined([*(channel_solid(rod, clearance_mm=play) for rod in rods), joined(drilled) - to_solid(cast.part)])
    return [
        Solid(name="silicone-upper", role=Role.SILICONE, solid=upper, turn=UPRIGHT),
        Solid(name="silicone-lower", role=Role.SILICONE, solid=lower, turn=TURNED_OVER),
        Solid(name="tray-upper", role=Role.TRAY, solid=_less(_tray(upper, cast, "UPPER"), free), turn=UPRIGHT),
        Solid(
            name="tray-lower",
            role=Role.TRAY,
            solid=_less(turn_over(_tray(turn_over(lower), _cast_over(cast), "LOWER")), free),
            turn=TURNED_OVER,
        ),
        *_rods(rods, cast),
    ]


def _less(tray: manifold3d.Manifold, free: manifold3d.Manifold) -> manifold3d.Manifold:
    """A tray without what is put in or drilled later."""
    return without_crumbs(tray - free, least_mm3=CRUMB_MM3)


def _rods(rods: list[Channel], cast: Cast) -> list[Solid]:
    """Every loose rod by itself, or those of the gates on one runner."""
    on_runner = [] if cast.basin is None else gates_of(rods)
    alone = [rod for rod in rods if rod not in on_runner]
    single = [_rod(rod, number, len(alone)) for number, rod in enumerate(alone, start=1)]
    if cast.basin is None:
        return single
    turn = TURNED_OVER if cast.basin.upwards else UPRIGHT
    return [Solid(name=RUNNER, role=Role.BOX, solid=cast.basin.runner(on_runner), turn=turn), *single]


def _rod(channel: Channel, number: int, count: int) -> Solid:
    """The loose rod of a channel, standing on its wide end."""
    name = "gate-rod" if count == 1 else f"gate-rod-{number}"
    up = channel.path_mm[-1][2] >= channel.path_mm[0][2]
    return Solid(name=name, role=Role.BOX, solid=channel_solid(channel), turn=TURNED_OVER if up else UPRIGHT)


def bedding_pieces(upper: manifold3d.Manifold, lower: manifold3d.Manifold, cast: Cast) -> list[Solid]:
    """Both silicone halves, the bed in which the master sits half deep, the master with gate and vents, the box.

    The bed is rigid and so is the master: what of the bed would lie over the master is left out, and the first half
    of silicone takes its place.
    """
    play, block = cast.settings.bed_clearance_mm, cast.block
    part = to_solid(cast.part)
    channels = joined([channel_solid(channel) for channel in cast.channels])
    bed = lower - to_solid(grown_mesh(cast.part, by_mm=play))
    bed -= joined([channel_solid(channel, clearance_mm=play) for channel in cast.channels])
    over = over_voids(bed)
    if over is not None:
        bed = bed - over
        upper, lower = _given_to_the_first(upper, lower, over, whole=block_solid(block) - part - channels)
    upper, lower, bed = (without_crumbs(solid, least_mm3=CRUMB_MM3) for solid in (upper, lower, bed))
    bed -= floor_words(cast.outline, (cast.name, "BED"), floor_mm=float(block.low_mm[2]))
    master = part + (channels ^ block_solid(block))
    box = _ring(cast)
    return [
        Solid(name="silicone-upper", role=Role.SILICONE, solid=upper, turn=UPRIGHT),
        Solid(name="silicone-lower", role=Role.SILICONE, solid=lower, turn=TURNED_OVER),
        Solid(name="bedding", role=Role.BEDDING, solid=bed, turn=UPRIGHT),
        Solid(name="box", role=Role.BOX, solid=box, turn=UPRIGHT),
        Solid(name="master", role=Role.MASTER, solid=master, turn=UPRIGHT),
    ]


def _given_to_the_first(
    upper: manifold3d.Manifold, lower: manifold3d.Manifold, over: manifold3d.Manifold, *, whole: manifold3d.Manifold
) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """The halves once silicone of the first pour runs into what `over` opens in the bed; `whole` is both together.

    Where the master itself shuts such a place off it stays empty in the first pour, and the second one fills it.
    """
    both = upper + (whole ^ over)
    if count_bodies(both) == 1:
        return both, lower - over
    for lump in over.decompose():
        both = upper + (whole ^ lump)
        if count_bodies(both) == 1:
            upper, lower = both, lower - lump
    return upper, lower


def open_face_pieces(cast: Cast) -> list[Solid]:
    """The silicone over the part, and the tray with the part standing on its floor by its flat back."""
    over = block_solid(cast.block) - to_solid(cast.part)
    return [
        Solid(name="silicone", role=Role.SILICONE, solid=over, turn=TURNED_OVER),
        Solid(name="tray", role=Role.TRAY, solid=_tray(over, cast, "TRAY"), turn=UPRIGHT),
    ]


def block_pieces(cast: Cast, *, cut_mm: float | None) -> list[Solid]:
    """One block of silicone, to be cut open along the seam; master on its gate, base that holds the gate, box.

    The master hangs upside down as it is poured: the gate stands in the base, the vents end on the base. A ridge in
    the box at the height `cut_mm` leaves a groove to cut along.
    """
    block, play, part = cast.block, cast.settings.bed_clearance_mm, to_solid(cast.part)
    level = float(block.high_mm[2])
    gate = next(channel for channel in cast.channels if channel.use is ChannelUse.GATE)
    at, radius_mm = gate.path_mm[-1, :2], gate.radius_end_mm
    post = upright(at, radius_mm, low_mm=level - POST_SUNK_MM, high_mm=level + POST_MM)
    rods = (joined([channel_solid(channel) for channel in cast.channels]) ^ block_solid(block)) + post
    silicone = block_solid(block) - part - rods
    plate = wider(square_wider(cast.outline, by_mm=play), by_mm=cast.wall_mm)
    base = prism(plate, low_mm=level, high_mm=level + POST_MM + cast.settings.floor_mm)
    base -= upright(at, radius_mm + play, low_mm=level - 1.0, high_mm=level + POST_MM)
    screw = joined(
        [
            upright(at, SCREW_PILOT_MM, low_mm=level - SCREW_DEEP_MM + POST_MM, high_mm=level + POST_MM + 1.0),
            upright(at, SCREW_FREE_MM, low_mm=level + POST_MM - 0.5, high_mm=level + POST_MM + 99.0),
        ]
    )
    master = part + rods
    if radius_mm >= LEAST_SCREWED_MM:
        base, master = base - screw, master - screw
    box = turn_over(_ring(_cast_over(cast)))
    if cut_mm is not None:
        ridge = cut_ridge(cast.outline, cast.settings, at_mm=cut_mm)
        silicone, box = silicone - ridge, box + ridge
    return [
        Solid(name="silicone", role=Role.SILICONE, solid=silicone, turn=TURNED_OVER),
        Solid(name="base", role=Role.BOX, solid=base, turn=TURNED_OVER),
        Solid(name="box", role=Role.BOX, solid=box, turn=TURNED_OVER),
        Solid(name="master", role=Role.MASTER, solid=master, turn=TURNED_OVER),
    ]


def upright(at: FloatArray, radius_mm: float, *, low_mm: float, high_mm: float) -> manifold3d.Manifold:
    """An upright cylinder around a place (2,)."""
    pin = manifold3d.Manifold.cylinder(high_mm - low_mm, radius_mm, radius_mm, 32)
    return pin.translate((float(at[0]), float(at[1]), low_mm))


def sturdy(channel: Channel) -> Channel:
    """A rod that carries a master in the wet silicone: at no place thinner than `LEAST_PIN_RADIUS_MM`.

    Where it is then wider than a thin rim, it sits on the rim: it goes no deeper than a hair beside it.
    """
    if channel.radius_start_mm >= LEAST_PIN_RADIUS_MM:
        return channel
    sink_mm = channel.radius_start_mm if channel.sink_mm is None else channel.sink_mm
    return replace(
        channel,
        radius_start_mm=LEAST_PIN_RADIUS_MM,
        radius_end_mm=max(channel.radius_end_mm, LEAST_PIN_RADIUS_MM),
        sink_mm=min(sink_mm, PIN_SINK_MM),
    )


def joined(solids: list[manifold3d.Manifold]) -> manifold3d.Manifold:
    """All solids as one."""
    return manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add) if solids else manifold3d.Manifold()


def grown_mesh(mesh: Mesh, *, by_mm: float) -> Mesh:
    """The mesh with its vertices moved out so that the planes of the faces beside each come out by `by_mm`.

    Least squares where more than three planes meet; a sharp vertex goes at most `MOST_MITRE` times as far.
    """
    normals = face_normals(mesh)
    planes, total = np.zeros((len(mesh.vertices_mm), 3, 3)), np.zeros_like(mesh.vertices_mm)
    outer = normals[:, :, None] * normals[:, None, :]
    for k in range(3):
        np.add.at(planes, mesh.faces[:, k], outer)
        np.add.at(total, mesh.faces[:, k], normals)
    spread, axes = np.linalg.eigh(planes)
    inverse = np.where(spread > LEAST_SPREAD * spread[:, 2:], 1.0 / np.maximum(spread, 1e-12), 0.0)
    way = np.einsum("nij,nj,nkj,nk->ni", axes, inverse, axes, total)
    size = np.linalg.norm(way, axis=1, keepdims=True)
    way *= by_mm * np.minimum(1.0, MOST_MITRE / np.maximum(size, 1e-12))
    return Mesh(vertices_mm=mesh.vertices_mm + way, faces=mesh.faces)


def _tray(silicone: manifold3d.Manifold, cast: Cast, words: str) -> manifold3d.Manifold:
    """The tray that leaves room for just this silicone, open at the top of the block."""
    floor_mm = float(silicone.bounding_box()[2]) - cast.settings.floor_mm
    wall_mm = cast.wall_mm
    level = float(cast.block.high_mm[2])
    outer = tray_outer(cast.outline, floor_mm=floor_mm, level_mm=level, wall_mm=wall_mm, settings=cast.settings)
    mouth = prism(cast.outline, low_mm=level - HAIR_MM, high_mm=level + cast.settings.lip_mm + 1.0)
    marks = manifold3d.Manifold()
    if cast.settings.floor_mm - FLOOR_DEEP_MM >= cast.settings.least_wall_mm:
        marks = floor_words(cast.outline, (cast.name, words), floor_mm=floor_mm)
    return without_crumbs(outer - (silicone + mouth) - marks, least_mm3=CRUMB_MM3)


def _ring(cast: Cast) -> manifold3d.Manifold:
    """The box around the block."""
    low_mm, high_mm = cast.block.low_mm[2], cast.block.high_mm[2]
    return box_ring(
        cast.outline, foot_mm=float(low_mm), level_mm=float(high_mm), wall_mm=cast.wall_mm, settings=cast.settings
    )


def _pry_notches(upper: manifold3d.Manifold, cast: Cast, keys: tuple[Key, ...], rim_mm: float) -> manifold3d.Manifold:
    """Shallow notches in the upper half along the parting line, on two sides, to start opening the mould.

    A side all along which channels, keys or a rising parting surface are in the way has none: silicone beside a
    notch must not be a film.
    """
    block, settings = cast.block, cast.settings
    depth = min(settings.rim_mm, 3.0)
    notches = []
    for x0, x1 in (
        (block.low_mm[0] - 1.0, block.low_mm[0] + depth),
        (block.high_mm[0] - depth, block.high_mm[0] + 1.0),
    ):
        for y in _notch_places(cast, keys, x0 + 0.5 * (x1 - x0)):
            low = np.array([x0, y - 0.5 * settings.notch_mm, rim_mm - 0.01])
            high = np.array([x1, y + 0.5 * settings.notch_mm, rim_mm + NOTCH_HIGH_MM])
            if _all_silicone(upper, cast.block, low, high):
                notches.append(box_solid(low, high))
                break
    return joined(notches)


def _all_silicone(upper: manifold3d.Manifold, block: Block, low: FloatArray, high: FloatArray) -> bool:
    """Whether a notch between two corners, and the least wall around it in plan, lies within the upper half."""
    beside = np.array([BESIDE_MM, BESIDE_MM, 0.0])
    low = np.maximum(low - beside, block.low_mm) + np.array([0.0, 0.0, 0.02])
    room = box_solid(low, np.minimum(high + beside, block.high_mm))
    return float((room ^ upper).volume()) > FULL_RATIO * float(room.volume())


def _notch_places(cast: Cast, keys: tuple[Key, ...], x: float) -> Iterator[float]:
    """Where along the side at x a pry notch may go, clear of channels and keys: from the middle outwards."""
    block, settings = cast.block, cast.settings
    middle, length = 0.5 * (block.low_mm[1] + block.high_mm[1]), block.high_mm[1] - block.low_mm[1]
    places = [float(middle + share * length) for share in NOTCH_SHARES]
    for y in places:
        notch = shapely.Point(x, y).buffer(settings.notch_mm)
        lines = [
            shapely.LineString(channel.path_mm[:, :2]).buffer(channel.radius_end_mm) for channel in cast.channels
        ]
        lines += [shapely.Point(key.foot_mm[:2]).buffer(key.radius_mm) for key in keys]
        if not any(line.intersects(notch) for line in lines):
            yield y


def turn_over(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """The solid turned half about the x axis."""
    return solid.rotate((180.0, 0.0, 0.0))


def _block_over(block: Block) -> Block:
    """The block turned half about the x axis."""
    return Block(
        low_mm=np.array([block.low_mm[0], -block.high_mm[1], -block.high_mm[2]]),
        high_mm=np.array([block.high_mm[0], -block.low_mm[1], -block.low_mm[2]]),
    )


def _cast_over(cast: Cast) -> Cast:
    """What a tray for the lower half needs, turned half about the x axis."""
    return replace(cast, block=_block_over(cast.block), channels=())
