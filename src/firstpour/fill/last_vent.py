"""The vent that breathes while the gate is full: at the place that fills last, away from the gate, or why none is."""

from dataclasses import dataclass, replace

import numpy as np

from firstpour.fill.breathing import Mix, breath_of
from firstpour.fill.cavity import SAME_LEVEL_MM
from firstpour.fill.channel_findings import vent_near_gate, vent_no_place, vent_not_needed
from firstpour.fill.places import BAD_PLACES, WORDS, places_of, points_along
from firstpour.fill.spots import nearest_spots
from firstpour.fill.values import Channel, PlaceKind
from firstpour.fill.vents import (
    APART_MM,
    MOST_LOOKED_AT,
    Spout,
    Vented,
    filled,
    roofs,
    vent_from,
    well_apart,
)
from firstpour.fill.ways import Ways
from firstpour.values import FloatArray, IntArray

UNKNOWN_FACE = -1
AWAY_RATIO = 0.12
"""The vent lies so far from the gate, as a share of the part's diagonal, if any way out is there. An estimate of our
own (decision 0035)."""
SPREAD_RATIO = 0.03
"""Places that are tried one after the other lie so far from each other, as a share of the part's diagonal."""


def breathing_vent(
    vented: Vented,
    *,
    gates: tuple[Channel, ...],
    radius_mm: float,
    mouth_ratio: float,
    passage_mm: float,
    mix: Mix | None = None,
) -> Vented:
    """With a vent more at the place that fills last, away from the gates, unless one is that high or a gate is wide.

    A gate full of material lets no air out (`breath_of`). Where no way leads out `AWAY_RATIO` from the gates, the
    vent comes as near as the channels allow, and that is said; so it is where none is needed or none is possible.
    """
    ways, gate = vented.ways, gates[0]
    mix = mix or Mix()
    breath = breath_of(ways.cavity, gate, mix=mix)
    if breath.serves:
        return replace(vented, findings=(vent_not_needed(gate, breath, mix),))
    least_mm = gate.radius_start_mm + max(gate.radius_end_mm, 2 * gate.radius_start_mm) + radius_mm
    wanted_mm = max(least_mm, AWAY_RATIO * diagonal_mm(ways))
    gates_mm = tuple(one.at_mm for one in gates)
    blocked: list[Spout] = []
    for apart_mm in dict.fromkeys((wanted_mm, least_mm)):
        spouts = last_spouts(ways, gates_mm=gates_mm, apart_mm=apart_mm)
        vent, after = _as_high(vented, spouts[:1], gates_mm=gates_mm, apart_mm=apart_mm), vented
        if vent is None:
            vent, ways_after = vent_from(ways, spouts, radius_mm=radius_mm, mouth_ratio=mouth_ratio)
            if vent is None:
                blocked += spouts[:1]
                continue
            vents = (*vented.vents, vent)
            fill = filled(ways, gates_mm, list(vents), passage_mm)
            after = replace(vented, vents=vents, fill=fill, ways=ways_after)
        if apart_mm == wanted_mm:
            return after
        away_mm = float(_from_gates_mm(vent.at_mm[None], gates_mm)[0])
        return replace(after, findings=(vent_near_gate(vent, away_mm=away_mm, wanted_mm=wanted_mm),))
    if not blocked:
        return replace(vented, findings=(vent_no_place(gate, apart_mm=least_mm),))
    return replace(vented, blocked=(*vented.blocked, blocked[0]))


def diagonal_mm(ways: Ways) -> float:
    """Diagonal of the box around the part that lies as the block does."""
    return float(np.linalg.norm(np.ptp(ways.cavity.part.mesh.vertices_mm @ ways.ground.box.T, axis=0)))


def _as_high(
    vented: Vented, spouts: list[Spout], *, gates_mm: tuple[FloatArray, ...], apart_mm: float
) -> Channel | None:
    """A vent that is there already, as high as the place to breathe through and as far from the gates."""
    cavity = vented.ways.cavity
    slack = max(cavity.dexels.pitch_mm, 0.5)
    for spout in spouts:
        for vent in vented.vents:
            far = _from_gates_mm(vent.at_mm[None], gates_mm)[0] >= apart_mm
            if far and float(vent.at_mm @ cavity.up) >= float(spout.at_mm @ cavity.up) - slack:
                return vent
    return None


def last_spouts(ways: Ways, *, gates_mm: tuple[FloatArray, ...], apart_mm: float) -> list[Spout]:
    """Places for the vent that breathes: the highest `apart_mm` or more from the gates, the farthest among equals."""
    cavity = ways.cavity
    step = max(0.5, cavity.dexels.pitch_mm)
    places = _high_places(ways, gates_mm=gates_mm, apart_mm=apart_mm)
    points = places.points_mm
    if len(points) == 0:
        return []
    kinds = places_of(cavity.part, points, places.faces, seam=ways.seam)
    level = points @ cavity.up
    away = _from_gates_mm(points, gates_mm)
    order = sorted(
        range(len(points)),
        key=lambda k: (
            kinds[k] in BAD_PLACES,
            round(float(level.max() - level[k]) / step),
            list(PlaceKind).index(kinds[k]),
            -float(away[k]),
        ),
    )
    said = "lets the air out while the gate is full of material"
    spread_mm = max(APART_MM, SPREAD_RATIO * float(np.linalg.norm(np.ptp(cavity.part.mesh.vertices_mm, axis=0))))
    return [
        Spout(at_mm=points[k], place=kinds[k], reason=f"{said}, {WORDS[kinds[k]]}")
        for k in well_apart(points, order, apart_mm=spread_mm)
    ]


def _from_gates_mm(points: FloatArray, gates_mm: tuple[FloatArray, ...]) -> FloatArray:
    """Distance (k,) of each point from the nearest gate."""
    away: FloatArray = np.min([np.linalg.norm(points - gate, axis=1) for gate in gates_mm], axis=0)
    return away


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Places:
    """Points (k, 3) of the surface and the faces (k,) that they lie on."""

    points_mm: FloatArray
    faces: IntArray


def _high_places(ways: Ways, *, gates_mm: tuple[FloatArray, ...], apart_mm: float) -> _Places:
    """Places on the parting line and, where a channel may leave elsewhere, the highest of the roof."""
    cavity = ways.cavity
    points = [points_along(loop) for loop in (ways.seam.loops_mm if ways.seam else ())]
    faces = [np.full(len(some), UNKNOWN_FACE) for some in points]
    if ways.surface is None or ways.lone_serves:
        nodes = np.arange(len(cavity.dexels.z_mm) // 2)
        points.append(roofs(ways, nodes))
        faces.append(cavity.dexels.face[2 * nodes + 1].astype(np.int64))
    places = np.concatenate(points) if points else np.empty((0, 3))
    levels = places @ cavity.up
    order = np.flatnonzero(_from_gates_mm(places, gates_mm) >= apart_mm)
    order = order[np.argsort(-levels[order], kind="stable")]
    level = levels[order[: 2 * MOST_LOOKED_AT]]
    same = int((level >= level[:1].sum() - SAME_LEVEL_MM).sum()) if len(level) else 0
    if same == len(level):  # a level roof: the whole of it, thinned out
        all_same = int((levels[order] >= level.min(initial=np.inf) - SAME_LEVEL_MM).sum())
        order = order[: all_same : max(1, all_same // MOST_LOOKED_AT)]
    order = order[: 2 * MOST_LOOKED_AT]
    under = np.concatenate(faces)[order] if faces else np.empty(0, np.int64)
    unknown = np.flatnonzero(under == UNKNOWN_FACE)
    under[unknown] = nearest_spots(cavity.part, places[order[unknown]], up=cavity.up).faces
    return _Places(points_mm=places[order], faces=under)
