"""The gate and the vents proposed for a part: where, how thick, which way out, and why."""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from firstpour.errors import BadRequest
from firstpour.fill.cavity import Cavity, cut_cavity, highest_place, mark_rank, node_top_mm, on_surface, opening_nodes
from firstpour.fill.flow_remedies import WIDEST_GATE_MM
from firstpour.fill.places import WORDS
from firstpour.fill.pockets import check_passage, fill_cavity, vents_below
from firstpour.fill.routes import Ground, lay_ground, route
from firstpour.fill.spots import nearest_spot
from firstpour.fill.values import SMALL_AIR_MM3, SMALL_SHOW_AIR_MM3, Fill, PlaceKind
from firstpour.fill.vents import BAD_PLACES, place_at, vent_pockets
from firstpour.kernels.passages import run_length
from firstpour.part.part import Part
from firstpour.values import Finding, FloatArray, Severity, frozen_array, place_words

LEAST_RADIUS_MM = 0.5
WIDEST_MM = 100.0
SHARE_OF_WIDTH = 0.4
"""A channel takes at most this share of the part's width for its radius, so that it stays on its face."""
LOOK_BELOW_MM = 1.5
MOST_GATES_TRIED = 300
TOO_NARROW = 0.6
"""A gate narrowed below this share of its radius goes elsewhere, and its peak gets a vent. An estimate of our own."""
WORTH_SAYING = 0.8
"""A channel narrowed to no less than this share of what was asked gets no finding."""
MOST_NAMED = 5
"""Pockets that get a finding of their own; the rest are counted together."""


class Use(StrEnum):
    """A gate lets the casting material in; a vent lets the air out."""

    GATE = "gate"
    VENT = "vent"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Route:
    """One channel: from `at_mm` on the part along `path_mm` (k, 3) to the outside of the block."""

    use: Use
    at_mm: FloatArray
    path_mm: FloatArray
    radius_start_mm: float
    radius_end_mm: float
    place: PlaceKind
    reason: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "path_mm", frozen_array(self.path_mm, np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChannelPlan:
    """The gate, the vents and what they do: the filling with the gate alone, and with all of them.

    `gate` is None, and vents are missing, where no clear way out was found; an `error` finding says so.
    """

    gate: Route | None
    vents: tuple[Route, ...]
    gate_alone: Fill
    vented: Fill
    findings: tuple[Finding, ...]

    @property
    def widest_gate_mm(self) -> float:
        """Radius of the widest gate at its place: the gate's own where the part narrowed it."""
        narrowed = any(finding.code == f"{Use.GATE.value}-narrowed" for finding in self.findings)
        return self.gate.radius_start_mm if narrowed and self.gate is not None else WIDEST_GATE_MM


def propose_channels(
    part: Part,
    *,
    up: FloatArray,
    draw: FloatArray | None = None,
    seam_mm: tuple[FloatArray, ...] | None = None,
    gate_mm: FloatArray | None = None,
    vents_mm: tuple[FloatArray, ...] = (),
    wall_mm: float = 8.0,
    gate_radius_mm: float = 3.0,
    vent_radius_mm: float = 1.0,
    mouth_ratio: float = 1.5,
    spheres: FloatArray | None = None,
    resolution: int = 128,
    passage_mm: float = 0.0,
    accept_mm3: float = SMALL_AIR_MM3,
    accept_show_mm3: float = SMALL_SHOW_AIR_MM3,
) -> ChannelPlan:
    """Propose the gate and the vents for a pour with `up` on top.

    `gate_mm` and `vents_mm` fix openings on the surface; `spheres` (k, 4: x, y, z, radius) keep channels off keys.
    `wall_mm` is the silicone around the part. Channels widen towards the outside by `mouth_ratio`, so that
    the stub breaks off at the part; the radii are typical of hand pouring (common practice, no source).

    Raises
    ------
    BadRequest
        As `find_pockets`; also if a radius is not above 0 or larger than `WIDEST_MM`.
    """
    check_passage(passage_mm)
    for name, radius_mm in (("gate", gate_radius_mm), ("vents", vent_radius_mm)):
        if not 0 < radius_mm <= WIDEST_MM:
            raise BadRequest(
                f"a radius of {radius_mm:g} mm for the {name}", remedy=f"give one above 0, at most {WIDEST_MM:g} mm"
            )
    cavity = cut_cavity(part, np.asarray(up, dtype=np.float64), resolution=resolution)
    given = tuple(on_surface(cavity, vent, name=f"vent {k + 1}") for k, vent in enumerate(vents_mm))
    gate = (
        best_gate(cavity, seam_mm, radius_mm=gate_radius_mm)
        if gate_mm is None
        else on_surface(cavity, gate_mm, name="the gate")
    )
    alone = fill_cavity(cavity, gate_mm=gate, passage_mm=passage_mm)
    vented = vent_pockets(
        cavity, gate_mm=gate, given_mm=given, seam_mm=seam_mm, passage_mm=passage_mm,
        accept_mm3=accept_mm3, accept_show_mm3=accept_show_mm3,
    )  # fmt: skip
    ground = lay_ground(part, up=cavity.up, draw=draw, wall_mm=wall_mm, spheres=spheres, resolution=resolution)
    place = place_at(cavity, gate, seam_mm)
    reason = "given" if gate_mm is not None else f"the highest place, {WORDS[place]}"
    wanted = [(Use.GATE, gate, gate_radius_mm, place, reason)]
    wanted += [(Use.VENT, vent.at_mm, vent_radius_mm, vent.place, vent.reason) for vent in vented.vents]
    routes: list[Route] = []
    findings = [*vented.fill.findings, *vents_below(cavity, gate, given)]
    for use, at, asked_mm, kind, why in wanted:
        radius_mm, narrow = fitting_radius(cavity, use, at, asked_mm)
        findings += narrow
        laid = _lay(cavity, ground, use, at, radius_mm, mouth_ratio, kind, why, draw)
        findings += _place_findings(use, at, kind)
        if laid is None:
            findings.append(_no_way(use, at))
            continue
        routes.append(laid)
        ground = replace(ground, laid=(*ground.laid, (laid.path_mm, laid.radius_end_mm)))
    laid_vents = tuple(r for r in routes if r.use is Use.VENT)
    filled = vented.fill
    if len(laid_vents) < len(vented.vents):
        open_mm = tuple(vent.at_mm for vent in laid_vents)
        filled = fill_cavity(cavity, gate_mm=gate, vents_mm=open_mm, passage_mm=passage_mm)
    findings += _air_findings(filled, accept_mm3, accept_show_mm3)
    return ChannelPlan(
        gate=next((r for r in routes if r.use is Use.GATE), None),
        vents=laid_vents,
        gate_alone=alone,
        vented=filled,
        findings=tuple(findings),
    )


def best_gate(cavity: Cavity, seam_mm: tuple[FloatArray, ...] | None, *, radius_mm: float) -> FloatArray:
    """The highest place for a gate of `radius_mm`: the top peak, unless it shows, fits something or is too narrow.

    Then the highest place that is none of these; if there is none, the highest that neither shows nor fits something.
    """
    top = highest_place(cavity)
    good = place_at(cavity, top, seam_mm) not in BAD_PLACES
    if good and is_wide_enough(cavity, top, radius_mm=TOO_NARROW * radius_mm):
        return top
    d = cavity.dexels
    better = np.flatnonzero(mark_rank(cavity.part.marks[d.face[1::2]]) <= 1)
    middle = 0.5 * (d.z_mm[1::2].max() + d.z_mm[0::2].min())
    better = better[d.z_mm[2 * better + 1] > middle]
    better = better[np.argsort(-d.z_mm[2 * better + 1], kind="stable")]
    places = [node_top_mm(cavity, int(n)) for n in better[:: max(1, len(better) // MOST_GATES_TRIED)]]
    places = [place for place in places if place_at(cavity, place, seam_mm) not in BAD_PLACES]
    for place in places:
        if is_wide_enough(cavity, place, radius_mm=WORTH_SAYING * radius_mm):
            return place
    return top if good or not places else places[0]


def is_wide_enough(cavity: Cavity, at: FloatArray, *, radius_mm: float) -> bool:
    """Whether the part is wide enough below a place for a channel of `radius_mm`."""
    return SHARE_OF_WIDTH * width_below(cavity, at) >= radius_mm


def fitting_radius(cavity: Cavity, use: Use, at: FloatArray, asked_mm: float) -> tuple[float, list[Finding]]:
    """The radius asked for, or less where the part is too narrow for it, and a finding that says so."""
    width_mm = width_below(cavity, at)
    radius_mm = max(LEAST_RADIUS_MM, min(asked_mm, SHARE_OF_WIDTH * width_mm))
    if radius_mm >= WORTH_SAYING * asked_mm:
        return min(radius_mm, asked_mm), []
    finding = Finding(
        severity=Severity.INFO,
        code=f"{use.value}-narrowed",
        what=f"the part is about {width_mm:.1f} mm wide here: the {use.value} is {2 * radius_mm:.1f} mm across",
        remedy="check the flow; if it is too slow, add a second gate or fix a wider place",
        where=place_words(at),
    )
    return radius_mm, [finding]


def width_below(cavity: Cavity, at: FloatArray) -> float:
    """Width of the part just below a place, mm: the shortest of four level chords, at most a twelfth too much."""
    d = cavity.dexels
    node = int(opening_nodes(cavity, at[None])[0][0])
    top, bottom = d.z_mm[2 * node + 1], d.z_mm[2 * node]
    level = max(top - LOOK_BELOW_MM, 0.5 * (top + bottom))
    line, most = cavity.column[node], max(d.nx, d.ny)
    chords = []
    for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
        ways = (run_length(line, s * dx, s * dy, level, d.z_mm, d.nx, d.ny, cavity.start, most) for s in (1, -1))
        chords.append((1 + sum(ways)) * np.hypot(dx, dy))
    return float(min(chords)) * d.pitch_mm


def _lay(
    cavity: Cavity, ground: Ground, use: Use, at: FloatArray, radius_mm: float, mouth_ratio: float,
    kind: PlaceKind, why: str, draw: FloatArray | None,
) -> Route | None:  # fmt: skip
    normal = nearest_spot(cavity.part, at, up=cavity.up).normal
    mouth_mm = radius_mm * mouth_ratio
    path = route(ground, at, normal=normal, radius_mm=mouth_mm, draw=draw, on_seam=kind is PlaceKind.SEAM)
    if path is None:
        return None
    return Route(
        use=use, at_mm=at, path_mm=path, radius_start_mm=radius_mm, radius_end_mm=mouth_mm, place=kind, reason=why
    )


def _place_findings(use: Use, at: FloatArray, kind: PlaceKind) -> list[Finding]:
    if kind not in BAD_PLACES:
        return []
    return [
        Finding(
            severity=Severity.WARNING,
            code=f"{use.value}-{kind.value}",
            what=f"the {use.value} lies {WORDS[kind]}: its stub leaves a mark there",
            remedy="turn the mould so that a hidden face is on top, mark one as hidden, or plan to trim and polish",
            where=place_words(at),
        )
    ]


def _no_way(use: Use, at: FloatArray) -> Finding:
    return Finding(
        severity=Severity.ERROR if use is Use.GATE else Severity.WARNING,
        code=f"{use.value}-blocked",
        what=f"no clear way out of the block was found for the {use.value}",
        remedy="turn the mould, make the channel thinner, or fix its place in job.toml",
        where=place_words(at),
    )


def _air_findings(filled: Fill, accept_mm3: float, accept_show_mm3: float) -> list[Finding]:
    much = [p for p in filled.pockets if p.volume_mm3 > accept_mm3 or p.show_mm3 > accept_show_mm3]
    found = [
        Finding(
            severity=Severity.WARNING,
            code="air-stays",
            what=f"{pocket.volume_mm3:.2f} mm³ of air stay" + (" on a show face" if pocket.on_show else ""),
            remedy="turn the mould, or give this pocket a vent of its own",
            where=place_words(pocket.top_mm),
        )
        for pocket in much[:MOST_NAMED]
    ]
    if len(much) > MOST_NAMED:
        air = sum(pocket.volume_mm3 for pocket in much[MOST_NAMED:])
        text = f"{len(much) - MOST_NAMED} more pockets hold {air:.1f} mm³ of air"
        found.append(
            Finding(
                severity=Severity.WARNING, code="more-air-stays", what=text, remedy="turn the mould another way up"
            )
        )
    return found
