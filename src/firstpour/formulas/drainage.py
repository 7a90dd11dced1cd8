"""What stays behind on the wall of a cup."""

import math

from firstpour.formulas.limits import positive
from firstpour.units import GRAVITY_M_S2

_REMEDY = "Give the viscosity, height and time of draining as positive numbers."


def mean_film_mm(*, viscosity_pa_s: float, density_g_ml: float, height_mm: float, drain_s: float) -> float:
    r"""Mean thickness in mm of the film left on an upright wall of height H after draining for t.

    .. math:: h(z) = \sqrt{\frac{\mu z}{\rho g t}}, \qquad \bar h = \tfrac{2}{3} \sqrt{\frac{\mu H}{\rho g t}}

    Raises
    ------
    OutOfRange
        If a quantity is zero, negative or not finite.

    References
    ----------
    Jeffreys, "The draining of a vertical plate", Math. Proc. Camb. Phil. Soc. 26 (1930) 204-205,
    doi:10.1017/S0305004100015437 (from memory)

    >>> round(mean_film_mm(viscosity_pa_s=5, density_g_ml=1.05, height_mm=60, drain_s=30), 3)
    0.657
    """
    for value in (viscosity_pa_s, density_g_ml, height_mm, drain_s):
        positive(value, what="quantity of the draining film", unit="", remedy=_REMEDY)
    density_kg_m3 = 1000 * density_g_ml
    film_m = math.sqrt(viscosity_pa_s * height_mm / 1000 / (density_kg_m3 * GRAVITY_M_S2 * drain_s))
    return 2 / 3 * film_m * 1000
