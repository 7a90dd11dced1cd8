"""How a mix of this mass and shape warms itself: pot life in the cup, demould time in the mould, how hot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from scipy.optimize import brentq

from firstpour.formulas.cure import arrhenius_time_ratio
from firstpour.formulas.self_heating import Reached, Setting, cooling_min, rate_for, reached
from firstpour.materials.additives import Additive, effect_of
from firstpour.materials.figures import Figure, FigureName
from firstpour.materials.material import SILICONES, Kind, Material, needed, value_or
from firstpour.mixing.recipe import recipe_of

POT_LIFE_CONVERSION = 0.25
"""How far a mix has reacted when its pot life is over: from memory, decision 0013."""
DEMOULD_CONVERSION = 0.8
"""How far it has reacted when it has set hard enough to be left to harden: our own estimate (decision 0013)."""
ACTIVATION_ENERGY_KJ_MOL = 53.0
"""Taken where the record is silent: the ten-degree rule near room temperature, 51 to 55 kJ/mol."""
STATED_MASS_G = 100.0
"""Taken where a pot life comes without its mass: common practice, no source."""
STATED_C = 23.0

RISE_K = {"rigid": 130.0, "flexible": 35.0, "silicone": 10.0}
HEAT_J_G_K = {"rigid": 1.8, "flexible": 1.8, "silicone": 1.4}
"""Rise of a mix that keeps its heat, and specific heat, by class: from memory (decision 0013)."""
RUBBER_OF_SILICONE = "addition silicone rubber"

CUP_LOSS_W_M2_K = 10.0
"""Loss of a cup in still air: 8 to 15 W/m²K, from memory."""
SPREADING_MM2_S = 0.1
"""How quickly heat spreads in silicone and in casting materials alike (k/ρc, from memory)."""
MOST_RISE_K = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SetOff:
    """A mix once its parts have met: its reaction, and what is left of hardening when it has set.

    `hardens_min` is the rest of the data sheet's demould time at `setting.reference_c`, after `sets_at` is reached.
    """

    setting: Setting
    sets_at: float
    hardens_min: float
    density_g_ml: float
    heat_j_g_k: float


def set_off(material: Material, additives: Sequence[Additive] = ()) -> SetOff:
    """The reaction of a material with its additives, fitted to the pot life and demould time of its record.

    At the mass and temperature of the record the heat balance gives the record's own two times. What does not react
    (filler, softener, colourant) takes its share of the heat and keeps what reacts apart: the rise falls with the
    mass
    share, the rate with the volume share of A and B (decision 0013).

    Raises
    ------
    BadRequest
        If the record holds no pot life, demould time, ratio or density.
    OutOfRange
        If a dose lies outside its table.
    """
    effect, plain = effect_of(additives), recipe_of(material)
    pot_life, demould = needed(material, FigureName.POT_LIFE), needed(material, FigureName.DEMOULD)
    heat_j_g_k = HEAT_J_G_K[_class_of(material)]
    cup_min = _cup_min(_mass_of(pot_life), plain.density_g_ml, heat_j_g_k)
    neat = _fitted(material, pot_life, cup_min, pot_life_ratio=effect.pot_life_ratio)
    demould_min = _carried(demould, neat.energy_kj_mol, neat.reference_c) * effect.cure_ratio
    sets_at = _set_after(neat, cup_min, demould_min)
    set_min = reached(neat, conversion=sets_at, room_c=neat.reference_c, cooling_min=cup_min).time_min
    mixed = recipe_of(material, additives)
    setting = replace(
        neat,
        rate_per_min=neat.rate_per_min * (1 - mixed.inert_ml / mixed.volume_ml),
        rise_k=neat.rise_k * (1 - mixed.inert_g / mixed.total_g),
    )
    return SetOff(
        setting=setting,
        sets_at=sets_at,
        hardens_min=max(0.0, demould_min - set_min),
        density_g_ml=mixed.density_g_ml,
        heat_j_g_k=heat_j_g_k,
    )


def pot_life_in_cup(one: SetOff, *, mass_g: float, room_c: float) -> Reached:
    """When the pot life of `mass_g` in a cup is over, and how warm the mix is then."""
    cup_min = _cup_min(mass_g, one.density_g_ml, one.heat_j_g_k)
    return reached(one.setting, conversion=POT_LIFE_CONVERSION, room_c=room_c, cooling_min=cup_min)


def peak_in_cup_c(one: SetOff, *, mass_g: float, room_c: float) -> float:
    """The warmest that `mass_g` gets if it stays in its cup, °C."""
    cup_min = _cup_min(mass_g, one.density_g_ml, one.heat_j_g_k)
    return reached(one.setting, conversion=0.99, room_c=room_c, cooling_min=cup_min).peak_c


def peak_in_mould_c(one: SetOff, *, section_mm: float, room_c: float) -> float:
    """The warmest that a section of this thickness gets in its mould, °C."""
    return reached(one.setting, conversion=0.99, room_c=room_c, cooling_min=section_min(section_mm)).peak_c


def demould_in_mould_min(one: SetOff, *, section_mm: float, room_c: float) -> float:
    """When a section of this thickness may be demoulded, counted from the mixing, min."""
    set_min = reached(
        one.setting, conversion=one.sets_at, room_c=room_c, cooling_min=section_min(section_mm)
    ).time_min
    return set_min + _hardens_min(one, room_c)


def demould_as_block_min(one: SetOff, *, mass_g: float, room_c: float) -> float:
    """When a block of this mass may be demoulded: what a data sheet means by its figure, min."""
    cup_min = _cup_min(mass_g, one.density_g_ml, one.heat_j_g_k)
    set_min = reached(one.setting, conversion=one.sets_at, room_c=room_c, cooling_min=cup_min).time_min
    return set_min + _hardens_min(one, room_c)


def second_mass_off_ratio(material: Material) -> float | None:
    """The balance's pot life at the record's second mass ÷ the record's own; None where there is none.

    It is 1 unless no heat between 0 and 300 K explains both figures.
    """
    second = material.figures.get(FigureName.POT_LIFE_SECOND)
    if second is None or second.mass_g is None:
        return None
    room_c = STATED_C if second.temperature_c is None else second.temperature_c
    return pot_life_in_cup(set_off(material), mass_g=second.mass_g, room_c=room_c).time_min / second.value


def section_min(section_mm: float) -> float:
    r"""Time in which a flat section loses all but 1/e of its warmth to a mould that conducts as it does itself, min.

    .. math:: \tau = d^2 / (2a)

    A slab suddenly hot in a medium of the same kind keeps erf(x) − (1 − e^{−x²})/(x√π) of its heat, x =
    d/(2√(at)), which
    is 1/e at x = 0.70 (Carslaw & Jaeger, Conduction of Heat in Solids, ch. 2; from memory).

    >>> round(section_min(10), 2)
    8.33
    """
    return section_mm**2 / (2 * SPREADING_MM2_S) / 60


def stated_mass_g(material: Material) -> float:
    """The mass that the record's pot life belongs to, g."""
    return _mass_of(needed(material, FigureName.POT_LIFE))


def _cup_min(mass_g: float, density_g_ml: float, heat_j_g_k: float) -> float:
    """Cooling time of a mix in a cup as wide as the mix is high: A/V = 6/d."""
    volume_ml = mass_g / density_g_ml
    wide_mm = math.cbrt(4000 * volume_ml / math.pi)
    return cooling_min(
        volume_ml=volume_ml,
        surface_mm2=1.5 * math.pi * wide_mm**2,
        loss_w_m2_k=CUP_LOSS_W_M2_K,
        density_g_ml=density_g_ml,
        heat_j_g_k=heat_j_g_k,
    )


def _fitted(material: Material, pot_life: Figure, cup_min: float, *, pot_life_ratio: float) -> Setting:
    stated_c = STATED_C if pot_life.temperature_c is None else pot_life.temperature_c
    energy = value_or(material, FigureName.ACTIVATION_ENERGY, ACTIVATION_ENERGY_KJ_MOL)
    rise_k = value_or(material, FigureName.ADIABATIC_RISE, RISE_K[_class_of(material)])
    second = material.figures.get(FigureName.POT_LIFE_SECOND)
    if second is not None and second.mass_g is not None:
        density, heat = recipe_of(material).density_g_ml, HEAT_J_G_K[_class_of(material)]
        rise_k = rise_of_two_masses(
            first_min=pot_life.value,
            second_min=_carried(second, energy, stated_c),
            reference_c=stated_c,
            energy_kj_mol=energy,
            first_cup_min=cup_min,
            second_cup_min=_cup_min(second.mass_g, density, heat),
        )
    rate = rate_for(
        time_min=pot_life.value * pot_life_ratio,
        conversion=POT_LIFE_CONVERSION,
        reference_c=stated_c,
        energy_kj_mol=energy,
        rise_k=rise_k,
        cooling_min=cup_min,
    )
    return Setting(rate_per_min=rate, reference_c=stated_c, energy_kj_mol=energy, rise_k=rise_k)


@lru_cache(maxsize=256)
def rise_of_two_masses(
    *,
    first_min: float,
    second_min: float,
    reference_c: float,
    energy_kj_mol: float,
    first_cup_min: float,
    second_cup_min: float,
) -> float:
    """The rise, K, with which both pot lives come out; where none does, the nearest between 0 and 300 K."""

    def off_min(rise_k: float) -> float:
        rate = rate_for(
            time_min=first_min,
            conversion=POT_LIFE_CONVERSION,
            reference_c=reference_c,
            energy_kj_mol=energy_kj_mol,
            rise_k=rise_k,
            cooling_min=first_cup_min,
        )
        one = Setting(rate_per_min=rate, reference_c=reference_c, energy_kj_mol=energy_kj_mol, rise_k=rise_k)
        at_second = reached(
            one, conversion=POT_LIFE_CONVERSION, room_c=reference_c, cooling_min=second_cup_min
        ).time_min
        return at_second - second_min

    low_k, high_k = 0.01, MOST_RISE_K
    low, high = off_min(low_k), off_min(high_k)
    if low * high > 0:
        return low_k if abs(low) < abs(high) else high_k
    return float(brentq(off_min, low_k, high_k, xtol=0.01))


def _set_after(neat: Setting, cup_min: float, demould_min: float) -> float:
    """The conversion that counts as set: the usual one, or what the record's block has at its demould time."""
    set_min = reached(neat, conversion=DEMOULD_CONVERSION, room_c=neat.reference_c, cooling_min=cup_min).time_min
    if set_min <= demould_min:
        return DEMOULD_CONVERSION

    def late_min(conversion: float) -> float:
        at = reached(neat, conversion=conversion, room_c=neat.reference_c, cooling_min=cup_min)
        return at.time_min - demould_min

    return float(brentq(late_min, 1e-3, DEMOULD_CONVERSION, xtol=1e-6))


def _hardens_min(one: SetOff, room_c: float) -> float:
    if one.hardens_min == 0.0:
        return 0.0
    return one.hardens_min * arrhenius_time_ratio(
        activation_energy_kj_mol=one.setting.energy_kj_mol, from_c=one.setting.reference_c, to_c=room_c
    )


def _carried(figure: Figure, energy_kj_mol: float, to_c: float) -> float:
    """The figure's time carried over to another temperature by Arrhenius's law, min."""
    stated_c = STATED_C if figure.temperature_c is None else figure.temperature_c
    return figure.value * arrhenius_time_ratio(activation_energy_kj_mol=energy_kj_mol, from_c=stated_c, to_c=to_c)


def _mass_of(pot_life: Figure) -> float:
    return STATED_MASS_G if pot_life.mass_g is None else pot_life.mass_g


def _class_of(material: Material) -> str:
    if material.kind in SILICONES or RUBBER_OF_SILICONE in material.traits:
        return "silicone"
    return "rigid" if material.kind is Kind.RIGID_CASTING else "flexible"
