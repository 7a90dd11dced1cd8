"""The least number of moulds that meets the date."""

from collections.abc import Mapping
from dataclasses import replace

from firstpour.schedule.dispatch import dispatch, heads_of, tails_of
from firstpour.schedule.ordering import Asked, as_ready, last_step, network_of
from firstpour.schedule.solve import Effort
from firstpour.schedule.values import Network, Schedule
from firstpour.schedule.ways import Ways, worn_out

MOST_MOULDS = 8
"""More moulds of one part than this are not tried."""
QUICK = Effort(last=1.0, proofs=0.0, visits=0.0, tidy=0.0)


def least_moulds(asked: Asked, *, effort: Effort | None = None) -> Mapping[str, int] | None:
    """The fewest moulds with which the date is met: one more at a time for the part that is done last.

    A mould wears out: there are never fewer than the shots need. What misses the date by the rule is tried by the
    solver. None where there is no date, or where more moulds do not help.
    """
    due = asked.plan.job.due
    if due is None:
        return None
    latest = last_step(due, asked.start, asked.plan.job.equipment.hours)
    now = {
        one.request.name: replace(asked.ways[one.request.name], moulds=worn_out(one), ready=())
        for one in asked.plan.parts
    }
    while True:
        ready = as_ready(asked.plan, now, asked.calendar)
        network = network_of(asked.plan, ready, asked.calendar)
        found = dispatch(network, asked.calendar)
        if _least_end(network, asked) <= latest < found.last:
            found = asked.solver.solve(network, asked.calendar, effort=effort or QUICK)
        if found.last <= latest:
            return {name: way.moulds for name, way in now.items()}
        last = last_part(network, found)
        if last not in now or now[last].moulds >= MOST_MOULDS or not _helps(asked, now, last, found):
            return None
        now[last] = replace(now[last], moulds=now[last].moulds + 1)


def _helps(asked: Asked, now: Mapping[str, Ways], part: str, found: Schedule) -> bool:
    """Whether with all the moulds that may be tried the part would be done sooner."""
    many = {**now, part: replace(now[part], moulds=MOST_MOULDS)}
    for moulds in (now[part].moulds + 1, MOST_MOULDS):
        many[part] = replace(now[part], moulds=moulds)
        network = network_of(asked.plan, as_ready(asked.plan, many, asked.calendar), asked.calendar)
        if dispatch(network, asked.calendar).last < found.last:
            return True
    return False


def _least_end(network: Network, asked: Asked) -> int:
    """A last end that no order beats: the longest chain of tasks, as if hands were always there."""
    heads, tails = heads_of(network, asked.calendar), tails_of(network, asked.calendar)
    return max((heads[task.id] + tails[task.id] for task in network.tasks), default=0)


def last_part(network: Network, found: Schedule) -> str:
    """The part that is done last."""
    return max(network.tasks, key=lambda task: found.ends[task.id]).part
