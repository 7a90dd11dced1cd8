"""How warmth and accelerators change the time a material takes."""

import math
from bisect import bisect_right
from collections.abc import Sequence

from firstpour.formulas.limits import positive, within

GAS_CONSTANT_J_MOL_K = 8.314462618
ZERO_C_IN_K = 273.15
_WARMTH_REMEDY = "Work at room temperature: -20 to 100 °C is what a cure time can be carried over to."


def arrhenius_time_ratio(*, activation_energy_kj_mol: float, from_c: float, to_c: float) -> float:
    r"""By how much a time known at `from_c` grows (>1) or shrinks (<1) at `to_c`.

    .. math:: \frac{t_2}{t_1} = \exp\left[\frac{E_a}{R}\left(\frac{1}{T_2} - \frac{1}{T_1}\right)\right]

    Raises
    ------
    OutOfRange
        If a temperature lies outside -20 to 100 °C or the activation energy is not above zero.

    References
    ----------
    Arrhenius's law; R = 8.314462618 J/(mol K), CODATA 2018.

    >>> round(arrhenius_time_ratio(activation_energy_kj_mol=53, from_c=23, to_c=30), 4)
    0.6083
    """
    positive(
        activation_energy_kj_mol,
        what="activation energy",
        unit="kJ/mol",
        remedy="Give 50 to 60 kJ/mol if the data sheet is silent.",
    )
    for celsius in (from_c, to_c):
        within(celsius, low=-20, high=100, what="temperature", unit="°C", remedy=_WARMTH_REMEDY)
    inverse_k = 1 / (to_c + ZERO_C_IN_K) - 1 / (from_c + ZERO_C_IN_K)
    return math.exp(1000 * activation_energy_kj_mol / GAS_CONSTANT_J_MOL_K * inverse_k)


def activation_energy_kj_mol(*, ratio: float, from_c: float, to_c: float) -> float:
    r"""Activation energy in kJ/mol from one time ratio: :math:`E_a = R \ln(t_1/t_2)\,T_1 T_2/(T_2 - T_1)`.

    `ratio` = time at `to_c` ÷ time at `from_c`. One half over 10 °C is the ten-degree rule of the trade.

    Raises
    ------
    OutOfRange
        If the two temperatures are the same or the ratio is not above zero.

    >>> round(activation_energy_kj_mol(ratio=0.5, from_c=20, to_c=30), 2)
    51.22
    """
    positive(ratio, what="time ratio", unit="", remedy="Give the two times as positive numbers.")
    positive(abs(to_c - from_c), what="temperature step", unit="°C", remedy="Time the cure at two temperatures.")
    for celsius in (from_c, to_c):
        within(celsius, low=-20, high=100, what="temperature", unit="°C", remedy=_WARMTH_REMEDY)
    first_k, second_k = from_c + ZERO_C_IN_K, to_c + ZERO_C_IN_K
    return GAS_CONSTANT_J_MOL_K * math.log(1 / ratio) * first_k * second_k / (second_k - first_k) / 1000


def from_dose_table(dose_ratio: float, *, doses: Sequence[float], factors: Sequence[float], what: str) -> float:
    """The factor at `dose_ratio`, straight between the points of a dose table and never outside it.

    `doses` rise strictly; `factors` belong to them one by one.

    Raises
    ------
    OutOfRange
        If the dose lies outside the table.

    >>> from_dose_table(0.01, doses=[0.0, 0.02], factors=[1.0, 0.5], what="accelerator")
    0.75
    """
    remedy = f"Stay inside the table of the data sheet, or measure a test cup and add the point ({what})."
    within(dose_ratio, low=doses[0], high=doses[-1], what=f"dose of {what}", unit="g per g", remedy=remedy)
    k = min(bisect_right(doses, dose_ratio), len(doses) - 1)
    if k == 0:
        return factors[0]
    share = (dose_ratio - doses[k - 1]) / (doses[k] - doses[k - 1])
    return factors[k - 1] + share * (factors[k] - factors[k - 1])


def mass_time_ratio(*, per_decade_ratio: float, mass_g: float, stated_mass_g: float) -> float:
    r"""By how much a pot life changes from the stated mass to another: :math:`r^{\log_{10}(m/m_0)}`.

    The cure warms itself, and a larger mass keeps the heat. That a pot life belongs to a mass is in ASTM D2471-99
    and ISO 10364; the power law and its r are an estimate of our own (decision 0004).

    Raises
    ------
    OutOfRange
        If a mass is not above zero, or the law would be stretched over more than three decades.

    >>> mass_time_ratio(per_decade_ratio=0.5, mass_g=1000, stated_mass_g=100)
    0.5
    """
    for grams in (mass_g, stated_mass_g):
        positive(grams, what="mass", unit="g", remedy="Give the mass of the mix in g.")
    decades = math.log10(mass_g / stated_mass_g)
    within(decades, low=-3, high=3, what="step in mass", unit="decades", remedy="Split the mix, or time a test cup.")
    return float(per_decade_ratio**decades)
