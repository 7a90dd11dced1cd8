"""The fill's part of the plan: which side up, where gate and vents go, and what air stays."""

from dataclasses import dataclass, replace

import numpy as np

from firstpour.fill.breathing import Mix
from firstpour.fill.channels import ChannelPlan, propose_channels
from firstpour.fill.flow import Flow, Liquid, pour_flow
from firstpour.fill.pour import rank_pours
from firstpour.fill.values import SMALL_AIR_MM3, Channel, MadeAs, Pour, PourKind
from firstpour.fill.wedge import wedge_foot
from firstpour.job.job import PartRequest
from firstpour.mould.channels import channel_sizes, surface_of
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Mould, Piece, Role
from firstpour.part.part import Part
from firstpour.parting.parting import Parting
from firstpour.parting.values import MouldKind
from firstpour.values import Finding, FloatArray, Severity, mesh_volume_mm3

SHOWN_POURS = 8
RESOLUTION = 256
"""Lines of the grid for the pour that is taken."""
LEVEL_ROOF_MM2 = 100.0
MOST_TRIED = 6
"""Pour directions for which channels are laid before the one with the least trouble is taken."""
FLAT_TRIED = 2
"""So many that lie flat are tried as well where the one with the least trouble fills slowly."""
NO_TROUBLE = (0, 0.0, 0)
LEAST_HEAD_MM = 5.0
"""Head of material above the cavity, the least: a filled gate, an estimate of our own."""
SLOW_S = 240.0
"""A cavity that takes longer through its gate, freshly mixed, is slow to fill; every doubling weighs as one lone
channel (our own choice, decision 0077)."""
WEDGE_FOOT = "wedge-foot"
"""Name of the piece that tilts the closed mould; its mesh lies in a frame of its own, not in the mould's."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartFill:
    """The pour of one part: the ranked directions (none where the maker fixed one), the one taken, the channels."""

    pours: tuple[Pour, ...]
    up: FloatArray
    plan: ChannelPlan
    findings: tuple[Finding, ...]

    @property
    def channels(self) -> tuple[Channel, ...]:
        """Gate and vents as the mould takes them."""
        return self.plan.channels


def plan_fill(
    part: Part,
    parting: Parting,
    request: PartRequest,
    settings: MouldSettings,
    *,
    mix: Mix | None = None,
    beside: bool = False,
) -> PartFill | None:
    """Choose the pour direction, gate and vents; None for an open-face mould, which is open where it is poured.

    A block mould is poured along the draw: its master stands on its gate; so is a mould with a basin over its gates,
    either way up. `mix` is the casting material where it is known; where the best pour fills slowly with it, those
    that lie flat are tried as well. `beside`: other parts lie beside it, so that its channels leave along the draw
    alone.

    Raises
    ------
    BadRequest
        If a gate or a vent of the maker's lies off the part, or the pour direction has no length.
    """
    if parting.kind is MouldKind.OPEN_FACE:
        return None
    draw, seam_mm = parting.draw.direction, parting.seam_on_part_mm
    pours: tuple[Pour, ...] = ()
    if request.up is not None:
        ups = [np.array(request.up)]
    elif parting.kind is MouldKind.BLOCK:
        ups = [draw]
    elif request.basin and parting.kind is MouldKind.TRAYS:
        ups = [draw, -draw]
    else:
        pours = rank_pours(part, draw=draw, seam_mm=seam_mm)
        pours = _to_try(pours)
        ups = [pour.up for pour in pours[:MOST_TRIED]]
    surface = surface_of(parting)
    if surface is not None:
        surface = replace(surface, beside=beside)

    def laid(up: FloatArray) -> tuple[ChannelPlan, int]:
        plan = propose_channels(
            part,
            up=up,
            draw=draw,
            surface=surface,
            gates_mm=tuple(np.array(gate) for gate in request.gates_mm),
            vents_mm=tuple(np.array(vent) for vent in request.vents_mm),
            sizes=channel_sizes(settings),
            resolution=RESOLUTION,
            mix=mix,
        )
        return plan, _slow(part, plan, mix)

    tried: list[tuple[ChannelPlan, int]] = []
    for up in ups:
        tried.append(laid(up))
        if trouble(tried[-1][0]) == NO_TROUBLE and not tried[-1][1]:
            break
    taken = _least_trouble(tried, pours)
    if tried[taken][1] and pours:
        pours = _flat_next(pours, len(tried))
        tried += [laid(pour.up) for pour in pours[len(tried) :][:FLAT_TRIED]]
        taken = _least_trouble(tried, pours)
    plan = tried[taken][0]
    if pours:
        pours = (pours[taken], *pours[:taken], *pours[taken + 1 :])
    findings = _roof_findings(pours[0]) if pours else ()
    return PartFill(pours=pours[:SHOWN_POURS], up=plan.vented.up, plan=plan, findings=(*plan.findings, *findings))


def _least_trouble(tried: list[tuple[ChannelPlan, int]], pours: tuple[Pour, ...]) -> int:
    """Which of the plans, each with how slowly it fills, is taken."""
    found = [
        _with_its_stand(trouble(plan), pours[k] if pours else None, slow=slow) for k, (plan, slow) in enumerate(tried)
    ]
    return found.index(min(found))


def _flat_next(pours: tuple[Pour, ...], tried: int) -> tuple[Pour, ...]:
    """The pours with those that lie flat next after the ones tried: a gate straight up is short and wide."""
    rest = sorted(pours[tried:], key=lambda pour: pour.kind is not PourKind.FLAT)
    return (*pours[:tried], *rest)


def _to_try(pours: tuple[Pour, ...]) -> tuple[Pour, ...]:
    """The pours with the best that stands on edge among the first: from there channels on the seam lead upwards."""
    k = next((k for k, pour in enumerate(pours) if pour.kind is PourKind.ON_EDGE), len(pours))
    if k < MOST_TRIED or k == len(pours):
        return pours
    return (*pours[: MOST_TRIED - 1], pours[k], *pours[MOST_TRIED - 1 : k], *pours[k + 1 :])


def trouble(plan: ChannelPlan) -> tuple[int, float, int]:
    """What speaks against a pour once its channels are laid, to compare by: no gate, air that stays, lone channels.

    Air counts by the half powers of ten above what may stay, on show faces tenfold.
    """
    air = max(plan.vented.trapped_mm3, 10.0 * plan.vented.trapped_show_mm3)
    lone = sum(channel.made_as in (MadeAs.LOOSE_ROD, MadeAs.DRILLED) for channel in plan.channels)
    return (int(plan.gate is None), round(2.0 * max(0.0, np.log10(max(air, 1e-9) / SMALL_AIR_MM3))) / 2.0, lone)


def _with_its_stand(found: tuple[int, float, int], pour: Pour | None, *, slow: int) -> tuple[int, float, int, int]:
    """The trouble with what the box stands on, and how slowly it fills.

    A wedge or a cradle to print weighs as one lone channel, and so does every doubling of the time; of equals the
    quicker.
    """
    leans = pour is not None and pour.kind in (PourKind.TILTED, PourKind.TURNED)
    return (*found[:2], found[2] + int(leans) + slow, slow)


def _slow(part: Part, plan: ChannelPlan, mix: Mix | None) -> int:
    """How often the time to fill, with the mix fresh, is twice what is quick; 0 where nothing is known of the mix."""
    if mix is None:
        return 0
    liquid = Liquid(viscosity_pa_s=mix.viscosity_pa_s, density_g_ml=mix.density_g_ml)
    flow = flow_through(part, plan, liquid, time_left_s=SLOW_S)
    if flow is None or flow.fill_s is None:
        return 0
    return max(0, int(np.ceil(np.log2(flow.fill_s / SLOW_S))))


def flow_through(part: Part, plan: ChannelPlan, liquid: Liquid, *, time_left_s: float) -> Flow | None:
    """Flow of the liquid through the gate of these channels; None without one."""
    gate, up = plan.gate, plan.vented.up
    if gate is None:
        return None
    return pour_flow(
        part,
        up=(float(up[0]), float(up[1]), float(up[2])),
        liquid=liquid,
        gate_radius_mm=gate.radius_start_mm,
        gate_length_mm=max(gate.straight_length_mm, 4.0 * gate.radius_start_mm),
        head_mm=max(LEAST_HEAD_MM, float((gate.path_mm[-1] - gate.path_mm[0]) @ up)),
        time_left_s=time_left_s,
        widest_gate_mm=plan.widest_gate_mm,
    )


def _roof_findings(pour: Pour) -> tuple[Finding, ...]:
    """Say where much of the cavity's roof lies level: air clings there in a film that no vent takes."""
    level_mm2 = pour.level_roof_mm2 or 0.0
    if level_mm2 < LEVEL_ROOF_MM2:
        return ()
    return (
        Finding(
            severity=Severity.INFO,
            code="level-roof",
            what=f"{level_mm2 / 100:.0f} cm² of the cavity's roof lie level for the pour: a film of air clings there",
            remedy="rock or tilt the mould while it fills, until the material stands in the gate and the vents",
        ),
    )


def wedge_piece(fill: PartFill | None, mould: Mould) -> Piece | None:
    """The wedge foot that tilts the closed mould for its pour, where the pour wants one."""
    if fill is None or not fill.pours or fill.pours[0].kind is not PourKind.TILTED:
        return None
    size_mm = np.sort(np.max([np.ptp(piece.mesh.vertices_mm, axis=0) for piece in mould.pieces], axis=0))
    mesh = wedge_foot(length_mm=float(size_mm[-1]), width_mm=float(size_mm[-2]), tilt_deg=fill.pours[0].tilt_deg)
    return Piece(name=WEDGE_FOOT, role=Role.BOX, mesh=mesh, volume_mm3=mesh_volume_mm3(mesh))
