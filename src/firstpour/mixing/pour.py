"""One pour on the clock: what is left of the pot life, what eats it, the chance to end in time, what helps."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.errors import WorkshopError
from firstpour.formulas.durations import Spread, chance_in_time
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Kind, Material, value_or
from firstpour.mixing.clock import CureTimes, cure_times
from firstpour.mixing.pour_steps import Pour, PourStep, PourStepName, age_at_pour_min, pour_steps, work_on_clock
from firstpour.mixing.recipe import mix_density_g_ml

CHANCE_TO_FIT = 0.9
"""A pour fits if nine of ten end inside the pot life: our own choice (decision 0004)."""
COOL_ROOM_C = 18.0
SPLIT = "Split into"


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

    @property
    def margin_min(self) -> float | None:
        """What is left of the pot life when the pour has ended, as it most likely goes; below zero: too late."""
        return None if self.times is None else self.times.pot_life_min - self.work_min

    @property
    def eaten_by(self) -> tuple[PourStep, ...]:
        """The steps that the pot life runs through, the longest first."""
        running = (step for step in self.steps if step.on_clock)
        return tuple(sorted(running, key=lambda step: -step.time.mean_min))

    @property
    def left_for_pour_min(self) -> float:
        """What the pour itself may take so that nineteen of twenty mixes are still thin enough, never below zero."""
        if self.times is None:
            return 0.0
        pour_alone = sum(step.time.mean_min for step in self.steps if step.name is PourStepName.POUR)
        return max(0.0, self.times.pot_life_low_min - (self.work_min - pour_alone))

    @property
    def age_at_pour_min(self) -> float:
        """How old the mix is when the pour itself begins."""
        return age_at_pour_min(self.steps)


def margin_words(fit: PourFit) -> str:
    """What is left of the pot life, and what eats most of it."""
    if fit.margin_min is None or fit.times is None:
        return fit.problem or ""
    most = " and ".join(f"{step.time.mean_min:.1f} for “{step.name.value}”" for step in fit.eaten_by[:2])
    left = f"{fit.margin_min:.1f} min to spare" if fit.margin_min >= 0 else f"{-fit.margin_min:.1f} min too many"
    return f"{fit.work_min:.1f} min of work ({most}) in a pot life of {fit.times.pot_life_min:.1f} min: {left}."


def pour_fit(pour: Pour, *, temperature_c: float, slower: Sequence[Material] = ()) -> PourFit:
    """The pour against the pot life at `temperature_c`; `slower` are materials that would do as well."""
    steps = pour_steps(pour, temperature_c=temperature_c)
    work = work_on_clock(steps)
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
    if not pour.b_apart:
        options.append(("Prepare the cups: weigh A and B apart, before they meet.", ready, temperature_c))
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
        if parts <= pour.openings
    ]
    coolest_c = max(COOL_ROOM_C, value_or(pour.material, FigureName.COLDEST, COOL_ROOM_C))
    if coolest_c < temperature_c:
        options.append(
            (f"Pour in a room at {coolest_c:g} °C, cans and mould as cool, cups prepared.", ready, coolest_c)
        )
    for material in (one for one in slower if _may_fill(pour, one)):
        fitting = tuple(a for a in pour.additives if {material.id, *material.traits} & set(a.material.works_in))
        swapped = replace(ready, material=material, additives=fitting)
        options.append((f"Take a slower one: {material.name} ({material.id}).", swapped, temperature_c))
    return options


def _may_fill(pour: Pour, material: Material) -> bool:
    """Whether one cavity takes no more of `material` than may be mixed at once."""
    largest_g = value_or(material, FigureName.LARGEST_MASS, math.inf)
    return pour.volume_ml / pour.openings * mix_density_g_ml(material) <= largest_g


def _share(pour: Pour, parts: int) -> Pour:
    openings = max(1, math.ceil(pour.openings / parts))
    pour_min = None if pour.pour_min is None else pour.pour_min / parts
    return replace(pour, volume_ml=pour.volume_ml / parts, openings=openings, pour_min=pour_min)


def _chance_of(pour: Pour, temperature_c: float) -> float:
    try:
        times = cure_times(pour.material, temperature_c=temperature_c, mass_g=pour.mass_g, additives=pour.additives)
    except WorkshopError:
        return 0.0
    return _chance(work_on_clock(pour_steps(pour, temperature_c=temperature_c)), times)


def _chance(work: Spread, times: CureTimes) -> float:
    return chance_in_time(work, limit_min=times.pot_life_min, limit_spread=times.pot_life_spread)
