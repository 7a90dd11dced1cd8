"""The tasks of a part whose copies are printed directly: its plates one after the other, and the work on each."""

from collections.abc import Sequence
from dataclasses import replace

from firstpour.plan.values import PrintedPart
from firstpour.routes.recipe import goes_of
from firstpour.routes.work import Work
from firstpour.schedule.values import Doing, Hold, Network, Task


def printed_tasks(one: PrintedPart, *, tries: int | None = None) -> Network:
    """Every plate started, run and cleared on its printer; then the work on its prints; the last works at the end.

    With `tries`, so many copies are printed at the most: plates as they are planned, then more of them; and each
    plate is a round of its own.
    """
    recipe, what = one.taken.route.recipe, one.taken.route.outcome
    assert recipe.stands is not None
    more = 0 if tries is None else max(0, tries - what.tries)
    plates = (*goes_of(recipe, what.tries), *goes_of(recipe, more))
    network = plate_tasks(
        one.request.name,
        printer=recipe.stands.printer,
        plates=plates,
        each_plate=recipe.each_go,
        each_good=recipe.each_good,
        copies=what.copies,
    )
    return network if tries is None else replace(network, tasks=_by_plates(one.request.name, network.tasks, plates))


def _by_plates(part: str, tasks: Sequence[Task], plates: Sequence[int]) -> tuple[Task, ...]:
    """The tasks of a plate as those of a round, which gives its copies when it is taken off."""
    number = {f"{part}/plate {n}": n for n in range(1, len(plates) + 1)}

    def of_plate(task: Task) -> Task:
        plate, _, _ = task.id.removeprefix(f"{part}/plate ").partition(" ")
        n = number.get(f"{part}/plate {plate}", 0)
        good = plates[n - 1] if task.id == f"{part}/plate {n} off" else 0
        return replace(task, round=n, good_copies=good)

    return tuple(of_plate(task) for task in tasks)


def plate_tasks(
    name: str,
    *,
    printer: str,
    plates: Sequence[int],
    each_plate: Sequence[Work],
    each_good: Sequence[Work],
    copies: int,
) -> Network:
    """The tasks of so many copies on each plate, and of the good ones afterwards."""
    tasks: list[Task] = []
    holds: list[Hold] = []
    proofs: list[str] = []
    before: tuple[str, ...] = ()
    for number, on_it in enumerate(plates, start=1):
        plate = f"plate {number}"
        for work in each_plate:
            done = work.of(on_it)
            if work.printing:
                row = _print(name, plate, done, before)
                holds.append(Hold(machine=printer, first=row[0].id, last=row[-1].id))
            else:
                row = _work(name, f"{plate} {done.what}", done, before)
            tasks += row
            before = (row[-1].id,)
        proofs += before if number == 1 else ()
    for work in each_good:
        each = Work(what=work.what, hands_min=copies * work.hands_min, wait_min=work.wait_min)
        tasks += (row := _work(name, each.what, each, before))
        before = (row[-1].id,)
    return Network(tasks=tuple(tasks), holds=tuple(holds), proofs=tuple(proofs))


def _print(part: str, plate: str, done: Work, before: tuple[str, ...]) -> list[Task]:
    """Half of the hands start it, half clear the plate."""
    start, run, off = (f"{part}/{plate} {each}" for each in ("start", "run", "off"))
    half = done.hands_min / 2.0
    return [
        _task(part, start, f"start {plate} of {part}", Doing.PRINT, half, after=before, attended=True),
        _task(part, run, f"{plate} of {part} prints", Doing.PRINT, done.wait_min, at_once=start),
        _task(part, off, f"take {plate} of {part} off", Doing.PRINT, half, after=(run,), attended=True),
    ]


def _work(part: str, key: str, done: Work, before: tuple[str, ...]) -> list[Task]:
    """Its hands, if there are any, then its wait."""
    name, row = f"{part}/{key}", []
    if done.hands_min > 0.0 or done.wait_min <= 0.0:
        row.append(_task(part, name, done.what, Doing.WORK, done.hands_min, after=before, attended=True))
        before = (name,)
    if done.wait_min > 0.0:
        row.append(_task(part, f"{name} wait", f"wait after: {done.what}", Doing.WAIT, done.wait_min, after=before))
    return row


def _task(part: str, key: str, name: str, doing: Doing, minutes: float, **more: object) -> Task:
    return Task(
        id=key,
        name=name,
        part=part,
        doing=doing,
        minutes=minutes,
        low_min=minutes,
        high_min=minutes,
        **more,  # type: ignore[arg-type]
    )
