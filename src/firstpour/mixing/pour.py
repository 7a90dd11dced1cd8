"""One pour on the clock: its steps with their spread, the chance to end inside the pot life, what makes it fit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from firstpour.errors import WorkshopError
from firstpour.formulas.durations import Spread, added, chance_in_time, three_point
from firstpour.materials.additives import Additive
from firstpour.materials.figures import FigureName
from firstpour.materials.material import ADDITIVE_KINDS, SILICONES, Kind, Material, value_or
from firstpour.mixing.bench_kit import BenchKit, Pace
from firstpour.mixing.clock import CureTimes, cure_times
from firstpour.mixing.mix import mix_density_g_ml

CHANCE_TO_FIT = 0.9
"""A pour fits if nine of ten end inside the pot life: our own choice (decision 0004)."""

PACE_RATIO = {Pace.PRACTISED: 0.8, Pace.STEADY: 1.0, Pace.UNHURRIED: 1.4}
LONGEST_RATIO = {Pace.PRACTISED: 1.5, Pace.STEADY: 1.8, Pace.UNHURRIED: 2.2}
SHORTEST_RATIO = 0.75
"""Minutes of each step and their spread are estimates of our own (decision 0004)."""

WEIGH_MIN, WEIGH_MIN_PER_KG, TIP_IN_MIN, STIR_IN_MIN = 0.75, 0.25, 0.25, 1.0
OPENING_MIN, TAP_MIN, CLOSE_POT_MIN = 0.25, 0.5, 1.0
STREAM_ML_MIN, STREAM_PA_S = 150.0, 3.0
SLOWEST_STREAM_ML_MIN, FASTEST_STREAM_ML_MIN = 60.0, 900.0
DEFAULT_MIXING_MIN = 2.0
POT_LIFE_SCATTER = 0.1
"""By how much the pot life of one material differs from can to can: an estimate of our own (decision 0004)."""
COOL_ROOM_C = 18.0
SPLIT = "Split into"


class PourStepName(StrEnum):
    """The steps of a pour, in their order."""

    WEIGH_A = "weigh A"
    ADDITIVES = "stir in additives"
    WEIGH_B = "weigh B"
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
    """What is poured in one go: `volume_ml` into `openings` moulds. `pour_min` where the flow is known."""

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
        return self.volume_ml * mix_density_g_ml(self.material)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing to change, and the chance with it."""

    text: str
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PourFit:
    """How a pour stands against the pot life at one temperature; `changes` are ranked, best first."""

    temperature_c: float
    times: CureTimes | None
    """None: the material may not be worked at this temperature; `problem` says why."""
    steps: tuple[PourStep, ...]
    work_min: float
    chance: float
    fits: bool
    changes: tuple[Change, ...] = ()
    problem: str | None = None
    remedy: str | None = None


def pour_steps(pour: Pour) -> tuple[PourStep, ...]:
    """The steps of the pour, in order, each with its mean and variance."""
    kit, material = pour.kit, pour.material
    weigh_min = WEIGH_MIN + WEIGH_MIN_PER_KG * pour.mass_g / 1000
    stirred_in = [additive for additive in pour.additives if additive.material.kind in ADDITIVE_KINDS]
    steps = [_step(PourStepName.WEIGH_A, weigh_min, kit, on_clock=False)]
    if stirred_in:
        steps.append(_step(PourStepName.ADDITIVES, STIR_IN_MIN * len(stirred_in), kit, on_clock=False))
    met_min = TIP_IN_MIN if pour.prepared_cups else weigh_min
    steps.append(_step(PourStepName.WEIGH_B, met_min, kit, on_clock=True))
    steps.append(
        _step(PourStepName.MIX, value_or(material, FigureName.MIXING, DEFAULT_MIXING_MIN), kit, on_clock=True)
    )
    if pour.degassed and kit.vacuum and FigureName.DEGAS in material.figures:
        steps.append(_step(PourStepName.DEGAS, material.figures[FigureName.DEGAS].value, kit, on_clock=True))
    steps.append(_step(PourStepName.POUR, _pour_min(pour), kit, on_clock=True))
    last_min = CLOSE_POT_MIN if kit.pressure and material.kind not in SILICONES else TAP_MIN
    steps.append(_step(PourStepName.LET_AIR_OUT, last_min, kit, on_clock=True))
    return tuple(steps)


def pour_fit(pour: Pour, *, temperature_c: float, slower: Sequence[Material] = ()) -> PourFit:
    """The pour against the pot life at `temperature_c`; `slower` are materials that would do as well."""
    steps = pour_steps(pour)
    work = added(step.time for step in steps if step.on_clock)
    try:
        times = cure_times(pour.material, temperature_c=temperature_c, mass_g=pour.mass_g, additives=pour.additives)
    except WorkshopError as error:
        return PourFit(
            temperature_c=temperature_c,
            times=None,
            steps=steps,
            work_min=work.mean_min,
            chance=0.0,
            fits=False,
            problem=error.problem,
            remedy=error.remedy,
        )
    chance = _chance(work, times)
    fits = chance >= CHANCE_TO_FIT
    return PourFit(
        temperature_c=temperature_c,
        times=times,
        steps=steps,
        work_min=work.mean_min,
        chance=chance,
        fits=fits,
        changes=() if fits else ranked_changes(pour, temperature_c=temperature_c, slower=slower),
    )


def ranked_changes(pour: Pour, *, temperature_c: float, slower: Sequence[Material]) -> tuple[Change, ...]:
    """What would make the pour fit: those that do first, the least trouble first; then the best of the rest."""
    now = _chance_of(pour, temperature_c)
    tried = [
        Change(text=text, chance=_chance_of(changed, at_c))
        for text, changed, at_c in _possible(pour, temperature_c, slower)
    ]
    better = [change for change in _fewest_parts(tried) if change.chance > now + 0.005]
    fitting = [change for change in better if change.chance >= CHANCE_TO_FIT]
    rest = sorted((change for change in better if change not in fitting), key=lambda change: -change.chance)
    return tuple(fitting + rest)


def _fewest_parts(changes: list[Change]) -> list[Change]:
    """Of the ways to split, only the one with the fewest mixes that fits; all of them if none does."""
    splits = [change for change in changes if change.text.startswith(SPLIT)]
    fitting = [change for change in splits if change.chance >= CHANCE_TO_FIT]
    dropped = [change for change in splits if fitting and change is not fitting[0]]
    return [change for change in changes if not any(change is one for one in dropped)]


def _possible(pour: Pour, temperature_c: float, slower: Sequence[Material]) -> list[tuple[str, Pour, float]]:
    """Every change that is open, least trouble first. One closed mould is never filled from two mixes."""
    ready = replace(pour, prepared_cups=True)
    options: list[tuple[str, Pour, float]] = []
    if not pour.prepared_cups:
        options.append(
            ("Prepare the cups: weigh A and B apart, additives stirred in, before they meet.", ready, temperature_c)
        )
    quick = tuple(additive for additive in pour.additives if additive.material.kind is not Kind.ACCELERATOR)
    if len(quick) < len(pour.additives):
        options.append(("Leave out the accelerator.", replace(pour, additives=quick), temperature_c))
    if pour.degassed and pour.kit.vacuum and pour.kit.pressure and FigureName.DEGAS in pour.material.figures:
        text = "Skip the vacuum and let the pressure pot shrink the bubbles."
        options.append((text, replace(ready, degassed=False), temperature_c))
    options += [
        (
            f"{SPLIT} {parts} mixes, one after the other, with prepared cups.",
            _share(ready, parts),
            temperature_c,
        )
        for parts in (2, 3, 4)
        if parts <= pour.openings or pour.material.kind in SILICONES
    ]
    coolest_c = max(COOL_ROOM_C, value_or(pour.material, FigureName.COLDEST, COOL_ROOM_C))
    if coolest_c < temperature_c:
        options.append(
            (f"Pour in a room at {coolest_c:g} °C, cans and mould as cool, cups prepared.", ready, coolest_c)
        )
    for material in slower:
        fitting = tuple(a for a in pour.additives if {material.id, *material.traits} & set(a.material.works_in))
        swapped = replace(ready, material=material, additives=fitting)
        options.append((f"Take a slower one: {material.name} ({material.id}).", swapped, temperature_c))
    return options


def _share(pour: Pour, parts: int) -> Pour:
    openings = max(1, math.ceil(pour.openings / parts))
    pour_min = None if pour.pour_min is None else pour.pour_min / parts
    return replace(pour, volume_ml=pour.volume_ml / parts, openings=openings, pour_min=pour_min)


def _chance_of(pour: Pour, temperature_c: float) -> float:
    try:
        times = cure_times(pour.material, temperature_c=temperature_c, mass_g=pour.mass_g, additives=pour.additives)
    except WorkshopError:
        return 0.0
    return _chance(added(step.time for step in pour_steps(pour) if step.on_clock), times)


def _chance(work: Spread, times: CureTimes) -> float:
    return chance_in_time(
        work,
        limit_low_min=times.pot_life_low_min * (1 - POT_LIFE_SCATTER),
        limit_high_min=times.pot_life_high_min * (1 + POT_LIFE_SCATTER),
    )


def _pour_min(pour: Pour) -> float:
    """Minutes of pouring: as the flow says, else a stream that thins with the square root of the viscosity."""
    if pour.pour_min is not None:
        return pour.pour_min
    viscosity_pa_s = value_or(pour.material, FigureName.VISCOSITY, STREAM_PA_S)
    stream_ml_min = STREAM_ML_MIN * math.sqrt(STREAM_PA_S / viscosity_pa_s)
    stream_ml_min = min(max(stream_ml_min, SLOWEST_STREAM_ML_MIN), FASTEST_STREAM_ML_MIN)
    return pour.volume_ml / stream_ml_min + OPENING_MIN * pour.openings


def _step(name: PourStepName, likely_min: float, kit: BenchKit, *, on_clock: bool) -> PourStep:
    likely_min *= 1.0 if name is PourStepName.DEGAS else PACE_RATIO[kit.pace]
    spread = three_point(
        low_min=SHORTEST_RATIO * likely_min,
        likely_min=likely_min,
        high_min=(1.3 if name is PourStepName.DEGAS else LONGEST_RATIO[kit.pace]) * likely_min,
    )
    return PourStep(name=name, time=spread, on_clock=on_clock)
