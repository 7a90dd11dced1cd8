"""The fill's part of the plan: which side up, where gate and vents go, and what air stays."""

from dataclasses import dataclass

import numpy as np

from firstpour.fill.channels import ChannelPlan, Route, propose_channels
from firstpour.fill.pour import rank_pours
from firstpour.fill.values import Channel, ChannelUse, Pour, PourKind
from firstpour.fill.wedge import wedge_foot
from firstpour.job.job import PartRequest
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
        routes = (self.plan.gate, *self.plan.vents)
        return tuple(_channel(route) for route in routes if route is not None)


def plan_fill(part: Part, parting: Parting, request: PartRequest, settings: MouldSettings) -> PartFill | None:
    """Choose the pour direction, gate and vents; None for an open-face mould, which is open where it is poured.

    A block mould is poured along the draw: its master stands on its gate.

    Raises
    ------
    BadRequest
        If a gate or a vent of the maker's lies off the part, or the pour direction has no length.
    """
    if parting.kind is MouldKind.OPEN_FACE:
        return None
    draw, seam_mm = parting.draw, parting.seam_on_part_mm
    pours: tuple[Pour, ...] = ()
    if request.up is not None:
        up = np.array(request.up)
    elif parting.kind is MouldKind.BLOCK:
        up = draw.direction
    else:
        pours = rank_pours(part, draw=draw.direction, seam_mm=seam_mm)
        up = pours[0].up
    plan = propose_channels(
        part,
        up=up,
        draw=draw.direction,
        seam_mm=seam_mm,
        gate_mm=np.array(request.gates_mm[0]) if request.gates_mm else None,
        vents_mm=tuple(np.array(vent) for vent in request.vents_mm),
        wall_mm=settings.wall_mm,
        gate_radius_mm=settings.gate_radius_mm,
        vent_radius_mm=settings.vent_radius_mm,
        mouth_ratio=max(1.0, settings.gate_mouth_radius_mm / settings.gate_radius_mm),
        resolution=RESOLUTION,
    )
    findings = _roof_findings(pours[0]) if pours else ()
    return PartFill(pours=pours[:SHOWN_POURS], up=plan.vented.up, plan=plan, findings=(*plan.findings, *findings))


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


def _channel(route: Route) -> Channel:
    return Channel(
        use=ChannelUse(route.use.value),
        path_mm=route.path_mm,
        radius_start_mm=route.radius_start_mm,
        radius_end_mm=route.radius_end_mm,
    )


def wedge_piece(fill: PartFill | None, mould: Mould) -> Piece | None:
    """The wedge foot that tilts the closed mould for its pour, where the pour wants one."""
    if fill is None or not fill.pours or fill.pours[0].kind is not PourKind.TILTED:
        return None
    size_mm = np.sort(np.max([np.ptp(piece.mesh.vertices_mm, axis=0) for piece in mould.pieces], axis=0))
    mesh = wedge_foot(length_mm=float(size_mm[-1]), width_mm=float(size_mm[-2]), tilt_deg=fill.pours[0].tilt_deg)
    return Piece(name="wedge-foot", role=Role.BOX, mesh=mesh, volume_mm3=mesh_volume_mm3(mesh))
