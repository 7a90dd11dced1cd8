"""Whether the material gets in before it thickens, and what becomes of the bubbles mixed in."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from firstpour.fill.flow_remedies import WIDEST_GATE_MM, Remedies, Squeeze, remedies
from firstpour.fill.values import Fill
from firstpour.formulas import bubbles
from firstpour.formulas import gate_flow as formula
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material
from firstpour.mixing.pour import PourFit
from firstpour.mixing.recipe import recipe_of
from firstpour.mixing.viscosity import viscosity_pa_s
from firstpour.part.part import Part
from firstpour.values import Finding, Severity, face_areas_mm2, mesh_volume_mm3

TIGHT_SHARE = 0.8
"""A fill that takes more than this share of the time left is called tight. An estimate of our own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """The casting material as it is poured; `rise_s`: the time in which its viscosity grows e-fold."""

    viscosity_pa_s: float
    density_g_ml: float
    rise_s: float = math.inf


def liquid_of(material: Material, fit: PourFit, *, additives: Sequence[Additive] = ()) -> Liquid | None:
    """The mix as thick as its clock and its room leave it when the pour begins; None where either is not known."""
    if fit.times is None or FigureName.VISCOSITY not in material.figures:
        return None
    return Liquid(
        viscosity_pa_s=viscosity_pa_s(
            material,
            temperature_c=fit.temperature_c,
            additives=additives,
            age_min=fit.age_at_pour_min,
            thickening_min=fit.times.thickening_min,
        ),
        density_g_ml=recipe_of(material, additives).density_g_ml,
        rise_s=60.0 * fit.times.thickening_min,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """One pour through one gate: `fill_s` is None where so much never passes."""

    volume_ml: float
    first_flow_ml_s: float
    most_ml: float
    fill_s: float | None
    time_left_s: float
    squeeze: Squeeze
    """What gate and cavity resist, and the most that lets it end in time."""
    remedies: Remedies | None
    """What would make it end in time; None where it does with time to spare."""
    reynolds: float
    smallest_escaping_mm: float
    smallest_left_mm: float
    """What bubbles of that size come to in the pressure pot; without one the same."""
    findings: tuple[Finding, ...]

    @property
    def fits(self) -> bool:
        """Whether the cavity is full within the time left."""
        return self.fill_s is not None and self.fill_s <= self.time_left_s

    @property
    def cavity_share(self) -> float:
        """The cavity's share of all resistance."""
        return self.squeeze.cavity_pa_s_ml / (self.squeeze.cavity_pa_s_ml + self.squeeze.gate_pa_s_ml)

    @property
    def head_needed_mm(self) -> float:
        """Head that fills it in the time left, mm; the column of material above the cavity's top."""
        return self.squeeze.head_mm * self.squeeze.short_ratio


def pour_flow(
    part: Part,
    *,
    up: tuple[float, float, float],
    liquid: Liquid,
    gate_radius_mm: float,
    gate_length_mm: float,
    head_mm: float,
    time_left_s: float,
    pot_gauge_pa: float = 0.0,
    widest_gate_mm: float = WIDEST_GATE_MM,
) -> Flow:
    """Work out the pour: gate and cavity are laminar resistances in a row under a head that stays `head_mm`.

    The cavity counts as one flat slot as thick as 2 × volume ÷ surface and as long as the part's longest side: an
    estimate of our own (docs/fill.md). `head_mm` is the head left when the cavity is almost full, the least there is.
    `liquid` is the mix as it goes in, `time_left_s` what its clock leaves for the pour; only the part and the gate
    need
    be known, so the flow can be asked before the mould is made. `pot_gauge_pa`: what the pressure pot is set to;
    `widest_gate_mm`: radius of the widest gate that the part has room for.

    Raises
    ------
    OutOfRange
        As the formulas, for figures that cannot be.
    """
    volume_ml = mesh_volume_mm3(part.mesh) / 1000.0
    squeeze = _squeeze(part, volume_ml, liquid, gate_radius_mm, gate_length_mm, head_mm, time_left_s)
    squeeze = replace(squeeze, widest_gate_mm=widest_gate_mm)
    head_pa = formula.head_pressure_pa(head_mm=head_mm, density_g_ml=liquid.density_g_ml)
    first = head_pa / (squeeze.gate_pa_s_ml + squeeze.cavity_pa_s_ml)
    most = formula.most_that_passes_ml(first_flow_ml_s=first, rise_s=liquid.rise_s)
    fill_s = None
    if volume_ml < most:
        fill_s = formula.fill_time_s(volume_ml=volume_ml, first_flow_ml_s=first, rise_s=liquid.rise_s)
    reynolds = formula.reynolds_in_gate(
        flow_ml_s=first,
        radius_mm=gate_radius_mm,
        density_g_ml=liquid.density_g_ml,
        viscosity_pa_s=liquid.viscosity_pa_s,
    )
    height = float(np.ptp(part.mesh.vertices_mm @ (np.asarray(up) / np.linalg.norm(up))))
    bubble_mm = bubbles.smallest_escaping_mm(
        height_mm=height,
        time_s=time_left_s,
        viscosity_pa_s=liquid.viscosity_pa_s,
        density_g_ml=liquid.density_g_ml,
        rise_s=liquid.rise_s,
    )
    tight = fill_s is None or fill_s > TIGHT_SHARE * time_left_s
    flow = Flow(
        volume_ml=volume_ml,
        first_flow_ml_s=first,
        most_ml=most,
        fill_s=fill_s,
        time_left_s=time_left_s,
        squeeze=squeeze,
        remedies=remedies(squeeze) if tight else None,
        reynolds=reynolds,
        smallest_escaping_mm=bubble_mm,
        smallest_left_mm=bubble_mm * bubbles.pressed_diameter_ratio(gauge_pa=pot_gauge_pa),
        findings=(),
    )
    return replace(flow, findings=tuple(_findings(flow)))


def _squeeze(
    part: Part,
    volume_ml: float,
    liquid: Liquid,
    gate_radius_mm: float,
    gate_length_mm: float,
    head_mm: float,
    time_left_s: float,
) -> Squeeze:
    head_pa = formula.head_pressure_pa(head_mm=head_mm, density_g_ml=liquid.density_g_ml)
    passed_by_one = formula.passed_ml(first_flow_ml_s=1.0, time_s=time_left_s, rise_s=liquid.rise_s)
    return Squeeze(
        gate_radius_mm=gate_radius_mm,
        gate_length_mm=gate_length_mm,
        gate_pa_s_ml=formula.gate_resistance_pa_s_ml(
            radius_mm=gate_radius_mm, length_mm=gate_length_mm, viscosity_pa_s=liquid.viscosity_pa_s
        ),
        cavity_pa_s_ml=cavity_resistance_pa_s_ml(part, viscosity_pa_s=liquid.viscosity_pa_s),
        most_pa_s_ml=head_pa * passed_by_one / volume_ml,
        viscosity_pa_s=liquid.viscosity_pa_s,
        head_mm=head_mm,
    )


def cavity_resistance_pa_s_ml(part: Part, *, viscosity_pa_s: float) -> float:
    """Pressure the cavity takes for each ml/s as one flat slot, Pa·s/ml; an estimate of our own."""
    volume = mesh_volume_mm3(part.mesh)
    thickness = 2 * volume / float(face_areas_mm2(part.mesh).sum())
    length = float(np.ptp(part.mesh.vertices_mm, axis=0).max())
    width = max(thickness, volume / (thickness * length))
    return formula.slot_resistance_pa_s_ml(
        thickness_mm=thickness, width_mm=width, length_mm=length, viscosity_pa_s=viscosity_pa_s
    )


def pressed_pockets_mm3(fill: Fill, *, gauge_pa: float) -> float:
    """Air left in the pockets once the pressure pot is up, mm³: it shrinks and stays.

    The volumes of `fill` are taken as sealed at one atmosphere.
    """
    return fill.trapped_mm3 * bubbles.pressed_volume_ratio(gauge_pa=gauge_pa)


def _findings(flow: Flow) -> list[Finding]:
    remedy = "" if flow.remedies is None else flow.remedies.words(flow.squeeze)
    where = f" ({flow.cavity_share:.0%} of the resistance is the cavity's own)"
    found: list[Finding] = []
    if flow.fill_s is None:
        found.append(_finding(Severity.ERROR, "never-passes", _never(flow) + where, remedy))
    elif not flow.fits:
        text = f"filling takes {flow.fill_s / 60:.1f} min, {flow.time_left_s / 60:.1f} min are left of the pot life"
        found.append(_finding(Severity.ERROR, "fill-too-slow", text + where, remedy))
    elif flow.remedies is not None:
        text = f"filling takes {flow.fill_s / 60:.1f} of the {flow.time_left_s / 60:.1f} min left of the pot life"
        remedy = "have everything ready before A and B meet; a wider gate or a slower mix gives more room"
        found.append(_finding(Severity.WARNING, "fill-tight", text + where, remedy))
    if flow.reynolds > formula.LAMINAR_REYNOLDS:
        text = f"the flow in the gate is not laminar (Reynolds number {flow.reynolds:.0f}): the time is a guess"
        found.append(_finding(Severity.INFO, "gate-turbulent", text, "pour slowly; it fills in moments"))
    return found


def _never(flow: Flow) -> str:
    return f"{flow.volume_ml:.0f} ml are wanted and only {flow.most_ml:.0f} ml ever pass before it thickens"


def _finding(severity: Severity, code: str, what: str, remedy: str) -> Finding:
    return Finding(severity=severity, code=code, what=what, remedy=remedy, where="gate")
