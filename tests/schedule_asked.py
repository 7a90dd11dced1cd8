"""Jobs of the tide pool to be put in order, for the tests of the schedule."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from demo_plan import TODAY
from firstpour.files.catalogue import load_catalogue
from firstpour.plan.values import PartPlan, Plan
from firstpour.results import SavedPlan
from firstpour.schedule.hours_ahead import calendar_from, first_moment
from firstpour.schedule.ordering import Asked
from firstpour.schedule.solve import Effort
from firstpour.schedule.solver import Solver
from firstpour.schedule.ways import Ways, ways_of
from firstpour.stock.demo_stock import demo_stock
from firstpour.workshop.hours import Hours, Weekday, windows_from
from firstpour.workshop.workshop import Workshop

SHOP = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=TODAY), today=TODAY)
EVENINGS = Hours(
    week={day: windows_from("18:00-22:00") for day in list(Weekday)[:5]}, time_zone="UTC"
)  # a day job from Monday to Friday
LITTLE = Effort(last=0.3, proofs=0.0, visits=0.0, tidy=0.0)


def asked_of(
    plan: Plan, ways: Mapping[str, Ways] | None = None, hours: Hours = EVENINGS, solver: Solver | None = None
) -> Asked:
    job = replace(plan.job, equipment=replace(plan.job.equipment, hours=hours))
    start = first_moment(date(2027, 3, 1), hours)
    return Asked(
        plan=replace(plan, job=job),
        ways=ways or {one.request.name: ways_of(one) for one in plan.parts},
        start=start,
        calendar=calendar_from(start, hours),
        workshop=replace(SHOP, equipment=job.equipment),
        solver=solver or Solver(),
    )


def part_of(demo: SavedPlan, name: str) -> PartPlan:
    return next(one for one in demo.plan.parts if one.request.name == name)


def with_part(demo: SavedPlan, changed: PartPlan) -> Plan:
    name = changed.request.name
    return replace(demo.plan, parts=tuple(changed if one.request.name == name else one for one in demo.plan.parts))
