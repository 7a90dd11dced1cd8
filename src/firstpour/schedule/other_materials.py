"""Materials that set sooner: the quickest silicone of the shelf, the accelerator made for a casting material."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import isnan, nan

from firstpour.choosing.choice import Chosen, PlannedMix
from firstpour.choosing.options import silicone_options
from firstpour.choosing.trial import Trial, casting_trial, needs_of
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive, check_additive
from firstpour.materials.material import Kind
from firstpour.plan.route_basis import need_in
from firstpour.plan.values import PartPlan
from firstpour.routes.money import price_of
from firstpour.schedule.alternative import Alternative
from firstpour.schedule.ordering import Asked
from firstpour.schedule.ways import Ways
from firstpour.sheets.words import listed
from firstpour.stock.stock import Amount
from firstpour.workshop.workshop import Workshop

FASTER = 0.95
"""A material counts as faster where it is ready in less than this share of the time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Swap:
    """One part with a quicker material: its way, the trial in place of what is taken, and the name to tell."""

    ways: Ways
    trial: Trial
    instead_of: Chosen
    told: str


def _quicker(asked: Asked, where: str, swap: Callable[[PartPlan, Workshop], _Swap | None]) -> Alternative | None:
    """Every part with its quicker material, where it has one; `where` it goes stands before the parts' names."""
    if asked.workshop is None:
        return None
    ways, money = dict(asked.ways), 0.0
    taken: dict[str, list[str]] = {}
    for one in asked.plan.parts:
        found = swap(one, asked.workshop)
        if found is None:
            continue
        name = one.request.name
        ways[name] = replace(found.ways, ready=())
        taken.setdefault(found.told, []).append(name)
        then, now = (
            price_of_mixes(found.trial.mixes, asked.workshop),
            price_of_mixes(found.instead_of.mixes, asked.workshop),
        )
        money = money + then - now if then is not None and now is not None else nan
    if not taken:
        return None
    words = [f"{material} {where} {listed(names)}" for material, names in taken.items()]
    return Alternative(name=listed(words), ways=ways, money=None if isnan(money) else money)


def faster_silicone(asked: Asked) -> Alternative | None:
    """For every part the silicone of the shelf, or known, that would do and may be opened soonest."""

    def swap(one: PartPlan, workshop: Workshop) -> _Swap | None:
        found = _fastest(one, asked, workshop)
        if found is None or one.choice is None or one.choice.silicone is None:
            return None
        ratio = found.demould_min / one.choice.silicone.demould_min
        ways = replace(asked.ways[one.request.name], silicone_cure_ratio=ratio)
        return _Swap(ways=ways, trial=found, instead_of=one.choice.silicone, told=found.material.name)

    return _quicker(asked, "for the mould of", swap)


def _fastest(one: PartPlan, asked: Asked, workshop: Workshop) -> Trial | None:
    """The silicone that cures soonest of those that would do, where that is faster than the one taken."""
    choice = one.choice
    if choice is None or choice.silicone is None or choice.casting is None:
        return None
    need = replace(need_in(one, asked.plan.job, one.mould.kind), silicone=None)
    casting = _casting(one, asked, workshop, ())
    fits = [option.trial for option in silicone_options(need, workshop, casting=casting).options]
    fits = [trial for trial in fits if trial.fit.fits]
    best = min(fits, key=lambda trial: trial.demould_min, default=None)
    return None if best is None or best.demould_min > FASTER * choice.silicone.demould_min else best


def _casting(one: PartPlan, asked: Asked, workshop: Workshop, more: tuple[Additive, ...]) -> Trial | None:
    choice = one.choice
    if choice is None or choice.casting is None:
        return None
    need = need_in(one, asked.plan.job, one.mould.kind)
    try:
        return casting_trial(need, workshop, choice.casting.material, (*choice.casting.additives, *more))
    except WorkshopError:
        return None


def accelerator(asked: Asked) -> Alternative | None:
    """Every casting material with the accelerator made for it, at its full dose, where the pour still fits."""

    def swap(one: PartPlan, workshop: Workshop) -> _Swap | None:
        if one.choice is None or one.choice.casting is None:
            return None
        found = _accelerated(one, one.choice.casting, asked, workshop)
        if found is None:
            return None
        ratio = found.demould_min / one.choice.casting.demould_min
        ways = replace(asked.ways[one.request.name], casting_cure_ratio=ratio)
        told = found.additives[-1].material.name
        return _Swap(ways=ways, trial=found, instead_of=one.choice.casting, told=told)

    return _quicker(asked, "in the castings of", swap)


def _accelerated(one: PartPlan, casting: Chosen, asked: Asked, workshop: Workshop) -> Trial | None:
    found: list[Trial] = []
    for material in workshop.catalogue.of_kinds([Kind.ACCELERATOR]):
        more = Additive(material=material, dose_ratio=material.doses[-1].dose_ratio if material.doses else 0.0)
        try:
            check_additive(more, base=casting.material)
        except WorkshopError:
            continue
        trial = _casting(one, asked, workshop, (more,))
        if trial is not None and trial.fit.fits and trial.demould_min <= FASTER * casting.demould_min:
            found.append(trial)
    return min(found, key=lambda trial: trial.demould_min, default=None)


def price_of_mixes(mixes: Sequence[PlannedMix], workshop: Workshop) -> float | None:
    """What the mixes cost; None where a price is not known."""
    money = 0.0
    for key, amount in needs_of(mixes).items():
        price = price_of(workshop.catalogue.get(key), workshop.stock)
        if price is None:
            return None
        money += price.per_g * _grams(amount)
    return money


def _grams(amount: Amount) -> float:
    return amount.a_g + amount.b_g
