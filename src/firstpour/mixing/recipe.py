"""What one gram of part A takes with it: B and additives, the volume they make, and how much of it only fills."""

from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.errors import BadRequest
from firstpour.formulas.mixing import mixed_density_g_ml
from firstpour.materials.additives import Additive, counted_share
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Kind, Material, Ratio, needed

REACTING = (Kind.ACCELERATOR,)
"""Additives that take part in the cure; the others only lie between what reacts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """For one gram of A: grams of B and of each additive, the millilitres of all, of what is inert, of the filler."""

    b_g: float
    additives_g: tuple[float, ...]
    volume_ml: float
    inert_g: float
    inert_ml: float
    filler_ml: float

    @property
    def total_g(self) -> float:
        return 1.0 + self.b_g + sum(self.additives_g)

    @property
    def density_g_ml(self) -> float:
        return self.total_g / self.volume_ml


def recipe_of(material: Material, additives: Sequence[Additive] = ()) -> Recipe:
    """The recipe of the mix; volumes are taken to add.

    Raises
    ------
    BadRequest
        If a ratio or a density is missing.
    """
    b_g = ratio_of(material).b_per_100_a / 100
    volume_ml = (1 + b_g) / mix_density_g_ml(material)
    inert_g = inert_ml = filler_ml = 0.0
    grams = []
    for additive in additives:
        one_g = additive.dose_ratio * counted_share(additive.material.counts_on, b_per_a=b_g)
        one_ml = one_g / needed(additive.material, FigureName.DENSITY).value
        grams.append(one_g)
        volume_ml += one_ml
        if additive.material.kind not in REACTING:
            inert_g += one_g
            inert_ml += one_ml
        if additive.material.kind is Kind.FILLER:
            filler_ml += one_ml
    return Recipe(
        b_g=b_g,
        additives_g=tuple(grams),
        volume_ml=volume_ml,
        inert_g=inert_g,
        inert_ml=inert_ml,
        filler_ml=filler_ml,
    )


def ratio_of(material: Material) -> Ratio:
    """The mix ratio of a material of two parts.

    Raises
    ------
    BadRequest
        If the record holds none.
    """
    if material.ratio is None:
        raise BadRequest(f"{material.name} has no mix ratio.", remedy="Add it from the data sheet.")
    return material.ratio


def mix_density_g_ml(material: Material) -> float:
    """Density of A and B mixed, without additives."""
    density_a, density_b = densities_of(material)
    return mixed_density_g_ml(
        a_g=100.0, b_g=ratio_of(material).b_per_100_a, density_a_g_ml=density_a, density_b_g_ml=density_b
    )


def densities_of(material: Material) -> tuple[float, float]:
    """Densities of A and of B, g/ml.

    Raises
    ------
    BadRequest
        If the record lacks one.
    """
    return needed(material, FigureName.DENSITY_A).value, needed(material, FigureName.DENSITY_B).value
