"""Parts cast around others in the order of work: no round begins before copies enough of the inner part are out."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from firstpour.choosing.setting_in import SET_IN
from firstpour.schedule.values import Doing, Network, Task


def after_cores(networks: Mapping[str, Network], around: Mapping[str, str]) -> tuple[Task, ...]:
    """The tasks of all parts by their names, the inner before the outer, whose rounds wait for copies enough.

    `around`: the inner part of each outer one. Where fewer copies are made than cast around, the last is waited for.
    """
    tasks: list[Task] = []
    for name in sorted(networks, key=lambda each: each in around):
        own, inner = networks[name].tasks, networks.get(around.get(name, ""))
        tasks += own if inner is None else _waiting(own, inner.tasks)
    return tuple(tasks)


def _waiting(outer: Sequence[Task], inner: Sequence[Task]) -> Sequence[Task]:
    ready = _taken_out(inner)
    if not ready:
        return outer
    begins = {_begin(outer, outer[k].round): copies for copies, k in _counted(outer)}
    return [
        replace(task, after=(*task.after, _out(ready, begins[task.id]))) if task.id in begins else task
        for task in outer
    ]


def _taken_out(tasks: Sequence[Task]) -> list[tuple[int, str]]:
    """How many copies are out after each task that takes some out, and its id."""
    return [(copies, tasks[k].id) for copies, k in _counted(tasks)]


def _counted(tasks: Sequence[Task]) -> list[tuple[int, int]]:
    """How many copies are out after each task that takes some out, and its number."""
    copies, found = 0, []
    for k, task in enumerate(tasks):
        if task.good_copies:
            copies += task.good_copies
            found.append((copies, k))
    return found


def _begin(tasks: Sequence[Task], number: int) -> str:
    """The task of a round with which copies are laid in: setting in, or the pour itself."""
    own = [task for task in tasks if task.round == number and task.lane == "casting"]
    setting = [task for task in own if SET_IN in task.id and task.doing is Doing.WORK]
    pour = [task for task in own if task.doing is Doing.POUR]
    return (setting or pour)[0].id


def _out(ready: Sequence[tuple[int, str]], copies: int) -> str:
    return next((name for count, name in ready if count >= copies), ready[-1][1])
