"""The order of work of a large job: 24 copies of 3 parts from 2 moulds each, and how sure its date is."""

from benchmarks.rows import Row, once_ms, timed
from firstpour.schedule.chances import MOST_AGAIN, most_shots
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.options import QUICK
from firstpour.schedule.risk import RUNS, risk_of
from firstpour.schedule.solve import solve
from firstpour.schedule.values import Calendar, Doing, Hold, Network, Proved, Task

PARTS, COPIES, MOULDS = 3, 24, 2
OPTIONS = 12
"""So many ways to do it otherwise has a job of three parts, told with its hours, materials and cavities."""
EVENINGS = Calendar(windows=tuple((288 * d + 216, 288 * d + 264) for d in range(120)), end=288 * 120)


def run() -> list[Row]:
    """The solver against ten seconds and two parts in a hundred, the simulation against three seconds."""
    job = _job(shots=COPIES, again=0)
    made = []
    solve_ms = once_ms(lambda: made.append(solve(job, EVENINGS)))
    found = made[0]
    gap = 0.0 if found.proved is Proved.OPTIMAL else found.gap_ratio
    wide = _job(shots=most_shots(COPIES), again=MOST_AGAIN)
    copies = {f"part {n}": COPIES for n in range(PARTS)}
    others = [_job(shots=COPIES - n, again=0) for n in range(OPTIONS)]
    return [
        Row(what=f"order of {len(job.tasks)} tasks, 24 copies × 3 parts × 2 moulds", ours=solve_ms, at_most=10_000),
        Row(what="the same: how far from the best", ours=100.0 * gap, unit="%", at_most=2.0),
        Row(
            what=f"what would buy time: {OPTIONS} such jobs, each put in order anew",
            ours=once_ms(lambda: [solve(one, EVENINGS, effort=QUICK) for one in others]),
            at_most=60_000,
        ),
        Row(what="the same by the rule", ours=timed(lambda: dispatch(job, EVENINGS), 5)),
        Row(
            what=f"how sure: {RUNS} runs of {len(wide.tasks)} tasks",
            ours=timed(lambda: risk_of(wide, EVENINGS, copies), 3),
            at_most=3_000,
        ),
    ]


def _job(*, shots: int, again: int) -> Network:
    """Parts as they come from a plan: a print, a surface, two halves of each mould, rounds of castings."""
    tasks: list[Task] = []
    holds: list[Hold] = []
    proofs: list[str] = []
    for number in range(PARTS):
        part = f"part {number}"
        last = _print(part, tasks, holds)
        opened = []
        for mould in range(1, MOULDS + 1):
            for tried in range(again + 1):
                last = _mould(part, tasks, last, mould=mould, again=tried)
            opened.append(last)
        before, left, turn = (opened[0],), shots, 0
        while left > 0:
            turn += 1
            ready = min(MOULDS if turn > 1 else 1, left)
            left -= ready
            before = (_round(part, tasks, (*before, *opened[:ready]), turn=turn, copies=ready),)
            proofs += before if turn == 1 else ()
    return Network(tasks=tuple(tasks), holds=tuple(holds), proofs=tuple(proofs))


def _add(tasks: list[Task], part: str, key: str, doing: Doing, minutes: float, **more: object) -> str:
    name = f"{part}/{key}"
    tasks.append(
        Task(
            id=name, name=key, part=part, doing=doing, minutes=minutes, low_min=0.8 * minutes, high_min=1.6 * minutes,
            **more,  # type: ignore[arg-type]
        )
    )  # fmt: skip
    return name


def _print(part: str, tasks: list[Task], holds: list[Hold]) -> str:
    start = _add(tasks, part, "start", Doing.PRINT, 5, attended=True)
    run_ = _add(tasks, part, "run", Doing.PRINT, 380, at_once=start)
    off = _add(tasks, part, "off", Doing.PRINT, 5, attended=True, after=(run_,))
    holds.append(Hold(machine="printer", first=start, last=off))
    sand = _add(tasks, part, "sand", Doing.WORK, 40, attended=True, after=(off,))
    return _add(tasks, part, "dry", Doing.WAIT, 1440, at_once=sand)


def _mould(part: str, tasks: list[Task], before: str, *, mould: int, again: int) -> str:
    key, place = f"mould {mould} {again}", {"mould": mould, "again": again}
    last = before
    for half in ("upper", "lower"):
        pour = _add(tasks, part, f"{key} pour {half}", Doing.POUR, 25, attended=True, after=(last,), **place)
        last = _add(tasks, part, f"{key} cure {half}", Doing.WAIT, 240, at_once=pour, **place)
    return _add(tasks, part, f"{key} open", Doing.WORK, 15, attended=True, after=(last,), **place)


def _round(part: str, tasks: list[Task], before: tuple[str, ...], *, turn: int, copies: int) -> str:
    place = {"round": turn, "lane": "casting"}
    after = tuple(dict.fromkeys(before))
    cast = _add(tasks, part, f"cast {turn}", Doing.POUR, 15, attended=True, after=after, **place)
    sets = _add(tasks, part, f"set {turn}", Doing.WAIT, 960, at_once=cast, alike="casting", **place)
    return _add(
        tasks,
        part,
        f"out {turn}",
        Doing.DEMOULD,
        10 * copies,
        attended=True,
        after=(sets,),
        good_copies=copies,
        **place,
    )
