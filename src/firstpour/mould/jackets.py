"""Less silicone: how low it may end everywhere, printed jackets that end it there, cubes of cured silicone instead.

A silicone is poured level: over low places of the part, around tall ones and inside deep ones it stands far thicker
than the wall. A jacket is a printed lid that hangs into the tray or box down to where the silicone is `wall_mm`
thick: it follows the part as a contoured box does, and fills a deep core as a plug does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import manifold3d
import numpy as np
import shapely
from scipy.ndimage import grey_closing, grey_dilation, maximum_filter

from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import SMALL_AIR_MM3, Channel
from firstpour.mould.box import prism, square_wider, wider
from firstpour.mould.channels import channel_solid
from firstpour.mould.pieces import CRUMB_MM3, TURNED_OVER, UPRIGHT, Cast, Solid, joined, turn_over, upright
from firstpour.mould.standing import jacket_name
from firstpour.mould.values import Role, Spare
from firstpour.part.part import Part
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.surface.solids import from_solid, without_crumbs
from firstpour.units import MM3_PER_ML
from firstpour.values import FloatArray

LINES, FINE = 150, 2
"""Places of a roof along the longer side of the silicone, and lines that are looked along for each."""
NEAR = 2
"""A place counts for those within so many: between places, and beside upright walls, the wall is kept as well."""
LEAST_PLUG_MM = 6.0
"""No part of a jacket that reaches down is narrower (our own choice: a printed finger breaks off)."""
POUR_RADIUS_MM, VENT_RADIUS_MM = 5.0, 2.0
"""Holes in a jacket: where the silicone is poured, and where its air leaves (common practice, no source)."""
MOST_HOLES = 12
ROUNDS = 4
CUBE_MM, CUBE_GAP_MM, CUBE_COVER_MM = 10.0, 2.0, 3.0
"""Cubes of cured silicone: their size, the fresh silicone between them and over them (common practice, no source)."""
MOST_CUBES_RATIO = 0.3
"""Of a silicone no more than this share is cubes: common practice, no source."""
LEAST_SPARED_ML, LEAST_SPARED_RATIO = 5.0, 0.1
"""A silicone of which a jacket would spare less, or a smaller share, has none (our own choice)."""
BEYOND_MM = 5.0
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roof:
    """How low the silicone may end: heights (ny, nx) at the places `x_mm` (nx,) × `y_mm` (ny,), poured from +z.

    It is `level_mm`, where the silicone is poured to, over places at which nothing can be spared.
    """

    x_mm: FloatArray
    y_mm: FloatArray
    height_mm: FloatArray
    level_mm: float

    @property
    def pitch_mm(self) -> float:
        """From place to place."""
        return float(self.x_mm[1] - self.x_mm[0])

    @property
    def spared_mm3(self) -> float:
        """Silicone above the roof."""
        return float((self.level_mm - self.height_mm).sum()) * self.pitch_mm**2


def roof_of(silicone: manifold3d.Manifold, *, wall_mm: float) -> Roof:
    """The lowest roof that leaves `wall_mm` of silicone over all that the silicone lies on; poured from +z.

    What it lies on, seen from above, is the floor of the topmost stretch of silicone of each line. The roof is that
    floor with a ball of the wall rolled over it (a dilation), raised where a jacket would be too narrow.
    """
    level_mm = float(silicone.bounding_box()[5])
    fine = cut_dexels(from_solid(silicone), UP, resolution=FINE * LINES)
    floor = _floor(fine, level_mm)
    ny, nx = (FINE * (n // FINE) for n in floor.shape)
    coarse = floor[:ny, :nx].reshape(ny // FINE, FINE, nx // FINE, FINE).max(axis=(1, 3))
    pitch_mm = FINE * fine.pitch_mm
    first = fine.origin_mm + 0.5 * (FINE - 1) * fine.pitch_mm
    near = maximum_filter(coarse, size=2 * NEAR + 1, mode="nearest")
    reach = int(np.ceil(wall_mm / pitch_mm))
    away = pitch_mm * np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1])
    ball = np.sqrt(np.maximum(0.0, wall_mm**2 - away**2))
    roof = grey_dilation(near, footprint=away <= wall_mm, structure=ball, mode="nearest")
    roof = np.minimum(roof, level_mm)
    wide = int(np.ceil(0.5 * LEAST_PLUG_MM / pitch_mm))
    disc = np.hypot(*np.mgrid[-wide : wide + 1, -wide : wide + 1]) <= wide
    roof = grey_closing(roof, footprint=disc, mode="nearest")
    return Roof(
        x_mm=first[0] + pitch_mm * np.arange(roof.shape[1]),
        y_mm=first[1] + pitch_mm * np.arange(roof.shape[0]),
        height_mm=roof,
        level_mm=level_mm,
    )


def _floor(dexels: Dexels, level_mm: float) -> FloatArray:
    """Where the topmost stretch of silicone begins (ny, nx); the level itself where none reaches up to it."""
    floor = np.full(dexels.nx * dexels.ny, level_mm)
    ends = dexels.offsets[1:][np.diff(dexels.offsets) > 0]
    lines = np.flatnonzero(np.diff(dexels.offsets) > 0)
    reaches = dexels.z_mm[ends - 1] > level_mm - 1e-3
    floor[lines[reaches]] = dexels.z_mm[ends[reaches] - 2]
    return floor.reshape(dexels.ny, dexels.nx)


def spare_of(name: str, roof: Roof, *, volume_mm3: float) -> Spare:
    """What a jacket spares of a silicone of that volume, and the cubes that would lie above its wall instead.

    Cubes are counted on a lattice, `CUBE_GAP_MM` apart and `CUBE_COVER_MM` below the level: an estimate of our own,
    for cubes that are dropped in lie looser in some places and closer in others.
    """
    each = max(1, round((CUBE_MM + CUBE_GAP_MM) / roof.pitch_mm))
    ny, nx = (each * (n // each) for n in roof.height_mm.shape)
    foot = roof.height_mm[:ny, :nx].reshape(ny // each, each, nx // each, each).max(axis=(1, 3))
    room = roof.level_mm - CUBE_COVER_MM + CUBE_GAP_MM - foot
    cubes = int(np.floor(np.maximum(0.0, room) / (CUBE_MM + CUBE_GAP_MM)).sum())
    most = int(MOST_CUBES_RATIO * volume_mm3 / CUBE_MM**3)
    return Spare(silicone=name, jacket_ml=roof.spared_mm3 / MM3_PER_ML, cubes=min(cubes, most), cube_mm=CUBE_MM)


def under(roof: Roof, *, low_mm: float) -> manifold3d.Manifold:
    """All that lies below the roof and above `low_mm`, the roof drawn on by `BEYOND_MM` past its last places."""
    beyond = int(np.ceil(BEYOND_MM / roof.pitch_mm)) + 1
    height = np.pad(roof.height_mm, beyond, mode="edge")
    ny, nx = height.shape
    x = roof.x_mm[0] + roof.pitch_mm * (np.arange(nx) - beyond)
    y = roof.y_mm[0] + roof.pitch_mm * (np.arange(ny) - beyond)
    plan = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    top = np.column_stack([plan, height.ravel()])
    foot = np.column_stack([plan, np.full(len(plan), low_mm)])
    number = np.arange(ny * nx).reshape(ny, nx)
    a, b, c, d = (part.ravel() for part in (number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]))
    over = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    below = over[:, ::-1] + len(plan)
    rim = np.concatenate([number[0], number[1:, -1], number[-1, -2::-1], number[-2:0:-1, 0]])
    after = np.roll(rim, -1)
    sides = np.concatenate(
        [np.column_stack([rim, rim + len(plan), after]), np.column_stack([after, rim + len(plan), after + len(plan)])]
    )
    faces = np.concatenate([over, below, sides])
    return manifold3d.Manifold(manifold3d.Mesh64(np.vstack([top, foot]), faces.astype(np.uint64)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Jacketed:
    """A silicone under its jacket; `holes_mm` (k, 3): the feet of the jacket's holes, the first to pour through."""

    silicone: Solid
    jacket: Solid
    holes_mm: FloatArray


def jacketed(silicone: Solid, cast: Cast, roof: Roof, *, way: int) -> Jacketed | None:
    """The silicone ended at the roof by a jacket; `way` +1 where it is poured from +z, else −1. None: no room.

    `roof` is that of the silicone turned so that it is poured from +z. The jacket's plate lies on the lip of the tray
    or the box, its holes lead up from every place where air would gather below it, and channels that leave by
    its side of the block pass through it.
    """
    poured = upwards(silicone.solid, way)
    kept = without_crumbs(poured ^ under(roof, low_mm=float(poured.bounding_box()[2]) - 1.0), least_mm3=CRUMB_MM3)
    holes_mm = _holes_mm(kept)
    if holes_mm is None:
        return None
    outline = _plan_upwards(cast.outline, way)
    lip_mm = roof.level_mm + cast.settings.lip_mm
    top_mm = lip_mm + cast.settings.jacket_mm
    play = cast.settings.bed_clearance_mm
    low_mm = float(roof.height_mm.min()) - 1.0
    plug = prism(square_wider(outline, by_mm=-play), low_mm=low_mm, high_mm=lip_mm)
    plate = prism(wider(outline, by_mm=cast.wall_mm), low_mm=lip_mm, high_mm=top_mm)
    free = [upwards(_passing(one, way=way, play_mm=play, past_mm=top_mm + BEYOND_MM), way) for one in cast.channels]
    free += [_hole(at, first=k == 0, high_mm=top_mm) for k, at in enumerate(holes_mm)]
    solid = (plug + plate) - under(roof, low_mm=low_mm - 1.0) - joined(free)
    back = np.array([1.0, way, way])
    return Jacketed(
        silicone=replace(silicone, solid=upwards(kept, way)),
        jacket=Solid(
            name=jacket_name(silicone.name),
            role=Role.BOX,
            solid=upwards(without_crumbs(solid, least_mm3=CRUMB_MM3), way),
            turn=TURNED_OVER if way > 0 else UPRIGHT,
        ),
        holes_mm=holes_mm * back,
    )


def upwards(solid: manifold3d.Manifold, way: int) -> manifold3d.Manifold:
    """A silicone as it stands for its pour: turned half about the x axis where `way` is −1."""
    return solid if way > 0 else turn_over(solid)


def _plan_upwards(plan: shapely.Polygon, way: int) -> shapely.Polygon:
    return plan if way > 0 else shapely.transform(plan, lambda xy: xy * np.array([1.0, -1.0]))


def _holes_mm(silicone: manifold3d.Manifold) -> FloatArray | None:
    """Where air gathers below the jacket (k, 3): the highest place first; None where there are too many."""
    mesh = from_solid(silicone)
    space = Part(name="poured", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))
    fill = find_pockets(space, up=UP)
    holes = [fill.gate_mm]
    for _ in range(ROUNDS):
        more = [one.top_mm for one in fill.pockets if one.volume_mm3 > SMALL_AIR_MM3]
        if not more or len(holes) + len(more) > MOST_HOLES:
            break
        holes += more
        fill = find_pockets(space, up=UP, gate_mm=holes[0], vents_mm=tuple(holes[1:]))
    return np.array(holes) if len(holes) <= MOST_HOLES else None


def _hole(at_mm: FloatArray, *, first: bool, high_mm: float) -> manifold3d.Manifold:
    """An upright hole through the jacket over a place where air gathers."""
    radius_mm = POUR_RADIUS_MM if first else VENT_RADIUS_MM
    return upright(at_mm[:2], radius_mm, low_mm=float(at_mm[2]) - 2.0 * BEYOND_MM, high_mm=high_mm + 1.0)


def _passing(channel: Channel, *, way: int, play_mm: float, past_mm: float) -> manifold3d.Manifold:
    """The channel with play, drawn on upright to `past_mm` where it leaves by the side that is poured."""
    solid = channel_solid(channel, clearance_mm=play_mm)
    end = channel.path_mm[-1] * np.array([1.0, way, way])
    along = (channel.path_mm[-1] - channel.path_mm[-2]) * way
    if along[2] < np.sqrt(0.5) * np.linalg.norm(along):
        return solid
    radius_mm = channel.radius_end_mm + play_mm
    low_mm = float(end[2])
    pin = upright(end[:2], radius_mm, low_mm=low_mm, high_mm=max(low_mm + 1.0, past_mm))
    return solid + upwards(pin, way)


def _is_worth_it(spare: Spare, volume_mm3: float) -> bool:
    """Whether a jacket spares enough of a silicone of that volume."""
    return spare.jacket_ml >= max(LEAST_SPARED_ML, LEAST_SPARED_RATIO * volume_mm3 / MM3_PER_ML)


def with_jackets(
    solids: Sequence[Solid], cast: Cast, *, ways: dict[str, int]
) -> tuple[list[Solid], tuple[Spare, ...], dict[str, FloatArray]]:
    """The pieces with a jacket for each silicone of `ways` (its name → +1 or −1), where any are asked for; what each
    spares or would spare; the holes of each jacket by the silicone's name."""
    made: list[Solid] = []
    spares: list[Spare] = []
    holes: dict[str, FloatArray] = {}
    for item in solids:
        way = ways.get(item.name)
        if way is None:
            made.append(item)
            continue
        roof = roof_of(upwards(item.solid, way), wall_mm=cast.settings.wall_mm)
        spares.append(spare_of(item.name, roof, volume_mm3=float(item.solid.volume())))
        wanted = cast.settings.jacket_mm > 0.0 and _is_worth_it(spares[-1], item.solid.volume())
        ended = jacketed(item, cast, roof, way=way) if wanted else None
        if ended is None:
            made.append(item)
            continue
        made += [ended.silicone, ended.jacket]
        holes[item.name] = ended.holes_mm
    return made, tuple(spares), holes
