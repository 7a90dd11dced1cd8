"""How warmth changes the time a material takes."""

import math

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
