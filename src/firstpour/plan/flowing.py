"""The flow of a part's pour: does the cavity fill before the mix is too thick?"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from firstpour.fill.flow import Flow
from firstpour.part.part import Part
from firstpour.plan.filling import PartFill, flow_through
from firstpour.plan.laid import LaidMember
from firstpour.plan.poured import Poured


def flow_of(part: Part, fill: PartFill | None, poured: Poured) -> Flow | None:
    """Flow through the gate; None where gate, material, viscosity or clock is not known."""
    if fill is None or poured.liquid is None:
        return None
    return flow_through(part, fill.plan, poured.liquid, time_left_s=poured.time_left_s)


def flow_of_all(members: Sequence[LaidMember], poured: Poured) -> Flow | None:
    """The flow of different parts that are filled one after the other: that of the slowest, the minutes of all.

    None where that of one of them is not known.
    """
    flows = [(one, flow_of(one.part, one.fill, poured)) for one in members]
    known = [(one, flow) for one, flow in flows if flow is not None]
    if not known or len(known) < len(flows):
        return None
    slowest = max((flow for _, flow in known), key=lambda flow: np.inf if flow.fill_s is None else flow.fill_s)
    each_s = [None if flow.fill_s is None else len(one.in_mould) * flow.fill_s for one, flow in known]
    findings = dict.fromkeys(
        replace(finding, where=f"{one.member.request.name}, {finding.where}")
        for one, flow in known
        for finding in flow.findings
    )
    return replace(
        slowest,
        volume_ml=sum(len(one.in_mould) * flow.volume_ml for one, flow in known),
        fill_s=None if None in each_s else sum(second for second in each_s if second is not None),
        findings=tuple(findings),
    )
