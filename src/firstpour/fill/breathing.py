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


def gate_breathes(cavity: Cavity, gate: Channel, *, mix: Mix) -> bool:
    """Whether the air of the cavity leaves through the full gate against the stream within `BREATHING_S`.

    Air climbs through the gate's narrowest section as one long bubble (`long_bubble_speed_mm_s`). An estimate of our
    own (decision 0035).
    """
    volume_ml = dexel_volume_mm3(cavity.dexels) / MM3_PER_ML
    diameter_mm = 2.0 * min(gate.radius_start_mm, gate.foot_radius_mm or np.inf)
    speed = long_bubble_speed_mm_s(
        diameter_mm=diameter_mm, viscosity_pa_s=mix.viscosity_pa_s, density_g_ml=mix.density_g_ml
    )
    return speed * math.pi * diameter_mm**2 / 4.0 / MM3_PER_ML * BREATHING_S >= volume_ml
