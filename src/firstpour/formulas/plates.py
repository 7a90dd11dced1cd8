"""How far a flat wall gives under wet silicone."""

import numpy as np

from firstpour.errors import OutOfRange

POISSON_RATIO = 0.3
HEIGHT_TO_WIDTH = (0.5, 1.0, 1.5, 2.0)
HYDROSTATIC_ALPHA = (0.000511, 0.000804, 0.001185, 0.001456)
"""Largest w D / (q₀ a⁴); straight lines between."""


def wall_give_alpha(*, width_mm: float, height_mm: float) -> float:
    """Coefficient α of a wall clamped on three edges, free on top, under a head that is full at its foot.

    .. math:: w = \\alpha q_0 a^4 / D

    with a the width, q₀ the pressure at the foot and D = E t³ / (12 (1 − ν²)), ν = 0.3.

    Raises
    ------
    OutOfRange
        If height ÷ width is outside 0.5 … 2.

    References
    ----------
    No closed form is known for a plate with a free edge: computed by the Ritz method and with Morley plate elements,
    less than 1 % apart; the test solves it again with scikit-fem. The manner of the table is that of Roark's Formulas
    for Stress and Strain, Table 11.4 (from memory).

    >>> wall_give_alpha(width_mm=100, height_mm=100)
    0.000804
    """
    ratio = height_mm / width_mm
    if not HEIGHT_TO_WIDTH[0] <= ratio <= HEIGHT_TO_WIDTH[-1]:
        raise OutOfRange(
            f"a wall {height_mm:g} mm high and {width_mm:g} mm wide has height ÷ width {ratio:.2f}",
            remedy="the table covers 0.5 to 2",
        )
    return float(np.interp(ratio, HEIGHT_TO_WIDTH, HYDROSTATIC_ALPHA))


def wall_thickness_mm(
    *, alpha: float, width_mm: float, pressure_pa: float, modulus_mpa: float, give_mm: float
) -> float:
    """Thickness at which the wall gives just `give_mm`: t³ = 12 (1 − ν²) α q₀ a⁴ / (E w).

    >>> t = wall_thickness_mm(alpha=0.000804, width_mm=100, pressure_pa=1200, modulus_mpa=2000, give_mm=0.3)
    >>> round(t, 3)
    1.206
    """
    pressure_mpa = pressure_pa * 1e-6
    cube = 12.0 * (1.0 - POISSON_RATIO**2) * alpha * pressure_mpa * width_mm**4 / (modulus_mpa * give_mm)
    return float(cube ** (1.0 / 3.0))
