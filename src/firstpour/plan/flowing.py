"""The flow of a part's pour, once its casting material is known: does the cavity fill before the mix is too thick?"""

import numpy as np

from firstpour.choosing.choice import PartChoice
from firstpour.fill.channels import Route
from firstpour.fill.flow import Flow, Liquid, pour_flow
from firstpour.materials.figures import FigureName
from firstpour.mixing.pour import PourFit, PourStepName
from firstpour.plan.values import PartPlan

LEAST_HEAD_MM = 5.0
"""Head of material above the cavity, the least: a filled gate, an estimate of our own."""


def flow_of(one: PartPlan, choice: PartChoice, *, temperature_c: float) -> Flow | None:
    """Flow through the gate at the room's temperature; None where gate, material, viscosity or clock is not known."""
    gate = None if one.fill is None else one.fill.plan.gate
    if gate is None or one.fill is None or choice.casting is None:
        return None
    fits = [pour.fit for pour in choice.casting.pours if pour.fit.temperature_c == temperature_c]
    figures = choice.casting.material.figures
    if not fits or fits[0].times is None or FigureName.VISCOSITY not in figures:
        return None
    up = one.fill.up
    return pour_flow(
        one.part,
        up=(float(up[0]), float(up[1]), float(up[2])),
        liquid=Liquid(
            viscosity_pa_s=figures[FigureName.VISCOSITY].value,
            density_g_ml=choice.casting.mixes[0].mix.density_g_ml,
            rise_s=60.0 * fits[0].times.thickening_min,
        ),
        gate_radius_mm=gate.radius_start_mm,
        gate_length_mm=max(_length_mm(gate), 4.0 * gate.radius_start_mm),
        head_mm=max(LEAST_HEAD_MM, float((gate.path_mm[-1] - gate.path_mm[0]) @ up)),
        time_left_s=60.0 * _left_min(fits[0]),
    )


def _length_mm(gate: Route) -> float:
    return float(np.linalg.norm(np.diff(gate.path_mm, axis=0), axis=1).sum())


def _left_min(fit: PourFit) -> float:
    """What is left of the pot life when the pour itself begins, the shortest reckoned, and never nothing."""
    used = sum(step.time.mean_min for step in fit.steps if step.on_clock and step.name is not PourStepName.POUR)
    return max(0.1, (fit.times.pot_life_low_min if fit.times else 0.0) - used)
