"""The flow of a part's pour: does the cavity fill before the mix is too thick?"""

from firstpour.fill.flow import Flow, pour_flow
from firstpour.part.part import Part
from firstpour.plan.filling import PartFill
from firstpour.plan.poured import Poured

LEAST_HEAD_MM = 5.0
"""Head of material above the cavity, the least: a filled gate, an estimate of our own."""


def flow_of(part: Part, fill: PartFill | None, poured: Poured) -> Flow | None:
    """Flow through the gate; None where gate, material, viscosity or clock is not known."""
    gate = None if fill is None else fill.plan.gate
    if gate is None or fill is None or poured.liquid is None:
        return None
    up = fill.up
    return pour_flow(
        part,
        up=(float(up[0]), float(up[1]), float(up[2])),
        liquid=poured.liquid,
        gate_radius_mm=gate.radius_start_mm,
        gate_length_mm=max(gate.straight_length_mm, 4.0 * gate.radius_start_mm),
        head_mm=max(LEAST_HEAD_MM, float((gate.path_mm[-1] - gate.path_mm[0]) @ up)),
        time_left_s=poured.time_left_s,
        widest_gate_mm=fill.plan.widest_gate_mm,
    )
