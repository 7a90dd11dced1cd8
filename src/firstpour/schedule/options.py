"""What would buy time: the job done otherwise, put in order anew by the solver, with date, money and hands."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from firstpour.plan.values import Progress
from firstpour.schedule.alternative import Alternative
from firstpour.schedule.hours_ahead import STEP_MIN, calendar_from
from firstpour.schedule.ordering import Asked, as_ready, hands_min, moment_at, network_of
from firstpour.schedule.other_hours import MORNING, with_extra_hour, with_morning_hour
from firstpour.schedule.other_materials import accelerator, faster_silicone
from firstpour.schedule.other_moulds import another_mould, other_cavities, shared_pot, trays
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Network, Proved, Schedule
from firstpour.sheets.words import listed
from firstpour.workshop.hours import DAY_MIN, Hours

QUICK = Effort(last=1.5, proofs=0.3, visits=0.0, tidy=0.0)
"""Enough for an option of a dozen to stay within a minute in all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """The job done otherwise, with what it costs more than the job as it stands.

    `sooner_days` is against the job as it stands; `hands_min` in all; `money` more for materials, None where no price
    or no shelf is known; `note`: what else changes, such as rounds on one day;
    of one `kind`, if it has one, only the best is told.
    """

    name: str
    first_proof_at: datetime
    all_done_at: datetime
    sooner_days: float
    hands_min: float
    money: float | None
    proved: Proved
    note: str = ""
    kind: str = ""


def alternatives(asked: Asked) -> tuple[Alternative, ...]:
    """All that can be done otherwise in this job."""
    found: list[Alternative] = []
    for one in asked.plan.parts:
        found += [another_mould(asked, one), *other_cavities(asked, one)]
    made = [make(asked) for make in (faster_silicone, accelerator, trays, shared_pot)]
    return (*found, *filter(None, made), *_more_hours(asked))


def _more_hours(asked: Asked) -> Iterator[Alternative]:
    hours = asked.plan.job.equipment.hours
    wider = [("an extra hour on every day with hours", with_extra_hour(hours))]
    early = with_morning_hour(hours)
    if early is not None:
        wider.append((f"an hour in the morning, {MORNING}, on every day with hours", early))
    for name, more in wider:
        yield Alternative(name=name, ways=asked.ways, calendar=calendar_from(asked.start, more), money=0.0)


def compare(
    asked: Asked,
    as_it_stands: Schedule,
    others: Sequence[Alternative],
    *,
    progress: Progress,
    done: int,
    total: int,
    effort: Effort | None = None,
) -> tuple[Option, ...]:
    """Each alternative put in order by the solver; the one that ends soonest first."""
    hours = asked.plan.job.equipment.hours
    before = _rounds_a_day(network_of(asked.plan, asked.ways, asked.calendar), as_it_stands, asked.start, hours)
    options = []
    for number, one in enumerate(others):
        progress(done + number, total, one.name)
        calendar = one.calendar or asked.calendar
        network = network_of(asked.plan, as_ready(asked.plan, one.ways, calendar), calendar)
        found = asked.solver.solve(network, calendar, effort=effort or QUICK)
        options.append(
            Option(
                name=one.name,
                kind=one.kind,
                first_proof_at=moment_at(asked.start, min(found.ends[name] for name in network.proofs), hours),
                all_done_at=moment_at(asked.start, found.last, hours),
                sooner_days=(as_it_stands.last - found.last) * STEP_MIN / DAY_MIN,
                hands_min=hands_min(network),
                money=one.money,
                proved=found.proved,
                note=_more_rounds(before, _rounds_a_day(network, found, asked.start, hours)),
            )
        )
    progress(total, total, "done")
    ordered = sorted(options, key=lambda one: (one.all_done_at, one.money or 0.0, one.hands_min))
    first = {one.kind: one.name for one in reversed(ordered)}
    return tuple(one for one in ordered if not one.kind or first[one.kind] == one.name)


def _rounds_a_day(network: Network, found: Schedule, start: datetime, hours: Hours) -> Mapping[str, int]:
    """The rounds that most of each part's days of casting have."""
    days: dict[str, Counter[object]] = {}
    for task in network.tasks:
        if task.good_copies:
            day = moment_at(start, found.ends[task.id], hours).date()
            days.setdefault(task.part, Counter())[day] += 1
    return {part: Counter(counts.values()).most_common(1)[0][0] for part, counts in days.items()}


def _more_rounds(before: Mapping[str, int], now: Mapping[str, int]) -> str:
    """The parts of which a usual day has two rounds or more where it had fewer."""
    more = [f"{now[part]} rounds a day of {part}" for part in now if 1 < now[part] > before.get(part, 0)]
    return listed(more) if more else ""
