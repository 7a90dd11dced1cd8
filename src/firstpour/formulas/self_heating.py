"""How a setting mix warms itself: conversion and temperature together, by a heat balance of the whole lump."""

import math
from dataclasses import dataclass
from functools import lru_cache

from scipy.optimize import brentq
from scipy.special import expi

from firstpour.formulas.cure import GAS_CONSTANT_J_MOL_K, ZERO_C_IN_K
from firstpour.formulas.limits import positive, within

STEPS_PER_UNIT = 60
"""Steps of the march for each unit of s = −ln(1 − α); more where the heat quickens the reaction much."""
MOST_CONVERSION = 0.99
_CONVERSION_REMEDY = "Ask for a conversion above 0, at most 0.99."


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A reaction of the first order: its rate at `reference_c`, how it quickens with warmth, and its heat.

    `rise_k`: by how much the mix would warm itself if it kept all its heat.
    """

    rate_per_min: float
    reference_c: float
    energy_kj_mol: float
    rise_k: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """When a conversion is reached, how warm the mix is then, and the warmest it has been."""

    time_min: float
    temperature_c: float
    peak_c: float


def cooling_min(
    *, volume_ml: float, surface_mm2: float, loss_w_m2_k: float, density_g_ml: float, heat_j_g_k: float
) -> float:
    r"""Time in which a lump loses all but 1/e of its warmth, min: :math:`\tau = \rho c V / (h A)`.

    Raises
    ------
    OutOfRange
        If a figure is zero, negative or not finite.

    >>> round(cooling_min(volume_ml=100, surface_mm2=12000, loss_w_m2_k=10, density_g_ml=1.05, heat_j_g_k=1.8), 2)
    26.25
    """
    for value in (volume_ml, surface_mm2, loss_w_m2_k, density_g_ml, heat_j_g_k):
        positive(value, what="figure of the cooling lump", unit="", remedy="Give each as a number above zero.")
    heat_j_k = density_g_ml * volume_ml * heat_j_g_k
    return heat_j_k / (loss_w_m2_k * surface_mm2 * 1e-6) / 60


@lru_cache(maxsize=8192)
def reached(setting: Setting, *, conversion: float, room_c: float, cooling_min: float) -> Reached:
    r"""When the mix, begun at `room_c`, reaches `conversion`, and how warm it gets on the way.

    .. math:: \dot\alpha = k(T)(1 - \alpha), \quad \dot T = \Delta T_{ad}\,\dot\alpha - (T - T_{room})/\tau

    with k by Arrhenius's law and τ = `cooling_min` (infinite: no heat is lost). Marched along s = −ln(1 − α),
    which runs
    with ds = k dt; over each step k is that of the middle temperature and the balance is solved exactly, so that
    no step
    is too long for a thin section. Derivation and limits: decision 0013.

    Raises
    ------
    OutOfRange
        If the conversion is not above 0 and at most 0.99, or `cooling_min` is not above 0.
    """
    within(conversion, low=1e-6, high=MOST_CONVERSION, what="conversion", unit="", remedy=_CONVERSION_REMEDY)
    within(1 / cooling_min if cooling_min > 0 else -1.0, low=0.0, high=1e9, what="cooling", unit="per min",
           remedy="Give a cooling time above 0 min.")  # fmt: skip
    room_k = room_c + ZERO_C_IN_K
    energy_k = 1000 * setting.energy_kj_mol / GAS_CONSTANT_J_MOL_K
    at_room = setting.rate_per_min * math.exp(energy_k * (1 / (setting.reference_c + ZERO_C_IN_K) - 1 / room_k))
    end = -math.log1p(-conversion)
    quickens = energy_k * setting.rise_k * conversion / room_k**2
    steps = max(16, math.ceil(end * STEPS_PER_UNIT * (1 + 0.5 * quickens)))
    ds, each = end / steps, math.exp(-end / steps)
    over_k = peak_k = time_min = 0.0
    heat_k = setting.rise_k * (1 - each)
    for _ in range(steps):
        middle_k = over_k
        for _ in range(2):
            dt = ds / (at_room * math.exp(energy_k * middle_k / (room_k * (room_k + middle_k))))
            lost = dt / cooling_min
            keeps = -math.expm1(-lost) / lost if lost > 1e-9 else 1.0
            after_k = over_k * math.exp(-lost) + heat_k * keeps
            middle_k = 0.5 * (over_k + after_k)
        time_min += dt
        over_k = after_k
        peak_k = max(peak_k, over_k)
        heat_k *= each
    return Reached(time_min=time_min, temperature_c=room_c + over_k, peak_c=room_c + peak_k)


def isothermal_min(setting: Setting, *, conversion: float, room_c: float) -> float:
    r"""The longest it can take, all heat being lost at once: :math:`t = -\ln(1 - \alpha)/k(T_{room})`.

    >>> one = Setting(rate_per_min=0.1, reference_c=23, energy_kj_mol=53, rise_k=130)
    >>> round(isothermal_min(one, conversion=0.25, room_c=23), 3)
    2.877
    """
    within(conversion, low=1e-6, high=MOST_CONVERSION, what="conversion", unit="", remedy=_CONVERSION_REMEDY)
    reference_k, room_k = setting.reference_c + ZERO_C_IN_K, room_c + ZERO_C_IN_K
    energy_k = 1000 * setting.energy_kj_mol / GAS_CONSTANT_J_MOL_K
    return -math.log1p(-conversion) / (setting.rate_per_min * math.exp(energy_k * (1 / reference_k - 1 / room_k)))


def adiabatic_min(setting: Setting, *, conversion: float, room_c: float) -> float:
    r"""The shortest it can take, no heat being lost: with x = 1/T, ε = E/R and x_f = 1/(T₀ + ΔT),

    .. math:: t = \frac{1}{k_0} e^{-\epsilon x_0}\left[e^{\epsilon x_f}\,\mathrm{Ei}(\epsilon(x - x_f)) -
        \mathrm{Ei}(\epsilon x)\right]_{x}^{x_0}

    Raises
    ------
    OutOfRange
        As `reached`, or if `rise_k` is not above 0.
    """
    within(conversion, low=1e-6, high=MOST_CONVERSION, what="conversion", unit="", remedy=_CONVERSION_REMEDY)
    positive(setting.rise_k, what="rise of a mix that keeps its heat", unit="K", remedy="Give it above zero.")
    room_k = room_c + ZERO_C_IN_K
    energy_k = 1000 * setting.energy_kj_mol / GAS_CONSTANT_J_MOL_K
    first, last = 1 / room_k, 1 / (room_k + setting.rise_k * conversion)
    full = 1 / (room_k + setting.rise_k)

    def primitive(x: float) -> float:
        shifted = math.exp(energy_k * (full - first)) * expi(energy_k * (x - full))
        return float(shifted - math.exp(-energy_k * first) * expi(energy_k * x))

    at_room = -math.log1p(-conversion) / isothermal_min(setting, conversion=conversion, room_c=room_c)
    return (primitive(first) - primitive(last)) / at_room


@lru_cache(maxsize=512)
def rate_for(
    *, time_min: float, conversion: float, reference_c: float, energy_kj_mol: float, rise_k: float, cooling_min: float
) -> float:
    """The rate at `reference_c`, per minute, with which `conversion` is reached just in `time_min` in that vessel.

    It lies between that of a mix that keeps all its heat and that of one that keeps none.

    Raises
    ------
    OutOfRange
        As `reached`, or if `time_min` is not above 0.
    """
    positive(time_min, what="time", unit="min", remedy="Give the time of the data sheet.")
    one = Setting(rate_per_min=1.0, reference_c=reference_c, energy_kj_mol=energy_kj_mol, rise_k=rise_k)
    longest = isothermal_min(one, conversion=conversion, room_c=reference_c) / time_min
    shortest = adiabatic_min(one, conversion=conversion, room_c=reference_c) / time_min

    def late_min(rate: float) -> float:
        setting = Setting(rate_per_min=rate, reference_c=reference_c, energy_kj_mol=energy_kj_mol, rise_k=rise_k)
        return (
            reached(setting, conversion=conversion, room_c=reference_c, cooling_min=cooling_min).time_min - time_min
        )

    low, high = 0.9 * shortest, 1.01 * longest
    return float(brentq(late_min, low, high, xtol=1e-9 * high, rtol=1e-8))
