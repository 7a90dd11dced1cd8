"""Along which direction the two halves of the mould come off the part."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
import shapely

from firstpour.errors import BadRequest
from firstpour.kernels.dexels import sweep_voids
from firstpour.part.part import Part
from firstpour.parting.candidates import Bore, Candidate, bores_of, named_candidates, quick_rounds
from firstpour.parting.ranking import best_first
from firstpour.parting.seam_estimate import SeamEdges, estimate_seam, seam_edges
from firstpour.parting.stretch import Give
from firstpour.parting.undercut import RESOLUTION, Undercut, find_undercut, undercuts_along
from firstpour.parting.values import Draw, DrawOrigin, Opening, RankedDraw, Stretch, Way
from firstpour.surface.dexels import frame_of
from firstpour.units import MM3_PER_ML
from firstpour.values import FloatArray, IntArray, Mesh, frame_along, mesh_volume_mm3

SWEEP_RESOLUTION = 128
STRETCH_RESOLUTION = 160
MOST_REGIONS = 48
"""So many undercuts of a direction are worked out while ranking, the largest first."""
TRIED = 20
"""So many directions are worked out closely, those with a name first."""
OUTERMOST = 200
NOISE_RATIO = 2e-5
"""Undercuts that differ by less than this share of the part's bounding box count as equal when ranking."""


def rank_draws(
    part: Part, *, directions: int = 1000, keep: int = 20, give: Give | None = None
) -> tuple[RankedDraw, ...]:
    """The `keep` best draw directions, best first, and every direction with a name: see `ranking.best_first`.

    Axes of round features, axes and planes of symmetry, flat faces and the axes of the file are always tried. A
    hemisphere of `directions` is swept at 128 lines a side as well; those with the least void are tried with them.
    Void at 512 lines, stretch at 160.

    Raises
    ------
    BadRequest
        If `directions` or `keep` is below 1.
    """
    if directions < 1 or keep < 1:
        raise BadRequest(f"{directions} directions, {keep} kept", remedy="ask for at least one of each")
    look = _look_at(part, give or Give())
    tried = _tried(look, directions=directions, keep=keep)
    swept = _sweep(part.mesh, np.array([one.direction for one in tried]), resolution=RESOLUTION)
    draws = [_ranked(look, one, *(float(value) for value in row)) for one, row in zip(tried, swept, strict=True)]
    ordered = best_first(draws, size_mm=look.size_mm, noise_mm3=look.noise_mm3)
    return tuple(draw for n, draw in enumerate(ordered) if n < keep or draw.origin is not DrawOrigin.SWEEP)


def choose_draw(part: Part, ranked: Sequence[RankedDraw], *, give: Give | None = None) -> Draw:
    """The draw to take, the best of the `ranked`, worked out in full."""
    best = ranked[0]
    return _in_full(best, find_undercut(part.mesh, best.direction, give=give or Give()), Opening.TWO_HALVES)


def draw_along(
    part: Part, direction: FloatArray, *, opening: Opening = Opening.TWO_HALVES, give: Give | None = None
) -> Draw:
    """One draw direction with its undercut regions, what the silicone must do in each, and the reach of every face.

    Raises
    ------
    BadRequest
        If `direction` has no length or is not finite.
    """
    d, give = frame_of(direction)[2], give or Give()
    undercut = find_undercut(part.mesh, d, opening=opening, give=give)
    seam = estimate_seam(seam_edges(part), d, bores=bores_of(quick_rounds(part.mesh)), reach=undercut.reach)
    row = RankedDraw(
        direction=d,
        undercut_mm3=0.0,
        seam_mm=seam.length_mm,
        seam_on_show_mm=seam.on_show_mm,
        seam_rise_mm=seam.rise_mm,
        bore_seam_mm=seam.bore_mm,
        height_mm=0.0,
        silicone_ml=_silicone_ml(_outermost_mm(part.mesh), d, part.mesh, wall_mm=give.wall_mm),
        pitch_mm=0.0,
    )
    return _in_full(row, undercut, opening)


def _in_full(row: RankedDraw, undercut: Undercut, opening: Opening) -> Draw:
    """The draw with all that its undercuts are."""
    depths = [region.depth_mm for region in undercut.regions]
    ways = _taken_together([region.stretch for region in undercut.regions])
    closer = {
        "undercut_mm3": undercut.volume_mm3,
        "stretch_ratio": ways.stretch_ratio,
        "squeeze_ratio": ways.squeeze_ratio,
        "locked_loops": ways.locked_loops,
        "height_mm": undercut.height_mm,
        "pitch_mm": undercut.pitch_mm,
    }
    ranked = {one.name: getattr(row, one.name) for one in fields(RankedDraw)}
    return Draw(
        **(ranked | closer),
        opening=opening,
        undercut_mm2=undercut.area_mm2,
        undercut_depth_mm=max((depth for depth in depths if depth is not None), default=0.0),
        regions=undercut.regions,
        reach=undercut.reach,
    )


def hemisphere(count: int) -> FloatArray:
    """`count` unit directions (count, 3) spread evenly over the upper hemisphere (a golden-angle spiral).

    >>> bool((hemisphere(100)[:, 2] > 0).all())
    True
    """
    k = np.arange(count) + 0.5
    z = 1.0 - k / count
    turn = k * np.pi * (3.0 - np.sqrt(5.0))
    across = np.sqrt(1.0 - z * z)
    return np.stack([across * np.cos(turn), across * np.sin(turn), z], axis=1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Look:
    """What every direction of one part is judged by."""

    part: Part
    give: Give
    named: tuple[Candidate, ...]
    bores: tuple[Bore, ...]
    edges: SeamEdges
    outermost_mm: FloatArray
    size_mm: float
    noise_mm3: float


def _look_at(part: Part, give: Give) -> _Look:
    rounds = quick_rounds(part.mesh)
    sizes_mm = np.ptp(part.mesh.vertices_mm, axis=0)
    return _Look(
        part=part,
        give=give,
        named=named_candidates(part.mesh, rounds),
        bores=bores_of(rounds),
        edges=seam_edges(part),
        outermost_mm=_outermost_mm(part.mesh),
        size_mm=float(sizes_mm.max()),
        noise_mm3=NOISE_RATIO * float(np.prod(sizes_mm)),
    )


def _tried(look: _Look, *, directions: int, keep: int) -> list[Candidate]:
    """The directions to work out closely: those with a name, then those of the sweep with the least void."""
    around = hemisphere(directions)
    steps = np.round(_sweep(look.part.mesh, around, resolution=SWEEP_RESOLUTION)[:, 0] / look.noise_mm3)
    named = np.array([one.direction for one in look.named])
    order = np.argsort(steps, kind="stable")
    room = max(TRIED, keep) - len(named)
    best = _distinct(
        np.concatenate([named, around]), taken=list(range(len(named))), order=order + len(named), room=room
    )
    swept = [Candidate(direction=around[n], origin=DrawOrigin.SWEEP, reason="little void") for n in best - len(named)]
    return [*look.named, *swept]


def _ranked(look: _Look, one: Candidate, void_mm3: float, height_mm: float, pitch_mm: float) -> RankedDraw:
    """One direction as far as the ranking needs it."""
    mesh, give = look.part.mesh, look.give
    found: tuple[Stretch, ...] = ()
    reach = None
    if void_mm3 > look.noise_mm3:
        found, reach = undercuts_along(
            mesh, one.direction, resolution=STRETCH_RESOLUTION, most=MOST_REGIONS, give=give
        )
    ways, seam = _taken_together(found), estimate_seam(look.edges, one.direction, bores=look.bores, reach=reach)
    return RankedDraw(
        direction=one.direction,
        undercut_mm3=void_mm3,
        stretch_ratio=ways.stretch_ratio,
        squeeze_ratio=ways.squeeze_ratio,
        locked_loops=ways.locked_loops,
        seam_mm=seam.length_mm,
        seam_on_show_mm=seam.on_show_mm,
        seam_rise_mm=seam.rise_mm,
        bore_seam_mm=seam.bore_mm,
        height_mm=height_mm,
        silicone_ml=_silicone_ml(look.outermost_mm, one.direction, mesh, wall_mm=give.wall_mm),
        pitch_mm=pitch_mm,
        origin=one.origin,
        reason=one.reason,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Together:
    stretch_ratio: float
    squeeze_ratio: float
    locked_loops: int


def _taken_together(ways: Sequence[Stretch]) -> _Together:
    """The most that any undercut asks, and all that is locked; a void shut in counts as one loop."""
    return _Together(
        stretch_ratio=max((way.stretch_ratio or 0.0 for way in ways), default=0.0),
        squeeze_ratio=max((way.squeeze_ratio for way in ways), default=0.0),
        locked_loops=sum(way.loops + (way.way is Way.SHUT) for way in ways),
    )


def _outermost_mm(mesh: Mesh) -> FloatArray:
    """The vertices (k, 3) that lie outermost in some of many directions: what a box around the part touches."""
    directions = np.concatenate([np.eye(3), hemisphere(OUTERMOST)]).astype(np.float32)
    along = directions @ mesh.vertices_mm.T.astype(np.float32)
    outermost: FloatArray = mesh.vertices_mm[np.unique(np.concatenate([along.argmax(axis=1), along.argmin(axis=1)]))]
    return outermost


def _silicone_ml(outermost_mm: FloatArray, direction: FloatArray, mesh: Mesh, *, wall_mm: float) -> float:
    """Silicone of the smallest upright box around the part along the draw, with the wall on every side."""
    turned = outermost_mm @ frame_along(direction).T
    outline = shapely.MultiPoint(turned[:, :2]).minimum_rotated_rectangle
    corners = np.array(outline.exterior.coords)
    sides_mm = np.linalg.norm(np.diff(corners, axis=0), axis=1)[:2] + 2.0 * wall_mm
    box_mm3 = float(np.prod(sides_mm)) * (float(np.ptp(turned[:, 2])) + 2.0 * wall_mm)
    return (box_mm3 - mesh_volume_mm3(mesh)) / MM3_PER_ML


def _sweep(mesh: Mesh, directions: FloatArray, *, resolution: int) -> FloatArray:
    frames = np.array([frame_along(direction) for direction in directions])
    swept: FloatArray = sweep_voids(mesh.vertices_mm, mesh.faces, frames, resolution)
    return swept


def _distinct(candidates: FloatArray, *, taken: list[int], order: IntArray, room: int) -> IntArray:
    """The first `room` candidates in `order`, leaving out those within half a degree of one already taken."""
    taken, known = list(taken), len(taken)
    for n in order:
        if len(taken) >= known + room:
            break
        if all(abs(float(candidates[n] @ candidates[m])) < np.cos(np.radians(0.5)) for m in taken):
            taken.append(int(n))
    return np.array(taken[known:], np.int64)
