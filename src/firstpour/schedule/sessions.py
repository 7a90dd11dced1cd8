"""Long work that may be left and gone on with, as sessions, so that it fits into an evening."""

from dataclasses import replace
from math import ceil

from firstpour.schedule.values import Calendar, Network, Task

SESSION_MIN = 120.0
"""Nobody sands longer than this in one go (our own choice, decision 0058)."""


def in_sessions(network: Network, calendar: Calendar) -> Network:
    """The network with every longer task that may be left shared out evenly over sessions.

    A session is at most `SESSION_MIN`, and no longer than the longest stretch of the hours. The last keeps the id of
    the task, so that what waits for it still does.
    """
    limit_min = min(SESSION_MIN, calendar.longest * calendar.step_min)
    tasks: list[Task] = []
    first: dict[str, str] = {}
    for task in network.tasks:
        parts = _shared_out(task, limit_min)
        first[task.id] = parts[0].id
        tasks += parts
    holds = [
        hold if hold.first is None else replace(hold, first=first.get(hold.first, hold.first))
        for hold in network.holds
    ]
    return replace(network, tasks=tuple(tasks), holds=tuple(holds))


def _shared_out(task: Task, limit_min: float) -> list[Task]:
    if not (task.can_pause and task.attended and task.at_once is None and not task.pinned):
        return [task]
    count = ceil(task.minutes / limit_min - 1e-9) if limit_min > 0.0 else 1
    if count < 2:
        return [task]
    sessions: list[Task] = []
    for n in range(1, count + 1):
        sessions.append(
            replace(
                task,
                id=task.id if n == count else f"{task.id} session {n}",
                name=f"{task.name}, session {n} of {count}",
                minutes=task.minutes / count,
                low_min=None if task.low_min is None else task.low_min / count,
                high_min=None if task.high_min is None else task.high_min / count,
                after=(sessions[-1].id,) if sessions else task.after,
                within=() if sessions else task.within,
                good_copies=task.good_copies if n == count else 0,
                alike=task.alike or task.id,
            )
        )
    return sessions
