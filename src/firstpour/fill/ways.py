"""The way out of the mould for one opening: along the parting surface, else straight along the draw, else none."""

from dataclasses import dataclass, replace

import numpy as np

from firstpour.fill.cavity import Cavity
from firstpour.fill.leaning import MOST_HELD_MM3, held_by_sprue_mm3
from firstpour.fill.places import SeamLine, near_seam, seam_line
from firstpour.fill.routes import Ground, free_way, keeps_off, lay_ground, way_along_draw
from firstpour.fill.spots import nearest_spot
from firstpour.fill.surface_ways import PartingSurface, Plan, lay_plan, surface_way
from firstpour.fill.values import ChannelUse, MadeAs
from firstpour.values import FloatArray

LEAST_RISE = 0.5
"""A channel straight along the draw rises by at least this share of its length: 30° to the level."""
LONE_HOOP_RATIO = 0.1
"""How far a channel through one half may widen outwards: the silicone must slip over it. An estimate of our own."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """What is known of the ground for channels; `plan` and `surface` are None where the block is cut open instead."""

    cavity: Cavity
    ground: Ground
    surface: PartingSurface | None
    plan: Plan | None
    draw: FloatArray | None
    seam: SeamLine | None

    @property
    def taken(self) -> tuple[tuple[FloatArray, float], ...]:
        """Keys and channels that are there already: paths and radii."""
        keys = tuple((np.stack([k[:3], k[:3]]), float(k[3])) for k in self.ground.spheres)
        return (*keys, *self.ground.laid)

    @property
    def lone_serves(self) -> bool:
        """Whether a channel straight along the draw leads upwards enough to end above the part."""
        return self.surface is not None and abs(float(self.surface.frame[2] @ self.cavity.up)) >= LEAST_RISE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """A way out: its path (k, 3), how it is made, and how wide it grows."""

    path_mm: FloatArray
    made_as: MadeAs
    mouth_mm: float


def lay_ways(
    cavity: Cavity,
    *,
    draw: FloatArray | None,
    surface: PartingSurface | None,
    wall_mm: float,
    spheres: FloatArray | None,
) -> Ways:
    """The ground for channels around the part of `cavity`."""
    resolution = max(cavity.dexels.nx, cavity.dexels.ny)
    ground = lay_ground(cavity.part, up=cavity.up, draw=draw, wall_mm=wall_mm, spheres=spheres, resolution=resolution)
    if surface is not None:
        ground = replace(ground, box=surface.frame, low_mm=surface.low_mm, high_mm=surface.high_mm)
    plan = None if surface is None else lay_plan(cavity.part.mesh, surface, up=cavity.up)
    seam = None if surface is None else seam_line(surface.seam_mm)
    return Ways(cavity=cavity, ground=ground, surface=surface, plan=plan, draw=draw, seam=seam)


def with_channel(ways: Ways, path_mm: FloatArray, radius_mm: float) -> Ways:
    """The ground with one more channel on it."""
    return replace(ways, ground=replace(ways.ground, laid=(*ways.ground.laid, (path_mm, radius_mm))))


def way_out(ways: Ways, at_mm: FloatArray, *, use: ChannelUse, radius_mm: float, mouth_mm: float) -> Way | None:
    """The way from `at_mm` on the part, or None.

    In a mould of two halves: along the parting surface from the seam, unless something lies beside, else straight
    along the draw through one half, hardly widening. In a block that is cut open: straight up for the gate, which
    carries the master, any clear way for a vent.
    """
    normal = nearest_spot(ways.cavity.part, at_mm, up=ways.cavity.up).normal
    if ways.surface is None or ways.plan is None:
        straight = use is ChannelUse.GATE
        path = free_way(ways.ground, at_mm, normal=normal, radius_mm=mouth_mm, straight=straight)
        return None if path is None else Way(path_mm=path, made_as=MadeAs.ON_MASTER, mouth_mm=mouth_mm)
    if not ways.surface.beside and near_seam(at_mm[None], ways.seam)[0]:
        start = on_seam(at_mm, ways.surface.seam_mm)
        path = surface_way(
            ways.plan, start, radius_mm=radius_mm, mouth_mm=mouth_mm, gate=use is ChannelUse.GATE, taken=ways.taken,
            clear=lambda way: _is_sound(ways, way, radius_mm=radius_mm, mouth_mm=mouth_mm),
        )  # fmt: skip
        if path is not None:
            return Way(path_mm=path, made_as=MadeAs.BOTH_HALVES, mouth_mm=mouth_mm)
    if not ways.lone_serves:
        return None
    lone_mm = min(mouth_mm, (1.0 + LONE_HOOP_RATIO) * radius_mm)
    path = way_along_draw(ways.ground, at_mm, normal=normal, radius_mm=lone_mm, draw=ways.surface.frame[2])
    if path is None:
        return None
    made_as = MadeAs.LOOSE_ROD if use is ChannelUse.GATE else MadeAs.DRILLED
    return Way(path_mm=path, made_as=made_as, mouth_mm=lone_mm)


def _is_sound(ways: Ways, way: FloatArray, *, radius_mm: float, mouth_mm: float) -> bool:
    """Whether a way along the parting surface keeps off the part, and its sprue comes out of both halves."""
    if ways.plan is None or not keeps_off(ways.ground, way, radius_mm=radius_mm, mouth_mm=mouth_mm):
        return False
    path = way @ ways.plan.surface.frame.T
    return held_by_sprue_mm3(ways.plan, path, radius_mm=radius_mm, mouth_mm=mouth_mm) <= MOST_HELD_MM3


def on_seam(point_mm: FloatArray, seam_mm: tuple[FloatArray, ...]) -> FloatArray:
    """The point of the closed polylines (k, 3) nearest to `point_mm` (3,)."""
    best, least = point_mm, np.inf
    for loop in seam_mm:
        along = np.roll(loop, -1, axis=0) - loop
        length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
        t = np.clip(np.einsum("ij,ij->i", point_mm - loop, along) / length2, 0, 1)
        places = loop + t[:, None] * along
        away = np.linalg.norm(places - point_mm, axis=1)
        k = int(np.argmin(away))
        if away[k] < least:
            best, least = places[k], float(away[k])
    return best
