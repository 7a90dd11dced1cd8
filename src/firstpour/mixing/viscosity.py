"""How thick a mix is by its age, its temperature and its filler: asked by clock, flow and bubbles alike."""

import math
from collections.abc import Sequence

from firstpour.formulas.cure import arrhenius_time_ratio
from firstpour.formulas.thickness import filled_ratio
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import SILICONES, Material
from firstpour.mixing.heat import RUBBER_OF_SILICONE
from firstpour.mixing.recipe import recipe_of

USUAL_PA_S = 3.0
"""Taken where the record is silent: our own choice, a syrup."""
FLOW_ENERGY_KJ_MOL = {"silicone": 16.0, "urethane": 45.0}
"""How strongly the unmixed liquid thins with warmth; from memory, decision 0014."""
THICKENED_TIMES = 2.0
"""A pot life is over when the mix has become twice as thick: our own assumption (decision 0014)."""


def viscosity_pa_s(
    material: Material,
    *,
    temperature_c: float,
    additives: Sequence[Additive] = (),
    age_min: float = 0.0,
    thickening_min: float = math.inf,
) -> float:
    r"""Viscosity of the mix, Pa·s.

    .. math:: \mu = \mu_0 \cdot e^{\frac{E_v}{R}(1/T - 1/T_0)} \cdot (1 - \phi/\phi_m)^{-2.5\,\phi_m} \cdot e^{t/\tau}

    with the record's μ₀ at T₀, φ the share of filler by volume, t = `age_min` since A and B met and τ =
    `thickening_min`
    (`CureTimes.thickening_min`). The mix is taken to be at room temperature: its own warmth thins it a little more.

    Raises
    ------
    OutOfRange
        If there is so much filler that nothing flows any more.
    """
    figure = material.figures.get(FigureName.VISCOSITY)
    fresh = USUAL_PA_S if figure is None else figure.value
    stated_c = 23.0 if figure is None or figure.temperature_c is None else figure.temperature_c
    silicone = material.kind in SILICONES or RUBBER_OF_SILICONE in material.traits
    energy = FLOW_ENERGY_KJ_MOL["silicone" if silicone else "urethane"]
    warmth = arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=stated_c, to_c=temperature_c)
    recipe = recipe_of(material, additives)
    return fresh * warmth * filled_ratio(recipe.filler_ml / recipe.volume_ml) * math.exp(age_min / thickening_min)


def thickening_min(pot_life_min: float) -> float:
    """τ of μ = μ₀·exp(t/τ), if the mix is twice as thick at the end of its pot life, min.

    >>> round(thickening_min(6.0), 2)
    8.66
    """
    return pot_life_min / math.log(THICKENED_TIMES)
