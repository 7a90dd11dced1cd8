"""Mixed-in bubbles: which rise out before the material sets, and what pressure and vacuum do to the rest."""

import math

from firstpour.errors import OutOfRange
from firstpour.units import GRAVITY_M_S2

ATMOSPHERE_PA = 101_325.0
"""Standard atmosphere, exact (ISO 2533:1975)."""
CREEPING_MM = 1e-3
"""A bubble so small that it creeps in anything that is poured."""
TENSION_N_M = 0.03
"""Surface tension of casting resins and rubbers: typical, from memory."""
HELD_EOTVOS = 3.37
"""Below this Eötvös number no long bubble climbs in an upright tube (Bretherton 1961, from memory)."""
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


def long_bubble_speed_mm_s(
    *, diameter_mm: float, viscosity_pa_s: float, density_g_ml: float, tension_n_m: float = TENSION_N_M
) -> float:
    r"""Speed at which air climbs as one long bubble through an upright tube full of still liquid, mm/s.

    .. math:: U = \sqrt{g D}\; 0.345 (1 - e^{-0.01 N_f / 0.345}) (1 - e^{(3.37 - Eo) / m}), \quad
        N_f = \rho \sqrt{g D^3} / \mu, \quad Eo = \rho g D^2 / \sigma

    with m = 25 below N_f = 18, 69 N_f^-0.35 up to 250, 10 above. 0 where Eo is below 3.37: surface tension holds the
    liquid. In thick liquids it comes to 0.01 ρ g D² / μ.

    Raises
    ------
    OutOfRange
        If a figure is not above 0.

    References
    ----------
    Wallis, One-dimensional Two-phase Flow (1969), ch. 10; the limit is that of Bretherton, "The motion of long
    bubbles in tubes", J. Fluid Mech. 10 (1961) 166-188; both from memory.

    >>> round(long_bubble_speed_mm_s(diameter_mm=10, viscosity_pa_s=2, density_g_ml=1.05), 2)
    3.57
    """
    _positive(diameter_mm=diameter_mm, viscosity_pa_s=viscosity_pa_s, density_g_ml=density_g_ml)
    _positive(tension_n_m=tension_n_m)
    d_m, density = diameter_mm * 1e-3, density_g_ml * 1e3
    eotvos = density * GRAVITY_M_S2 * d_m**2 / tension_n_m
    if eotvos <= HELD_EOTVOS:
        return 0.0
    thin = density * math.sqrt(GRAVITY_M_S2 * d_m**3) / viscosity_pa_s
    m = 25.0 if thin < 18.0 else max(10.0, 69.0 * thin**-0.35)
    share = -0.345 * math.expm1(-0.01 * thin / 0.345) * -math.expm1((HELD_EOTVOS - eotvos) / m)
    return share * math.sqrt(GRAVITY_M_S2 * d_m) * 1e3


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
