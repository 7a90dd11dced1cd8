"""What would buy time: the job done otherwise, put in order anew by the solver, with date, money and hands."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import isnan, nan

from firstpour.choosing.choice import Chosen, PlannedMix
from firstpour.choosing.options import silicone_options
from firstpour.choosing.trial import Trial, casting_trial, needs_of
from firstpour.errors import WorkshopError
from firstpour.materials.additives import Additive, check_additive
from firstpour.materials.material import Kind
from firstpour.parting.values import MouldKind
from firstpour.plan.route_basis import need_in
from firstpour.plan.values import PartPlan, Progress
from firstpour.routes.money import price_of
from firstpour.schedule.hours_ahead import STEP_MIN, calendar_from
from firstpour.schedule.ordering import Asked, as_ready, hands_min, moment_at, network_of
from firstpour.schedule.part_tasks import POT, Ways
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Calendar, Proved
from firstpour.sheets.words import listed
from firstpour.stock.stock import Amount
from firstpour.workshop.hours import DAY_MIN, Hours, Window
from firstpour.workshop.workshop import Workshop

EXTRA_MIN = 60
QUICK = Effort(last=1.5, proofs=0.3, visits=0.0, tidy=0.0)
"""Enough for an option of a dozen to stay within a minute in all."""
FASTER = 0.95
"""A material counts as faster where it is ready in less than this share of the time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """The job done otherwise, with what it costs more than the job as it stands.

    `sooner_days` is against the job as it stands; `hands_min` in all; `money` more for materials, None where no price
    or no shelf is known.
    """

    name: str
    first_proof_at: datetime
    all_done_at: datetime
    sooner_days: float
    hands_min: float
    money: float | None
    proved: Proved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alternative:
    """Something to do otherwise: how each part is then done, other hours if so, and what it costs more."""

    name: str
    ways: Mapping[str, Ways]
    calendar: Calendar | None = None
    money: float | None = None


def alternatives(asked: Asked) -> tuple[Alternative, ...]:
    """All that can be done otherwise in this job."""
    found = [_another_mould(asked, one) for one in asked.plan.parts]
    for make in (_faster_silicone, _accelerator, _trays, _shared_pot, _extra_hour):
        one = make(asked)
        if one is not None:
            found.append(one)
    return tuple(found)


def compare(
    asked: Asked,
    last: int,
    others: Sequence[Alternative],
    *,
    progress: Progress,
    done: int,
    total: int,
    effort: Effort | None = None,
) -> tuple[Option, ...]:
    """Each alternative put in order by the solver; the one that ends soonest first. `last`: the job as it stands."""
    hours = asked.plan.job.equipment.hours
    options = []
    for number, one in enumerate(others):
        progress(done + number, total, one.name)
        calendar = one.calendar or asked.calendar
        network = network_of(asked.plan, as_ready(asked.plan, one.ways, calendar), calendar)
        found = asked.solver.solve(network, calendar, effort=effort or QUICK)
        options.append(
            Option(
                name=one.name,
                first_proof_at=moment_at(asked.start, min(found.ends[name] for name in network.proofs), hours),
                all_done_at=moment_at(asked.start, found.last, hours),
                sooner_days=(last - found.last) * STEP_MIN / DAY_MIN,
                hands_min=hands_min(network),
                money=one.money,
                proved=found.proved,
            )
        )
    progress(total, total, "done")
    return tuple(sorted(options, key=lambda one: (one.all_done_at, one.money or 0.0)))


def _with(asked: Asked, change: Callable[[Ways], Ways]) -> dict[str, Ways]:
    return {name: replace(change(way), ready=()) for name, way in asked.ways.items()}


def _another_mould(asked: Asked, one: PartPlan) -> Alternative:
    name = one.request.name
    more = replace(asked.ways[name], moulds=asked.ways[name].moulds + 1, ready=())
    silicone = None if one.choice is None else one.choice.silicone
    money = None
    if silicone is not None and asked.workshop is not None:
        whole = _price(silicone.mixes, asked.workshop)
        money = None if whole is None else whole / max(1, one.request.moulds)
    return Alternative(name=f"another mould of {name}", ways={**asked.ways, name: more}, money=money)


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
        then, now = _price(found.trial.mixes, asked.workshop), _price(found.instead_of.mixes, asked.workshop)
        money = money + then - now if then is not None and now is not None else nan
    if not taken:
        return None
    words = [f"{material} {where} {listed(names)}" for material, names in taken.items()]
    return Alternative(name=listed(words), ways=ways, money=None if isnan(money) else money)


def _faster_silicone(asked: Asked) -> Alternative | None:
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


def _accelerator(asked: Asked) -> Alternative | None:
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


def _trays(asked: Asked) -> Alternative | None:
    """Both halves poured in one go in place of one after the other."""
    names = [one.request.name for one in asked.plan.parts if one.mould.kind is MouldKind.BEDDING]
    if not names:
        return None
    ways = {
        name: replace(way, halves_at_once=True, ready=()) if name in names else way
        for name, way in asked.ways.items()
    }
    return Alternative(name=f"trays instead of a bedding for {listed(names)}", ways=ways)


def _shared_pot(asked: Asked) -> Alternative | None:
    """Several things in the pressure pot at once, where it is used at all."""
    network = network_of(asked.plan, asked.ways, asked.calendar)
    if not any(hold.machine == POT for hold in network.holds):
        return None
    return Alternative(
        name="several things in the pressure pot at once", ways=_with(asked, lambda way: replace(way, pot=False))
    )


def _extra_hour(asked: Asked) -> Alternative:
    calendar = calendar_from(asked.start, with_extra_hour(asked.plan.job.equipment.hours))
    return Alternative(name="an extra hour on every day with hours", ways=asked.ways, calendar=calendar, money=0.0)


def with_extra_hour(hours: Hours) -> Hours:
    """The last window of every day an hour longer; before it where the day ends.

    >>> from firstpour.workshop.hours import Weekday
    >>> [str(one) for one in with_extra_hour(Hours()).week[Weekday.MONDAY]]
    ['09:00-18:00']
    """
    return replace(hours, week={day: _longer(windows) for day, windows in hours.week.items()})


def _longer(windows: tuple[Window, ...]) -> tuple[Window, ...]:
    if not windows:
        return ()
    *others, last = windows
    after_min = min(EXTRA_MIN, DAY_MIN - last.end_min)
    least_min = max((one.end_min for one in others), default=0)
    start_min = max(least_min, last.start_min - (EXTRA_MIN - after_min))
    return (*others, Window(start_min=start_min, end_min=last.end_min + after_min))


def _price(mixes: Sequence[PlannedMix], workshop: Workshop) -> float | None:
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
