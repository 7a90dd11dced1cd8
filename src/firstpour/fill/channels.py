"""The gates and the vents proposed for a part: where, how thick, which way out, how they are made, and why."""

from dataclasses import dataclass, replace

import numpy as np

from firstpour.errors import BadRequest
from firstpour.fill.breathing import Mix
from firstpour.fill.cavity import Cavity, cut_cavity, highest_place, on_surface
from firstpour.fill.channel_findings import (
    air_findings,
    below_top_finding,
    blocked_finding,
    gate_findings,
    vent_findings,
)
from firstpour.fill.flow_remedies import WIDEST_GATE_MM
from firstpour.fill.gates import FootKind, GatePlace, fan_path, gate_foot, gate_places, place_of
from firstpour.fill.last_vent import breathing_vent
from firstpour.fill.mouths import runs_over_findings
from firstpour.fill.places import BAD_PLACES, WORDS
from firstpour.fill.pockets import check_passage, fill_cavity, vents_below
from firstpour.fill.routes import stands_on_part
from firstpour.fill.surface_ways import PartingSurface
from firstpour.fill.values import (
    GATE_RADIUS_MM,
    MOUTH_RATIO,
    SMALL_AIR_MM3,
    SMALL_SHOW_AIR_MM3,
    VENT_RADIUS_MM,
    Channel,
    ChannelUse,
    Fill,
    MadeAs,
)
from firstpour.fill.vents import Accepted, Spout, vent_from, vent_pockets
from firstpour.fill.ways import Ways, lay_ways, way_out, with_channel
from firstpour.fill.widths import sink_mm
from firstpour.part.part import Part
from firstpour.values import Finding, FloatArray

WIDEST_MM = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChannelPlan:
    """The gates, the vents and what they do: the filling with the gates alone, and with all of them.

    `gates` is empty, and vents are missing, where no clear way out was found; a finding says so.
    """

    gates: tuple[Channel, ...]
    vents: tuple[Channel, ...]
    gate_alone: Fill
    vented: Fill
    findings: tuple[Finding, ...]

    @property
    def gate(self) -> Channel | None:
        """The first gate, if any."""
        return self.gates[0] if self.gates else None

    @property
    def widest_gate_mm(self) -> float:
        """Radius of the widest gate at its place: the gate's own where the part narrowed it."""
        narrowed = any(finding.code == f"{ChannelUse.GATE.value}-narrowed" for finding in self.findings)
        return self.gate.radius_start_mm if narrowed and self.gate is not None else WIDEST_GATE_MM

    @property
    def channels(self) -> tuple[Channel, ...]:
        """Gates and vents."""
        return (*self.gates, *self.vents)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelSizes:
    """Radii of gate and vents at the part, how much wider they are outside, and the silicone around the part, mm."""

    gate_radius_mm: float = GATE_RADIUS_MM
    vent_radius_mm: float = VENT_RADIUS_MM
    mouth_ratio: float = MOUTH_RATIO
    wall_mm: float = 8.0

    def __post_init__(self) -> None:
        for name, radius_mm in (("gate", self.gate_radius_mm), ("vents", self.vent_radius_mm)):
            if not 0 < radius_mm <= WIDEST_MM:
                raise BadRequest(
                    f"a radius of {radius_mm:g} mm for the {name}",
                    remedy=f"give one above 0, at most {WIDEST_MM:g} mm",
                )


def propose_channels(
    part: Part,
    *,
    up: FloatArray,
    draw: FloatArray | None = None,
    surface: PartingSurface | None = None,
    gates_mm: tuple[FloatArray, ...] = (),
    vents_mm: tuple[FloatArray, ...] = (),
    sizes: ChannelSizes | None = None,
    spheres: FloatArray | None = None,
    resolution: int = 128,
    passage_mm: float = 0.0,
    accept_mm3: float = SMALL_AIR_MM3,
    accept_show_mm3: float = SMALL_SHOW_AIR_MM3,
    mix: Mix | None = None,
) -> ChannelPlan:
    """Propose the gate and the vents for a pour with `up` on top.

    With a parting `surface` the channels lie on it or run straight along the draw through one half; without, they are
    those of a block that is cut open. `gates_mm` and `vents_mm` fix openings on the part's surface; `spheres` (k, 4:
    x, y, z, radius) keep channels off keys. `mix` (or a typical one) says whether a full gate breathes.

    Raises
    ------
    BadRequest
        As `find_pockets`; also if a radius is not above 0 or larger than `WIDEST_MM`.
    """
    check_passage(passage_mm)
    sizes = sizes or ChannelSizes()
    accepted = Accepted(air_mm3=accept_mm3, show_mm3=accept_show_mm3)
    cavity = cut_cavity(part, np.asarray(up, dtype=np.float64), resolution=resolution)
    fixed = tuple(on_surface(cavity, gate, name="the gate") for gate in gates_mm)
    given = tuple(on_surface(cavity, vent, name=f"vent {k + 1}") for k, vent in enumerate(vents_mm))
    ways = lay_ways(cavity, draw=draw, surface=surface, wall_mm=sizes.wall_mm, spheres=spheres)
    gates, missed, ways = _gates(ways, fixed, sizes)
    own, missed_vents, ways = _given_vents(ways, given, sizes)
    at = tuple(gate.at_mm for gate in gates) or missed[:1]
    alone = fill_cavity(cavity, gate_mm=at[0], more_gates_mm=at[1:], passage_mm=passage_mm)
    vented = vent_pockets(
        ways, gates_mm=at, given=own, radius_mm=sizes.vent_radius_mm, mouth_ratio=sizes.mouth_ratio,
        passage_mm=passage_mm, accepted=accepted,
    )  # fmt: skip
    if gates:
        vented = breathing_vent(
            vented, gates=gates, radius_mm=sizes.vent_radius_mm, mouth_ratio=sizes.mouth_ratio, passage_mm=passage_mm,
            mix=mix,
        )  # fmt: skip
    vents = tuple(_sunk(cavity, vent) for vent in vented.vents)
    blocked = [(ChannelUse.GATE, place) for place in missed]
    blocked += [(ChannelUse.VENT, place) for place in (*missed_vents, *(spout.at_mm for spout in vented.blocked))]
    findings = [
        *vented.fill.findings,
        *vented.findings,
        *vents_below(cavity, at[0], given),
        *(below_top_finding(cavity, gates[0], alone) if gates and not fixed else ()),
        *(found for gate in gates for found in gate_findings(gate, asked_mm=sizes.gate_radius_mm)),
        *(found for vent in vents for found in vent_findings(vent, asked_mm=sizes.vent_radius_mm)),
        *runs_over_findings(ways.ground, gates, vents),
        *(blocked_finding(use, place) for use, place in blocked),
        *air_findings(vented.fill, accepted),
    ]
    return ChannelPlan(
        gates=gates, vents=vents, gate_alone=alone, vented=vented.fill, findings=tuple(dict.fromkeys(findings))
    )


def _gates(
    ways: Ways, fixed_mm: tuple[FloatArray, ...], sizes: ChannelSizes
) -> tuple[tuple[Channel, ...], tuple[FloatArray, ...], Ways]:
    """The gates with a way out, the places wanted that have none, and the ground after."""
    if not fixed_mm:
        places = gate_places(ways, radius_mm=sizes.gate_radius_mm)
        gate = _best_gate(ways, places, sizes)
        if gate is not None:
            return (gate,), (), with_channel(ways, gate.path_mm, gate.radius_end_mm)
        return (), (places[0].at_mm if places else highest_place(ways.cavity),), ways
    gates: list[Channel] = []
    missed: list[FloatArray] = []
    for at in fixed_mm:
        foot = gate_foot(ways, at, radius_mm=sizes.gate_radius_mm)
        place = GatePlace(at_mm=at, kind=place_of(ways, at), below_top_mm=0.0, foot=foot)
        gate = _gate(ways, place, sizes, reason="given")
        if gate is None:
            missed.append(at)
            continue
        gates.append(gate)
        ways = with_channel(ways, gate.path_mm, gate.radius_end_mm)
    return tuple(gates), tuple(missed), ways


def _best_gate(ways: Ways, places: list[GatePlace], sizes: ChannelSizes) -> Channel | None:
    """The gate at the first place that has a way out, first of those where no loose rod hangs over an edge."""
    over = None
    for place in places:
        gate = _gate(ways, place, sizes, reason=_why_here(ways, place, sizes))
        if gate is None:
            continue
        rod = gate.made_as is MadeAs.LOOSE_ROD and place.foot.kind is not FootKind.TIP
        if not rod or stands_on_part(ways.ground, gate.path_mm, radius_mm=gate.radius_start_mm):
            return gate
        over = over or gate
    return over


def _gate(ways: Ways, place: GatePlace, sizes: ChannelSizes, *, reason: str) -> Channel | None:
    """The gate from a place, or None where no way leads out."""
    foot = place.foot
    radius_mm, mouth_mm = foot.radius_mm, sizes.mouth_ratio * sizes.gate_radius_mm
    way = way_out(ways, place.at_mm, use=ChannelUse.GATE, radius_mm=radius_mm, mouth_mm=mouth_mm)
    if way is None:
        return None
    if foot.kind is FootKind.FAN:
        path = fan_path(ways, way, foot)
        if path is None:
            narrow = replace(foot, kind=FootKind.NARROW, radius_mm=foot.foot_radius_mm, feet_mm=np.empty((0, 3)))
            return _gate(ways, replace(place, foot=narrow), sizes, reason=reason)
        way = replace(way, path_mm=path)
    gate = Channel(
        use=ChannelUse.GATE,
        path_mm=way.path_mm,
        radius_start_mm=radius_mm,
        radius_end_mm=way.mouth_mm,
        made_as=way.made_as,
        place=place.kind,
        reason=reason,
        feet_mm=foot.feet_mm,
        foot_radius_mm=foot.foot_radius_mm if foot.kind is FootKind.FAN else 0.0,
    )
    return replace(gate, sink_mm=foot.tip_mm) if foot.kind is FootKind.TIP else _sunk(ways.cavity, gate)


def _given_vents(
    ways: Ways, given_mm: tuple[FloatArray, ...], sizes: ChannelSizes
) -> tuple[tuple[Channel, ...], tuple[FloatArray, ...], Ways]:
    """The maker's own vents with a way out, those without, and the ground after."""
    vents: list[Channel] = []
    missed: list[FloatArray] = []
    for at in given_mm:
        spout = Spout(at_mm=at, place=place_of(ways, at), reason="given")
        vent, ways = vent_from(ways, [spout], radius_mm=sizes.vent_radius_mm, mouth_ratio=sizes.mouth_ratio)
        if vent is None:
            missed.append(at)
        else:
            vents.append(vent)
    return tuple(vents), tuple(missed), ways


def _sunk(cavity: Cavity, channel: Channel) -> Channel:
    """The channel, reaching no farther into the part than its wall allows."""
    first = channel.path_mm[1] - channel.path_mm[0]
    radius_mm = channel.foot_radius_mm or channel.radius_start_mm
    return replace(
        channel,
        sink_mm=sink_mm(cavity, channel.at_mm, along=first / np.linalg.norm(first), radius_mm=radius_mm),
    )


def _why_here(ways: Ways, place: GatePlace, sizes: ChannelSizes) -> str:
    """Why the gate goes here, and if it is not the highest place, why not there."""
    here = WORDS[place.kind]
    if place.below_top_mm <= max(0.5, ways.cavity.dexels.pitch_mm):
        return f"the highest place, {here}"
    top = highest_place(ways.cavity)
    kind = place_of(ways, top)
    narrow = gate_foot(ways, top, radius_mm=sizes.gate_radius_mm).kind is FootKind.NARROW
    why = f"lies {WORDS[kind]}" if kind in BAD_PLACES else "is too narrow" if narrow else "has no clear way out"
    return f"{place.below_top_mm:.1f} mm below the highest place, which {why}; {here}"
