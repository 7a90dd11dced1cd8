"""Whether an undercut tears the rubber: the energy of its stretch at a nick against the tear strength."""

from collections.abc import Sequence

from firstpour.formulas.tearing import tearing_energy_n_mm
from firstpour.materials.additives import Additive, effect_of
from firstpour.materials.feel import Hardness, Scale, hardness_of, stiffness_of
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material

NICK_MM = 1.0
"""A nick at the lip of an undercut, from a bubble or a fingernail: our own choice (decision 0016)."""
SAFE_MARGIN = 3.0
"""Below this the maker is told to open the mould with care: our own choice (decision 0016)."""


def tear_margin(material: Material, *, stretch_ratio: float, additives: Sequence[Additive] = ()) -> float | None:
    """Tear strength ÷ what a nick of 1 mm would take to tear on at this stretch; below 1 it tears.

    None where the record holds no tear strength or hardness to tell, or nothing is stretched. The stiffer of the two
    moduli of that hardness is taken. Stretch beyond five times the length counts as five.

    Raises
    ------
    OutOfRange
        If a dose lies outside its table.
    """
    have, tear = hardness_of(material), material.figures.get(FigureName.TEAR)
    if tear is None or have is None or stretch_ratio <= 0:
        return None
    effect = effect_of(additives)
    softened = Hardness(scale=have.scale, points=max(10.0, have.points + effect.shore_points))
    stiff = stiffness_of(softened) if have.scale is Scale.A else None
    if stiff is None:
        return None
    energy = tearing_energy_n_mm(
        modulus_mpa=stiff.modulus_high_mpa, stretch_ratio=min(stretch_ratio, 5.0), nick_mm=NICK_MM
    )
    return tear.value * effect.tear_ratio / energy
