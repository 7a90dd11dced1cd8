"""How long a mix can be poured, and when it may be demoulded: in this room, at this mass, in this shape."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.errors import OutOfRange
from firstpour.formulas.cure import GAS_CONSTANT_J_MOL_K, ZERO_C_IN_K, arrhenius_time_ratio
from firstpour.materials.additives import Additive, effect_of
from firstpour.materials.figures import Figure, FigureName, Origin
from firstpour.materials.material import MIXED_KINDS, Material, needed, value_or
from firstpour.mixing import heat
from firstpour.mixing.viscosity import thickening_min

COLDEST_C, WARMEST_C = 15.0, 35.0
"""The room to work in where the record is silent."""

FIGURE_SPREAD = {Origin.TYPICAL: 0.15, Origin.DATA_SHEET: 0.10, Origin.MEASURED: 0.05}
"""One standard deviation of a pot life, by where its figure comes from: our own estimate (decision 0015)."""
ROOM_OFF_C = 1.5
"""Room, cans and mould are within this of what the thermometer says, anywhere in it alike: our own estimate."""
ONE_IN_TWENTY = 1.645
"""Standard deviations below which one in twenty lies (normal distribution)."""
BOUNDS_IN_SPREADS = 4.0
"""The range of a class is taken as two standard deviations either side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CureTimes:
    """The times of one mix, in minutes.

    `stated_pot_life_min` and `block_demould_min` belong to the mass of the data sheet, `pot_life_min` to this mix
    in its
    cup, `demould_min` to a section of `section_mm` where one is given. `pot_life_spread` is one standard deviation of
    the logarithm.
    """

    temperature_c: float
    mass_g: float
    stated_mass_g: float
    stated_pot_life_min: float
    pot_life_min: float
    pot_life_spread: float
    demould_min: float
    block_demould_min: float
    section_mm: float | None
    full_cure_min: float | None
    peak_cup_c: float
    """The warmest that this mix gets if it stays in its cup."""
    peak_part_c: float | None
    """The warmest that the part gets in its mould."""

    @property
    def pot_life_low_min(self) -> float:
        """Nineteen of twenty such mixes last longer than this."""
        return self.pot_life_min * math.exp(-ONE_IN_TWENTY * self.pot_life_spread)

    @property
    def pot_life_high_min(self) -> float:
        """One of twenty such mixes lasts longer than this."""
        return self.pot_life_min * math.exp(ONE_IN_TWENTY * self.pot_life_spread)

    @property
    def thickening_min(self) -> float:
        """τ of μ = μ₀·exp(t/τ)."""
        return thickening_min(self.pot_life_min)


def cure_times(
    material: Material,
    *,
    temperature_c: float,
    mass_g: float,
    additives: Sequence[Additive] = (),
    section_mm: float | None = None,
) -> CureTimes:
    """Pot life, demould and full cure at `temperature_c` of a mix of `mass_g` in one cup, with its additives.

    `section_mm`: thickness of the part as its mould sees it, twice the volume over the surface; without it the
    demould
    time is that of a block of the data sheet's mass.

    Raises
    ------
    OutOfRange
        If the room is colder or warmer than the material may be worked in, or a dose lies outside its table.
    BadRequest
        If the record holds no pot life or demould time.
    """
    check_mixed(material)
    check_room(material, temperature_c=temperature_c)
    one = heat.set_off(material, additives)
    stated_g = heat.stated_mass_g(material)
    block_min = heat.demould_as_block_min(one, mass_g=stated_g, room_c=temperature_c)
    demould_min, peak_part_c = block_min, None
    if section_mm is not None:
        demould_min = heat.demould_in_mould_min(one, section_mm=section_mm, room_c=temperature_c)
        peak_part_c = heat.peak_in_mould_c(one, section_mm=section_mm, room_c=temperature_c)
    return CureTimes(
        temperature_c=temperature_c,
        mass_g=mass_g,
        stated_mass_g=stated_g,
        stated_pot_life_min=heat.pot_life_in_cup(one, mass_g=stated_g, room_c=temperature_c).time_min,
        pot_life_min=heat.pot_life_in_cup(one, mass_g=mass_g, room_c=temperature_c).time_min,
        pot_life_spread=pot_life_spread(material, temperature_c=temperature_c),
        demould_min=demould_min,
        block_demould_min=block_min,
        section_mm=section_mm,
        full_cure_min=_full_cure_min(material, temperature_c, effect_of(additives).cure_ratio),
        peak_cup_c=heat.peak_in_cup_c(one, mass_g=mass_g, room_c=temperature_c),
        peak_part_c=peak_part_c,
    )


def pot_life_spread(material: Material, *, temperature_c: float) -> float:
    """One standard deviation of the logarithm of a pot life: the figure's own, and the room's ±1.5 °C.

    A figure with a range has the spread of its range. A temperature anywhere within ±d has the standard uncertainty
    d/√3 (JCGM 100:2008, 4.3.7; from memory); Arrhenius's law turns it into one of the time.

    Raises
    ------
    BadRequest
        If the record holds no pot life.
    """
    figure = needed(material, FigureName.POT_LIFE)
    energy_j_mol = 1000 * value_or(material, FigureName.ACTIVATION_ENERGY, heat.ACTIVATION_ENERGY_KJ_MOL)
    per_c = energy_j_mol / (GAS_CONSTANT_J_MOL_K * (temperature_c + ZERO_C_IN_K) ** 2)
    return math.hypot(_own_spread(figure), per_c * ROOM_OFF_C / math.sqrt(3))


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
            remedy="choose a silicone or a casting material of the materials that are known",
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


def _own_spread(figure: Figure) -> float:
    if figure.highest > figure.lowest:
        return math.log(figure.highest / figure.lowest) / BOUNDS_IN_SPREADS
    return FIGURE_SPREAD[figure.origin]


def _full_cure_min(material: Material, temperature_c: float, cure_ratio: float) -> float | None:
    figure = material.figures.get(FigureName.FULL_CURE)
    if figure is None:
        return None
    stated_c = heat.STATED_C if figure.temperature_c is None else figure.temperature_c
    energy = value_or(material, FigureName.ACTIVATION_ENERGY, heat.ACTIVATION_ENERGY_KJ_MOL)
    ratio = arrhenius_time_ratio(activation_energy_kj_mol=energy, from_c=stated_c, to_c=temperature_c)
    return figure.value * ratio * cure_ratio
