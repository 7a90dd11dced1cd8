"""Flow through a gate while the material thickens: laminar, under its own head."""

import math

from firstpour.errors import OutOfRange
from firstpour.units import GRAVITY_M_S2

LAMINAR_REYNOLDS = 2100.0
"""Pipe flow stays laminar below about this (White, Fluid Mechanics, ch. 6; from memory)."""


def head_pressure_pa(*, head_mm: float, density_g_ml: float) -> float:
    r"""Pressure of a column of liquid, Pa: :math:`\rho g h`.

    >>> round(head_pressure_pa(head_mm=100, density_g_ml=1.05), 2)
    1030.05
    """
    return density_g_ml * 1000.0 * GRAVITY_M_S2 * head_mm * 1e-3


def gate_resistance_pa_s_ml(*, radius_mm: float, length_mm: float, viscosity_pa_s: float) -> float:
    r"""Pressure a round gate takes for each ml/s, steady and laminar: :math:`8 \mu L / (\pi r^4)`, Pa·s/ml.

    Raises
    ------
    OutOfRange
        If `length_mm` is below 4 × `radius_mm` (entry losses then matter: our own limit, docs/fill.md), or a
        figure is
        not positive.

    References
    ----------
    Sutera & Skalak, "The history of Poiseuille's law", Annu. Rev. Fluid Mech. 25 (1993) 1-20,
    doi:10.1146/annurev.fl.25.010193.000245

    >>> round(540 / gate_resistance_pa_s_ml(radius_mm=3, length_mm=20, viscosity_pa_s=5), 4)
    0.1718
    """
    _positive(radius_mm=radius_mm, length_mm=length_mm, viscosity_pa_s=viscosity_pa_s)
    if length_mm < 4 * radius_mm:
        raise OutOfRange(
            f"a gate {length_mm:g} mm long and {2 * radius_mm:g} mm wide is too short for this formula",
            remedy=f"make it at least {4 * radius_mm:g} mm long, or narrower",
        )
    per_m3 = 8 * viscosity_pa_s * length_mm * 1e-3 / (math.pi * (radius_mm * 1e-3) ** 4)
    return per_m3 * 1e-6


def slot_resistance_pa_s_ml(
    *, thickness_mm: float, width_mm: float, length_mm: float, viscosity_pa_s: float
) -> float:
    r"""Pressure a wide flat slot takes for each ml/s: :math:`12 \mu L / (w h^3)`, Pa·s/ml.

    Raises
    ------
    OutOfRange
        If the slot is not at least as wide as thick (the formula is for wide slots), or a figure is not positive.

    References
    ----------
    White, Viscous Fluid Flow, 3rd ed., 3-3 (plane Poiseuille flow); from memory.

    >>> round(slot_resistance_pa_s_ml(thickness_mm=2, width_mm=40, length_mm=60, viscosity_pa_s=1), 3)
    2250.0
    """
    _positive(thickness_mm=thickness_mm, width_mm=width_mm, length_mm=length_mm, viscosity_pa_s=viscosity_pa_s)
    if width_mm < thickness_mm:
        raise OutOfRange(
            f"a slot {width_mm:g} mm wide and {thickness_mm:g} mm thick",
            remedy="give the smaller figure as thickness",
        )
    return 12 * viscosity_pa_s * length_mm / (width_mm * thickness_mm**3) * 1e3


def reynolds_in_gate(*, flow_ml_s: float, radius_mm: float, density_g_ml: float, viscosity_pa_s: float) -> float:
    r"""Reynolds number in the gate: :math:`2 \rho Q / (\pi r \mu)`; laminar below `LAMINAR_REYNOLDS`.

    >>> round(reynolds_in_gate(flow_ml_s=0.5, radius_mm=3, density_g_ml=1.05, viscosity_pa_s=1), 4)
    0.1114
    """
    _positive(radius_mm=radius_mm, viscosity_pa_s=viscosity_pa_s)
    return 2 * density_g_ml * 1e3 * flow_ml_s * 1e-6 / (math.pi * radius_mm * 1e-3 * viscosity_pa_s)


def passed_ml(*, first_flow_ml_s: float, time_s: float, rise_s: float) -> float:
    r"""What has passed after a time while the viscosity rises as :math:`\mu_0 e^{t/\tau}`, ml.

    .. math:: V = Q_0 \tau (1 - e^{-t/\tau})

    `rise_s` is τ, the time in which the viscosity grows e-fold; infinity: it does not thicken. The exponential is an
    ordinary first fit to a pot life curve, an assumption of ours; the integral follows from it.
    """
    _positive(first_flow_ml_s=first_flow_ml_s, rise_s=rise_s)
    if math.isinf(rise_s):
        return first_flow_ml_s * time_s
    return -first_flow_ml_s * rise_s * math.expm1(-time_s / rise_s)


def most_that_passes_ml(*, first_flow_ml_s: float, rise_s: float) -> float:
    r"""What can ever pass before the material is too thick: :math:`Q_0 \tau`, ml.

    >>> round(most_that_passes_ml(first_flow_ml_s=0.3236, rise_s=600), 2)
    194.16
    """
    _positive(first_flow_ml_s=first_flow_ml_s, rise_s=rise_s)
    return first_flow_ml_s * rise_s


def fill_time_s(*, volume_ml: float, first_flow_ml_s: float, rise_s: float) -> float:
    r"""Time for a volume to pass while the viscosity rises, s: :math:`t = -\tau \ln(1 - V / (Q_0 \tau))`.

    Raises
    ------
    OutOfRange
        If so much never passes.

    >>> round(fill_time_s(volume_ml=120, first_flow_ml_s=0.32360, rise_s=600), 1)
    577.5
    """
    most = most_that_passes_ml(first_flow_ml_s=first_flow_ml_s, rise_s=rise_s)
    if volume_ml >= most:
        raise OutOfRange(
            f"{volume_ml:.0f} ml never pass: the material is too thick after {most:.0f} ml",
            remedy="widen the gate, raise the head, or take a thinner or slower material",
        )
    if math.isinf(rise_s):
        return volume_ml / first_flow_ml_s
    return -rise_s * math.log1p(-volume_ml / most)


def _positive(**figures: float) -> None:
    for name, value in figures.items():
        if not value > 0:
            raise OutOfRange(f"{name} is {value:g}", remedy=f"give {name} above 0")
