"""Exposure limits: from parts per million to milligrams in a cubic metre."""

from firstpour.formulas.limits import positive

MOLAR_VOLUME_L_25C = 24.45
"""Litres a mole of gas fills at 25 °C and 1 atm: the figure that limit tables use."""


def mg_m3_from_ppm(ppm: float, *, molar_mass_g_mol: float) -> float:
    r"""Concentration of a vapour in mg/m³ at 25 °C and 1 atm: :math:`c = \mathrm{ppm}\cdot M/24.45`.

    Raises
    ------
    OutOfRange
        If a quantity is zero, negative or not finite.

    References
    ----------
    NIOSH Pocket Guide to Chemical Hazards, introduction (conversion at 25 °C and 760 mmHg).

    >>> round(mg_m3_from_ppm(0.02, molar_mass_g_mol=250.25), 4)
    0.2047
    """
    positive(ppm, what="concentration", unit="ppm", remedy="Give the limit as a positive number.")
    positive(molar_mass_g_mol, what="molar mass", unit="g/mol", remedy="Take it from the safety data sheet.")
    return ppm * molar_mass_g_mol / MOLAR_VOLUME_L_25C
