"""How long a mix can be poured, and when it may be demoulded, in this room and with these additives."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from firstpour.errors import OutOfRange
from firstpour.formulas.cure import arrhenius_time_ratio, mass_time_ratio
from firstpour.materials.additives import Additive, effect_of
from firstpour.materials.figures import Figure, FigureName
from firstpour.materials.material import MIXED_KINDS, Material, needed, value_or

DEFAULT_ACTIVATION_ENERGY_KJ_MOL = 53.0
"""The ten-degree rule near room temperature: 51 to 55 kJ/mol."""

STATED_MASS_G = 100.0
"""Taken where a pot life comes without its mass: common practice, no source."""

COLDEST_C, WARMEST_C = 15.0, 35.0
"""The room to work in where the record is silent."""

THICKENED_TIMES = 2.0
"""A pot life is over when the mix has become twice as thick: an assumption of our own (decision 0004)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CureTimes:
    """The times of one mix, in minutes. `pot_life_min` belongs to the stated mass, low and high to this one."""

    temperature_c: float
    pot_life_min: float
    pot_life_low_min: float
    pot_life_high_min: float
    demould_min: float
    full_cure_min: float | None

    @property
    def thickening_min(self) -> float:
        """τ of μ = μ₀·exp(t/τ), if the mix is twice as thick at the end of its pot life."""
        return (self.pot_life_low_min + self.pot_life_high_min) / 2 / log(THICKENED_TIMES)


def cure_times(
    material: Material, *, temperature_c: float, mass_g: float, additives: Sequence[Additive] = ()
) -> CureTimes:
    """Pot life, demould and full cure at `temperature_c` for a mix of `mass_g` with its additives.

    Temperature by Arrhenius's law with the record's activation energy; accelerators by their dose table; the mass
    as a range.

    Raises
    ------
    OutOfRange
        If the room is colder or warmer than the material may be worked in, or a dose lies outside its table.
    BadRequest
        If the record holds no pot life or demould time.
    """
    check_mixed(material)
    check_room(material, temperature_c=temperature_c)
    effect = effect_of(additives)
    pot_life = needed(material, FigureName.POT_LIFE)
    pot_life_min = _at(pot_life, material, temperature_c) * effect.pot_life_ratio
    low, high = _mass_range(material, pot_life, mass_g)
    full_cure = material.figures.get(FigureName.FULL_CURE)
    return CureTimes(
        temperature_c=temperature_c,
        pot_life_min=pot_life_min,
        pot_life_low_min=pot_life_min * low,
        pot_life_high_min=pot_life_min * high,
        demould_min=_at(needed(material, FigureName.DEMOULD), material, temperature_c) * effect.cure_ratio,
        full_cure_min=None if full_cure is None else _at(full_cure, material, temperature_c) * effect.cure_ratio,
    )


def check_mixed(material: Material) -> None:
    """Refuse a material that is not mixed from two parts.

    Raises
    ------
    OutOfRange
        If it is a filament, a paint, a release, …
    """
    if material.kind not in MIXED_KINDS or material.ratio is None:
        raise OutOfRange(
            f"{material.name} is a {material.kind.value}: nothing to mix and pour.",
            remedy="Choose a silicone or a casting material: firstpour shelf list.",
        )


def check_room(material: Material, *, temperature_c: float) -> None:
    """Refuse a room outside the temperatures that the record covers.

    Raises
    ------
    OutOfRange
        If `temperature_c` lies outside.
    """
    coldest_c = value_or(material, FigureName.COLDEST, COLDEST_C)
    warmest_c = value_or(material, FigureName.WARMEST, WARMEST_C)
    if not coldest_c <= temperature_c <= warmest_c:
        raise OutOfRange(
            f"{temperature_c:g} °C is outside what is known of {material.name} ({coldest_c:g} to {warmest_c:g} °C).",
            remedy=f"Bring the room, the cans and the mould to between {coldest_c:g} and {warmest_c:g} °C.",
        )


def _at(figure: Figure, material: Material, temperature_c: float) -> float:
    stated_c = 23.0 if figure.temperature_c is None else figure.temperature_c
    energy = value_or(material, FigureName.ACTIVATION_ENERGY, DEFAULT_ACTIVATION_ENERGY_KJ_MOL)
    return figure.value * arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=stated_c, to_c=temperature_c)


def _mass_range(material: Material, pot_life: Figure, mass_g: float) -> tuple[float, float]:
    stated_g = STATED_MASS_G if pot_life.mass_g is None else pot_life.mass_g
    ratios = [
        mass_time_ratio(per_decade_ratio=value_or(material, name, 1.0), mass_g=mass_g, stated_mass_g=stated_g)
        for name in (FigureName.MASS_EFFECT_LOW, FigureName.MASS_EFFECT_HIGH)
    ]
    return min(ratios), max(ratios)
