"""Where vents go so that the air left in each pocket is too little to matter."""

from dataclasses import dataclass

import numpy as np

from firstpour.fill.cavity import SAME_LEVEL_MM, Cavity, mark_rank, most_inside, node_top_mm
from firstpour.fill.places import BAD_PLACES, WORDS, near_seam, place_at, places_of
from firstpour.fill.pockets import fill_cavity
from firstpour.fill.values import SMALL_AIR_MM3, SMALL_SHOW_AIR_MM3, Channel, ChannelUse, Fill, PlaceKind, Pocket
from firstpour.fill.ways import Ways, way_out, with_channel
from firstpour.fill.widths import fitting_radius_mm
from firstpour.values import Finding, FloatArray, IntArray

ROUNDS = 12
MOST_VENTS = 12
SETTLE_LINES = 1.5
MOST_TRIED = 6
"""Places of one pocket that are tried before it is given up."""
MOST_LOOKED_AT = 400
APART_MM = 3.0
"""Places nearer to each other than this are not tried again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """Air that may stay in a pocket: in all, and under show faces, mm³."""

    air_mm3: float = SMALL_AIR_MM3
    show_mm3: float = SMALL_SHOW_AIR_MM3

    def is_too_much(self, pocket: Pocket) -> bool:
        """Whether a pocket wants a vent."""
        return pocket.volume_mm3 > self.air_mm3 or pocket.show_mm3 > self.show_mm3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spout:
    """A place for a vent, what lies under it, and why it goes there."""

    at_mm: FloatArray
    place: PlaceKind
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vented:
    """The vents that found a way out, the places where none was found, the filling with them, the ground after.

    `findings` tell of the vent that breathes: not needed, near the gate, without a place.
    """

    vents: tuple[Channel, ...]
    blocked: tuple[Spout, ...]
    fill: Fill
    ways: Ways
    findings: tuple[Finding, ...] = ()


def vent_pockets(
    ways: Ways,
    *,
    gates_mm: tuple[FloatArray, ...],
    given: tuple[Channel, ...],
    radius_mm: float,
    mouth_ratio: float,
    passage_mm: float,
    accepted: Accepted,
) -> Vented:
    """Give every pocket with too much air a vent, and look again until none is left (k peaks: 1 gate, k − 1 vents).

    A vent lies at the pocket's peak, or a little below it where a better face is that near, or where alone a way
    leads out. No more than `MOST_VENTS`, the largest pockets first: a mould that wants more wants turning.
    """
    vents, blocked = list(given), list[Spout]()
    given_up: list[FloatArray] = []
    fill = filled(ways, gates_mm, vents, passage_mm)
    for _ in range(ROUNDS):
        wanted = [p for p in fill.pockets if accepted.is_too_much(p)]
        wanted = [p for p in wanted if all(np.linalg.norm(p.top_mm - at) > 1e-6 for at in given_up)]
        wanted = wanted[: MOST_VENTS + len(given) - len(vents)]
        if not wanted:
            break
        for pocket in wanted:
            spouts = pocket_spouts(ways, pocket, accepted=accepted)
            vent, ways = vent_from(ways, spouts, radius_mm=radius_mm, mouth_ratio=mouth_ratio)
            if vent is None:
                given_up.append(pocket.top_mm)
                blocked.append(spouts[0])
            else:
                vents.append(vent)
        fill = filled(ways, gates_mm, vents, passage_mm)
    return Vented(vents=tuple(vents), blocked=tuple(blocked), fill=fill, ways=ways)


def pocket_spouts(ways: Ways, pocket: Pocket, *, accepted: Accepted) -> list[Spout]:
    """Places for a pocket's vent, the best first: by kind, then the highest, on a level roof the most inward.

    Only where the air left above is accepted; then, where a way out is only from the parting line, the highest of
    those in the pocket.
    """
    cavity = ways.cavity
    d = cavity.dexels
    top = d.z_mm[2 * pocket.nodes + 1]
    order = np.argsort(-top, kind="stable")
    nodes, faces, top = pocket.nodes[order], pocket.faces[order], top[order]
    show = mark_rank(cavity.part.marks[faces]) == 2
    left = np.concatenate([[0.0], np.cumsum(np.arange(1, len(top)) * -np.diff(top))]) * d.pitch_mm**2
    show_left = np.concatenate([[0.0], np.cumsum(np.cumsum(show)[:-1] * -np.diff(top))]) * d.pitch_mm**2
    able = np.flatnonzero((left <= accepted.air_mm3) & (show_left <= accepted.show_mm3))
    points = np.stack([node_top_mm(cavity, int(node)) for node in nodes[able]])
    kinds = places_of(cavity.part, points, faces[able].astype(np.int64), seam=ways.seam)
    rank = sorted(range(len(able)), key=lambda k: (list(PlaceKind).index(kinds[k]), k))
    best = rank[0]
    level = top[able[best]] - SAME_LEVEL_MM
    same = [k for k in range(len(able)) if kinds[k] is kinds[best] and top[able[k]] >= level]
    first = same[most_inside(cavity, nodes[able[same]])]
    tried = well_apart(points, [first, *rank])
    spouts = [
        Spout(
            at_mm=settled(cavity, points[k]) if len(same) == 1 and able[k] == 0 else points[k],
            place=kinds[k],
            reason=_reason(pocket, kinds[k], moved=bool(top[0] - top[able[k]] > d.pitch_mm)),
        )
        for k in tried
    ]
    return spouts + _on_seam_of_pocket(ways, pocket, nodes)


def _on_seam_of_pocket(ways: Ways, pocket: Pocket, nodes: IntArray) -> list[Spout]:
    """The highest places of the pocket on the parting line, though some air stays above them."""
    if ways.surface is None:
        return []
    points = roofs(ways, nodes[:: max(1, len(nodes) // MOST_LOOKED_AT)])
    near = points[near_seam(points, ways.seam)]
    order = list(np.argsort(-(near @ ways.cavity.up), kind="stable"))
    reason = _reason(pocket, PlaceKind.SEAM, moved=True)
    return [
        Spout(
            at_mm=near[k],
            place=place_at(ways.cavity.part, near[k], up=ways.cavity.up, seam=ways.seam),
            reason=reason,
        )
        for k in well_apart(near, order)
    ]


def vent_from(
    ways: Ways, spouts: list[Spout], *, radius_mm: float, mouth_ratio: float
) -> tuple[Channel | None, Ways]:
    """The vent at the first place that has a way out, and the ground with it."""
    for spout in spouts:
        fitting_mm = fitting_radius_mm(ways.cavity, spout.at_mm, asked_mm=radius_mm)
        way = way_out(ways, spout.at_mm, use=ChannelUse.VENT, radius_mm=fitting_mm, mouth_mm=mouth_ratio * fitting_mm)
        if way is not None:
            vent = Channel(
                use=ChannelUse.VENT,
                path_mm=way.path_mm,
                radius_start_mm=fitting_mm,
                radius_end_mm=way.mouth_mm,
                made_as=way.made_as,
                place=spout.place,
                reason=spout.reason,
            )
            return vent, with_channel(ways, way.path_mm, way.mouth_mm)
    return None, ways


def filled(ways: Ways, gates_mm: tuple[FloatArray, ...], vents: list[Channel], passage_mm: float) -> Fill:
    """The filling with these openings."""
    at = tuple(vent.at_mm for vent in vents)
    return fill_cavity(
        ways.cavity, gate_mm=gates_mm[0], more_gates_mm=gates_mm[1:], vents_mm=at, passage_mm=passage_mm
    )


def roofs(ways: Ways, nodes: IntArray) -> FloatArray:
    """Points (k, 3) where the lines of `nodes` (k,) leave the cavity."""
    cavity = ways.cavity
    d = cavity.dexels
    i, j = cavity.column[nodes] % d.nx, cavity.column[nodes] // d.nx
    local = np.column_stack([d.origin_mm + d.pitch_mm * np.column_stack([i, j]), d.z_mm[2 * nodes + 1]])
    points: FloatArray = local @ d.frame
    return points


def well_apart(points: FloatArray, order: list[int], *, apart_mm: float = APART_MM) -> list[int]:
    """The first of `order`, each at least `apart_mm` from those before it; no more than `MOST_TRIED`."""
    kept: list[int] = []
    for k in order:
        if all(np.linalg.norm(points[k] - points[other]) > apart_mm for other in kept):
            kept.append(k)
        if len(kept) == MOST_TRIED:
            break
    return kept


def _reason(pocket: Pocket, place: PlaceKind, *, moved: bool) -> str:
    said = f"lets {pocket.volume_mm3:.1f} mm³ of air out, {WORDS[place]}"
    if place in BAD_PLACES:
        return said + ": nothing better lies high enough in this pocket; trim the stub, or turn the mould"
    return said + (", just below the peak" if moved else "")


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
