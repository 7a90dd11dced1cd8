"""The steps of a pour in their order: how long each takes, and which of them the pot life runs through."""

import math
from dataclasses import dataclass, field
from enum import StrEnum

from firstpour.formulas.durations import Spread, in_series, three_point
from firstpour.materials.additives import Additive, stirred_into
from firstpour.materials.figures import FigureName
from firstpour.materials.material import SILICONES, CountsOn, Material, value_or
from firstpour.mixing.bench_kit import BenchKit, Pace
from firstpour.mixing.mix import degas_lots
from firstpour.mixing.recipe import recipe_of
from firstpour.mixing.viscosity import viscosity_pa_s

PACE_RATIO = {Pace.PRACTISED: 0.8, Pace.STEADY: 1.0, Pace.UNHURRIED: 1.4}
LONGEST_RATIO = {Pace.PRACTISED: 1.5, Pace.STEADY: 1.8, Pace.UNHURRIED: 2.2}
SHORTEST_RATIO = 0.75
"""Minutes of each step and their spread are estimates of our own (decision 0004)."""
SAME_HANDS = 0.5
"""Correlation of steps done by one pair of hands on one day: our own estimate (decision 0015)."""

WEIGH_MIN, WEIGH_MIN_PER_KG, TIP_IN_MIN, STIR_IN_MIN = 0.75, 0.25, 0.25, 1.0
OPENING_MIN, TAP_MIN, CLOSE_POT_MIN = 0.25, 0.5, 1.0
STREAM_ML_MIN, STREAM_PA_S, STREAM_OF_ML = 150.0, 3.0, 100.0
SLOWEST_STREAM_ML_MIN, FASTEST_STREAM_ML_MIN = 60.0, 2000.0
"""A thin stream for a small cavity, a thicker one for a large."""
DEFAULT_MIXING_MIN, MIXING_MIN_PER_KG, MIXED_AT_ONCE_G = 2.0, 0.5, 1000.0


class PourStepName(StrEnum):
    """The steps of a pour, in their order."""

    WEIGH_A = "weigh A"
    ADDITIVES_A = "stir additives into A"
    WEIGH_B_APART = "weigh B in its own cup"
    ADDITIVES_B = "stir additives into B"
    WEIGH_B = "weigh B onto A"
    TIP_B = "tip B into A"
    MIX = "mix A and B"
    DEGAS = "degas"
    POUR = "pour"
    LET_AIR_OUT = "let air out"


@dataclass(frozen=True, slots=True, kw_only=True)
class PourStep:
    """One step: its time, and whether the pot life runs meanwhile (A and B have met)."""

    name: PourStepName
    time: Spread
    on_clock: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """What is poured in one go: `volume_ml` into `openings` cavities.

    `pour_min`: what the flow through the gates takes, where it is known (`fill.flow`); else a stream by hand is
    reckoned.
    """

    material: Material
    volume_ml: float
    openings: int = 1
    additives: tuple[Additive, ...] = ()
    kit: BenchKit = field(default_factory=BenchKit)
    prepared_cups: bool = False
    degassed: bool = True
    pour_min: float | None = None

    @property
    def mass_g(self) -> float:
        """A, B and additives, losses left out."""
        return self.volume_ml * recipe_of(self.material, self.additives).density_g_ml

    @property
    def b_apart(self) -> bool:
        """Whether B is weighed in a cup of its own: cups are prepared, or something is stirred into B."""
        return self.prepared_cups or _stirred(self, CountsOn.B) > 0


def pour_steps(pour: Pour, *, temperature_c: float) -> tuple[PourStep, ...]:
    """The steps of the pour, in order, each with its mean and variance; the clock starts when B meets A."""
    kit, material = pour.kit, pour.material
    weigh_min = WEIGH_MIN + WEIGH_MIN_PER_KG * pour.mass_g / 1000
    names = PourStepName
    before = [(names.WEIGH_A, weigh_min), (names.ADDITIVES_A, STIR_IN_MIN * _stirred(pour, CountsOn.A))]
    if pour.b_apart:
        before += [(names.WEIGH_B_APART, weigh_min), (names.ADDITIVES_B, STIR_IN_MIN * _stirred(pour, CountsOn.B))]
    running = [(names.TIP_B, TIP_IN_MIN) if pour.b_apart else (names.WEIGH_B, weigh_min)]
    running += [
        (names.MIX, _mixing_min(pour)),
        (names.DEGAS, _degas_min(pour)),
    ]
    last_min = CLOSE_POT_MIN if kit.pressure and material.kind not in SILICONES else TAP_MIN
    running += [(names.POUR, _pour_min(pour, temperature_c)), (names.LET_AIR_OUT, last_min)]
    steps = [_step(name, minutes, kit, on_clock=False) for name, minutes in before if minutes > 0]
    return (*steps, *(_step(name, minutes, kit, on_clock=True) for name, minutes in running if minutes > 0))


def work_on_clock(steps: tuple[PourStep, ...]) -> Spread:
    """All that happens while the pot life runs, the steps of one pair of hands being alike in pace."""
    return in_series((step.time for step in steps if step.on_clock), correlation_ratio=SAME_HANDS)


def age_at_pour_min(steps: tuple[PourStep, ...]) -> float:
    """How old the mix is when the pour itself begins, min."""
    names = [step.name for step in steps]
    before = steps[: names.index(PourStepName.POUR)]
    return sum(step.time.mean_min for step in before if step.on_clock)


def _stirred(pour: Pour, part: CountsOn) -> int:
    return sum(stirred_into(additive.material) is part for additive in pour.additives)


def _mixing_min(pour: Pour) -> float:
    """What the record says, and half a minute more for each kilogram above the first."""
    more_kg = max(0.0, pour.mass_g - MIXED_AT_ONCE_G) / 1000
    return value_or(pour.material, FigureName.MIXING, DEFAULT_MIXING_MIN) + MIXING_MIN_PER_KG * more_kg


def _degas_min(pour: Pour) -> float:
    """Time under vacuum; a mix that rises above container or chamber is degassed in lots, one after the other."""
    if not (pour.degassed and pour.kit.vacuum and FigureName.DEGAS in pour.material.figures):
        return 0.0
    return degas_lots(pour.material, pour.volume_ml, pour.kit) * pour.material.figures[FigureName.DEGAS].value


def _pour_min(pour: Pour, temperature_c: float) -> float:
    """Minutes of pouring: as the flow says, else a stream by hand.

    It thins with the square root of the viscosity and grows with that of the cavity's volume (decision 0004).
    """
    if pour.pour_min is not None:
        return pour.pour_min + OPENING_MIN * pour.openings
    thick_pa_s = viscosity_pa_s(pour.material, temperature_c=temperature_c, additives=pour.additives)
    large = pour.volume_ml / pour.openings / STREAM_OF_ML
    stream_ml_min = STREAM_ML_MIN * math.sqrt(large * STREAM_PA_S / thick_pa_s)
    stream_ml_min = min(max(stream_ml_min, SLOWEST_STREAM_ML_MIN), FASTEST_STREAM_ML_MIN)
    return pour.volume_ml / stream_ml_min + OPENING_MIN * pour.openings


def _step(name: PourStepName, likely_min: float, kit: BenchKit, *, on_clock: bool) -> PourStep:
    likely_min *= 1.0 if name is PourStepName.DEGAS else PACE_RATIO[kit.pace] * kit.pace_ratio
    spread = three_point(
        low_min=SHORTEST_RATIO * likely_min,
        likely_min=likely_min,
        high_min=(1.3 if name is PourStepName.DEGAS else LONGEST_RATIO[kit.pace]) * likely_min,
    )
    return PourStep(name=name, time=spread, on_clock=on_clock)
