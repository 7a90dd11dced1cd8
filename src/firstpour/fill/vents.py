"""Where vents go so that the air left is too little to matter."""

from dataclasses import dataclass

import numpy as np

from firstpour.fill.cavity import SAME_LEVEL_MM, Cavity, mark_rank, most_inside, node_top_mm
from firstpour.fill.places import WORDS, places_of
from firstpour.fill.pockets import fill_cavity
from firstpour.fill.spots import nearest_spot
from firstpour.fill.values import SMALL_AIR_MM3, SMALL_SHOW_AIR_MM3, Fill, PlaceKind, Pocket
from firstpour.values import FloatArray

ROUNDS = 12
MOST_VENTS = 12
SETTLE_LINES = 1.5
BAD_PLACES = (PlaceKind.SHOW, PlaceKind.KEEP_CLEAR)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vent:
    """A vent, the air it lets out (mm³), what it lies on and why it lies there; `given`: the user's own."""

    at_mm: FloatArray
    air_mm3: float
    place: PlaceKind
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vented:
    """The vents, and the filling with the gate and all of them."""

    vents: tuple[Vent, ...]
    fill: Fill


def vent_pockets(
    cavity: Cavity,
    *,
    gate_mm: FloatArray,
    given_mm: tuple[FloatArray, ...] = (),
    seam_mm: tuple[FloatArray, ...] | None = None,
    passage_mm: float = 0.0,
    accept_mm3: float = SMALL_AIR_MM3,
    accept_show_mm3: float = SMALL_SHOW_AIR_MM3,
) -> Vented:
    """Give every pocket with too much air a vent, and look again until none is left (k peaks: 1 gate, k − 1 vents).

    A vent lies at the pocket's peak, or a little below it where a better face is that near: then the air above
    it stays within `accept_mm3`, at most `accept_show_mm3` of it under show faces. Openings in `given_mm` stay. No
    more than `MOST_VENTS`, the largest pockets first: a mould that wants more wants turning.
    """
    vents = [Vent(at_mm=at, air_mm3=0.0, place=place_at(cavity, at, seam_mm), reason="given") for at in given_mm]
    fill = fill_cavity(cavity, gate_mm=gate_mm, vents_mm=given_mm, passage_mm=passage_mm)
    for _ in range(ROUNDS):
        wanted = [p for p in fill.pockets if p.volume_mm3 > accept_mm3 or p.show_mm3 > accept_show_mm3]
        fresh = [_vent(cavity, pocket, seam_mm, accept_mm3, accept_show_mm3) for pocket in wanted]
        fresh = [new for new in fresh if all(np.linalg.norm(new.at_mm - old.at_mm) > 1e-6 for old in vents)]
        fresh = fresh[: MOST_VENTS + len(given_mm) - len(vents)]
        if not fresh:
            break
        vents += fresh
        fill = fill_cavity(
            cavity, gate_mm=gate_mm, vents_mm=tuple(vent.at_mm for vent in vents), passage_mm=passage_mm
        )
    return Vented(vents=tuple(vents), fill=fill)


def _vent(
    cavity: Cavity,
    pocket: Pocket,
    seam_mm: tuple[FloatArray, ...] | None,
    accept_mm3: float,
    accept_show_mm3: float,
) -> Vent:
    """The best place of the pocket: by kind first, then the highest, on a level roof the most inward."""
    d = cavity.dexels
    top = d.z_mm[2 * pocket.nodes + 1]
    order = np.argsort(-top, kind="stable")
    nodes, faces, top = pocket.nodes[order], pocket.faces[order], top[order]
    rank = mark_rank(cavity.part.marks[faces])
    left = np.concatenate([[0.0], np.cumsum(np.arange(1, len(top)) * -np.diff(top))]) * d.pitch_mm**2
    show_count = np.cumsum(rank == 2)
    show_left = np.concatenate([[0.0], np.cumsum(show_count[:-1] * -np.diff(top))]) * d.pitch_mm**2
    able = np.flatnonzero((left <= accept_mm3) & (show_left <= accept_show_mm3))
    points = np.stack([node_top_mm(cavity, int(node)) for node in nodes[able]])
    kinds = places_of(cavity.part, points, faces[able].astype(np.int64), seam_mm=seam_mm)
    best = min(range(len(able)), key=lambda k: (list(PlaceKind).index(kinds[k]), k))
    level = top[able[best]] - SAME_LEVEL_MM
    same = [k for k in range(len(able)) if kinds[k] is kinds[best] and top[able[k]] >= level]
    best = same[most_inside(cavity, nodes[able[same]])]
    at = settled(cavity, points[best]) if len(same) == 1 and able[best] == 0 else points[best]
    return Vent(
        at_mm=at,
        air_mm3=pocket.volume_mm3,
        place=kinds[best],
        reason=_reason(pocket, kinds[best], moved=bool(top[0] - top[able[best]] > d.pitch_mm)),
    )


def _reason(pocket: Pocket, place: PlaceKind, *, moved: bool) -> str:
    said = f"lets {pocket.volume_mm3:.1f} mm³ of air out, {WORDS[place]}"
    if place in BAD_PLACES:
        return said + ": nothing better lies high enough in this pocket; trim the stub, or turn the mould"
    return said + (", just below the peak" if moved else "")


def place_at(cavity: Cavity, at_mm: FloatArray, seam_mm: tuple[FloatArray, ...] | None) -> PlaceKind:
    """What lies under a point of the surface."""
    spot = nearest_spot(cavity.part, at_mm, up=cavity.up)
    return places_of(cavity.part, at_mm[None], np.array([spot.face]), seam_mm=seam_mm)[0]


def settled(cavity: Cavity, at_mm: FloatArray) -> FloatArray:
    """The highest corner of the mesh within `SETTLE_LINES` of a peak the grid found, or the peak itself."""
    d = cavity.dexels
    pix = cavity.grid.pix
    u, v, level = d.frame @ at_mm
    x, y = (np.array([u, v]) - d.origin_mm) / d.pitch_mm
    near = (np.abs(pix[:, 0] - x) <= SETTLE_LINES) & (np.abs(pix[:, 1] - y) <= SETTLE_LINES)
    near &= (pix[:, 2] > level) & (pix[:, 2] <= level + 2 * d.pitch_mm)
    if not near.any():
        return at_mm
    index = np.flatnonzero(near)
    corner: FloatArray = cavity.part.mesh.vertices_mm[index[np.argmax(pix[index, 2])]]
    return corner
