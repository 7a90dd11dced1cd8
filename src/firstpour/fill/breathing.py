"""Whether a gate full of material still lets the air of the cavity out."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstpour.fill.cavity import Cavity
from firstpour.fill.values import Channel
from firstpour.formulas.bubbles import long_bubble_speed_mm_s
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material
from firstpour.mixing.recipe import recipe_of
from firstpour.mixing.viscosity import viscosity_pa_s
from firstpour.surface.dexels import dexel_volume_mm3
from firstpour.units import MM3_PER_ML

BREATHING_S = 60.0
"""A gate that passes the cavity's air against the stream within this time needs no vent. An estimate of our own
(decision 0035)."""
USUAL_ROOM_C = 23.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """What is poured; by default typical of a mix for pouring by hand."""

    viscosity_pa_s: float = 1.0
    density_g_ml: float = 1.05


def mix_of(material: Material, additives: Sequence[Additive] = ()) -> Mix | None:
    """The material freshly mixed at 23 °C with what is stirred in; None where its viscosity is not known.

    A mould is poured on many days: its channels depend on what is poured, not on the room or the clock of one day.
    """
    if FigureName.VISCOSITY not in material.figures:
        return None
    return Mix(
        viscosity_pa_s=viscosity_pa_s(material, temperature_c=USUAL_ROOM_C, additives=additives),
        density_g_ml=recipe_of(material, additives).density_g_ml,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Breath:
    """How the air of a cavity gets out past the stream of a full gate: how much, through what width, how long."""

    air_ml: float
    across_mm: float
    takes_s: float

    @property
    def serves(self) -> bool:
        """Whether all of it is out within `BREATHING_S`."""
        return self.takes_s <= BREATHING_S


def breath_of(cavity: Cavity, gate: Channel, *, mix: Mix) -> Breath:
    """How long the air of the cavity takes to leave through the full gate against the stream.

    Air climbs through the gate's narrowest section as one long bubble (`long_bubble_speed_mm_s`). An estimate of our
    own (decision 0035).
    """
    volume_ml = dexel_volume_mm3(cavity.dexels) / MM3_PER_ML
    diameter_mm = 2.0 * min(gate.radius_start_mm, gate.foot_radius_mm or np.inf)
    speed = long_bubble_speed_mm_s(
        diameter_mm=diameter_mm, viscosity_pa_s=mix.viscosity_pa_s, density_g_ml=mix.density_g_ml
    )
    flow_ml_s = speed * math.pi * diameter_mm**2 / 4.0 / MM3_PER_ML
    return Breath(
        air_ml=volume_ml, across_mm=diameter_mm, takes_s=volume_ml / flow_ml_s if flow_ml_s > 0 else math.inf
    )
