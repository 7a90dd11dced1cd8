"""How many moulds one mix fills, and the hands that a filling takes: once, for plan, routes and schedule."""

from dataclasses import replace
from math import ceil

from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import casting_trial
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive
from firstpour.materials.material import Material
from firstpour.mixing.pour import PourFit
from firstpour.mixing.pour_steps import PourStepName
from firstpour.workshop.workshop import Workshop

MOST_AT_ONCE = 8
"""More moulds of one part than this are not filled at once."""


def moulds_in_one_mix(
    need: PartNeed, workshop: Workshop, material: Material, additives: tuple[Additive, ...], *, most: int
) -> int:
    """The most moulds that one mix fills within its pot life, one at least: a larger mix sets sooner."""
    found = 1
    for moulds in range(2, min(most, need.copies, MOST_AT_ONCE) + 1):
        try:
            trial = casting_trial(replace(need, moulds=moulds), workshop, material, additives)
        except WorkshopError:
            break
        if trial.mixes[0].mix.batches > 1 or not trial.fit.fits:
            break
        found = moulds
    return found


def work_min(fit: PourFit) -> float:
    """Minutes of one pour, weighing and all."""
    return sum(one.time.mean_min for one in fit.steps)


def pour_alone_min(fit: PourFit) -> float:
    """Of these, the pouring itself."""
    return sum(one.time.mean_min for one in fit.steps if one.name is PourStepName.POUR)


def filling_min(fit: PourFit, *, openings: int, cavities: int, at_once: int) -> float:
    """Minutes of hands to fill so many cavities, a mix for every `at_once`; the `fit` is of `openings` cavities.

    Pouring grows with the cavities; weighing and mixing come once a mix.
    """
    alone_min = pour_alone_min(fit)
    mixes = ceil(cavities / at_once)
    return mixes * (work_min(fit) - alone_min) + cavities * alone_min / max(1, openings)
