"""Mixed-in bubbles: which rise out before the material sets, and what pressure and vacuum do to the rest."""

import math

from firstpour.errors import OutOfRange
from firstpour.formulas.gate_flow import GRAVITY_M_S2

ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere, exact (ISO 2533:1975)."""
CREEPING_MM = 1e-3
"""A bubble so small that it creeps in anything that is poured."""
CREEPING_REYNOLDS = 1.0
"""Stokes' drag holds for creeping flow, Reynolds number well below this."""


def rise_speed_mm_s(*, diameter_mm: float, viscosity_pa_s: float, density_g_ml: float) -> float:
    r"""Speed at which a small bubble rises, mm/s, its skin as if rigid (resins are seldom clean enough for less).

    .. math:: v = \rho g d^2 / (18 \mu)

    The density of air is left out.

    Raises
    ------
    OutOfRange
        If the Reynolds number is above 1: not creeping flow any more.

    References
    ----------
    Stokes (1851), in Clift, Grace & Weber, Bubbles, Drops and Particles (1978), ch. 3; from memory.

    >>> round(rise_speed_mm_s(diameter_mm=1, viscosity_pa_s=1, density_g_ml=1.05), 5)
    0.57225
    """
    _positive(viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml)
    speed_m_s = density_g_ml * 1e3 * GRAVITY_M_S2 * (diameter_mm * 1e-3) ** 2 / (18 * viscosity_pa_s)
    reynolds = density_g_ml * 1e3 * speed_m_s * diameter_mm * 1e-3 / viscosity_pa_s
    if reynolds > CREEPING_REYNOLDS:
        raise OutOfRange(
            f"a {diameter_mm:g} mm bubble in {viscosity_pa_s:g} Pa·s rises too fast for this formula",
            remedy="bubbles this large are gone in moments: look at smaller ones",
        )
    return speed_m_s * 1e3


def smallest_escaping_mm(
    *, height_mm: float, time_s: float, viscosity_pa_s: float, density_g_ml: float, rise_s: float = math.inf
) -> float:
    r"""Diameter of the smallest bubble that rises `height_mm` in `time_s`, mm.

    .. math:: d = \sqrt{18 \mu_0 H / (\rho g t')}, \quad t' = \tau (1 - e^{-t/\tau})

    with the viscosity rising as :math:`\mu_0 e^{t/\tau}`, τ = `rise_s`; t' = t where it does not thicken.

    >>> round(smallest_escaping_mm(height_mm=50, time_s=300, viscosity_pa_s=1, density_g_ml=1.05), 4)
    0.5397
    """
    _positive(height_mm=height_mm, time_s=time_s, viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml)
    _positive(rise_s=rise_s)
    counted_s = time_s if math.isinf(rise_s) else -rise_s * math.expm1(-time_s / rise_s)
    crept_mm_s = rise_speed_mm_s(diameter_mm=CREEPING_MM, viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml)
    return CREEPING_MM * math.sqrt(height_mm / (counted_s * crept_mm_s))


def pressed_volume_ratio(*, gauge_pa: float) -> float:
    r"""Volume of a bubble under pressure over that without, by Boyle's law: :math:`p_0 / (p_0 + p)`.

    `gauge_pa` is what the pot's gauge shows; the law wants absolute pressure. The bubble shrinks and stays. Keep
    every pot within the rating on its plate.

    >>> round(pressed_volume_ratio(gauge_pa=275_800), 5)
    0.26868
    """
    if gauge_pa < 0:
        raise OutOfRange(
            f"a gauge pressure of {gauge_pa:g} Pa", remedy="give 0 or more: what the gauge of the pot shows"
        )
    return ATMOSPHERE_PA / (ATMOSPHERE_PA + gauge_pa)


def pressed_diameter_ratio(*, gauge_pa: float) -> float:
    """Diameter of a bubble under pressure over that without: the cube root of the volumes' ratio.

    >>> round(pressed_diameter_ratio(gauge_pa=275_800), 5)
    0.64527
    """
    return float(pressed_volume_ratio(gauge_pa=gauge_pa) ** (1 / 3))


def _positive(**figures: float) -> None:
    for name, value in figures.items():
        if not value > 0:
            raise OutOfRange(f"{name} is {value:g}", remedy=f"give {name} above 0")
