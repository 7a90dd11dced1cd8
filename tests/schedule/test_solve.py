"""The solver against published job shops, a textbook's critical path, facts of the trade, and made-up jobs."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpour.errors import BadRequest
from firstpour.schedule.dispatch import dispatch, heads_of, tails_of
from firstpour.schedule.solve import Effort, solve
from firstpour.schedule.values import Calendar, Doing, Hold, Network, Proved, Task
from schedule_checks import faults

FT06 = (
    "2 1 0 3 1 6 3 7 5 3 4 6",
    "1 8 2 5 4 10 5 10 0 10 3 4",
    "2 5 3 4 5 8 0 9 1 1 4 7",
    "1 5 0 5 2 5 3 3 4 8 5 9",
    "2 9 1 3 4 5 5 4 0 3 3 1",
    "1 3 3 3 5 9 0 10 4 4 2 1",
)
"""Fisher & Thompson (1963), 6 jobs on 6 machines: machine and time in turn (from memory); optimum 55."""
LA01 = (
    "1 21 0 53 4 95 3 55 2 34",
    "0 21 3 52 4 16 2 26 1 71",
    "3 39 4 98 1 42 2 31 0 12",
    "1 77 0 55 4 79 2 66 3 77",
    "0 83 3 34 2 64 1 19 4 37",
    "1 54 2 43 4 79 0 92 3 62",
    "3 69 4 77 1 87 2 87 0 93",
    "2 38 0 60 1 41 3 24 4 83",
    "3 17 1 49 4 25 0 44 2 98",
    "4 77 3 79 2 43 1 75 0 96",
)
"""Lawrence (1984), 10 jobs on 5 machines (from memory); optimum 666."""
ALWAYS = Calendar(windows=((0, 10_000),), end=10_000, step_min=1.0)


def job_shop(rows):
    """The published job shop as tasks on machines."""
    tasks = []
    for job, row in enumerate(rows):
        numbers = [int(word) for word in row.split()]
        for n, (machine, minutes) in enumerate(zip(numbers[::2], numbers[1::2], strict=True)):
            after = (f"{job}.{n - 1}",) if n else ()
            tasks.append(task(f"{job}.{n}", minutes, after=after, uses=(f"machine {machine}",)))
    return Network(tasks=tuple(tasks))


def task(name, minutes, **more):
    """A task with what the test needs of it."""
    doing = more.pop("doing", Doing.WORK)
    return Task(id=name, name=name, part="part", doing=doing, minutes=minutes, **more)


@pytest.mark.parametrize(("rows", "optimum"), [(FT06, 55), (LA01, 666)], ids=["ft06", "la01"])
def test_published_job_shops_are_proved_at_their_optimum(rows, optimum):
    shop = job_shop(rows)
    found = solve(shop, ALWAYS)
    assert (found.last, found.proved, found.bound) == (optimum, Proved.OPTIMAL, optimum)
    assert faults(shop, ALWAYS, found) == []


def test_the_critical_path_of_a_textbook_comes_out():
    """Taylor, Introduction to Management Science, chapter 8, problem 5: 20 along 1-3-4-5-6, slack of 1-2 is 2."""
    arcs = {"1-2": 7, "1-3": 10, "2-4": 6, "3-4": 5, "3-5": 4, "4-5": 3, "5-6": 2}
    tasks = tuple(
        task(name, minutes, after=tuple(other for other in arcs if other[-1] == name[0]))
        for name, minutes in arcs.items()
    )
    network = Network(tasks=tasks)
    heads, tails = heads_of(network, ALWAYS), tails_of(network, ALWAYS)
    slack = {name: 20 - heads[name] - tails[name] for name in arcs}
    assert solve(network, ALWAYS).last == 20
    assert [name for name in arcs if slack[name] == 0] == ["1-3", "3-4", "4-5", "5-6"]
    assert slack["1-2"] == 2


def days(low_h, high_h, count=14):
    """So many days with somebody there from one hour to another, in steps of 5 minutes."""
    return Calendar(
        windows=tuple((288 * d + 12 * low_h, 288 * d + 12 * high_h) for d in range(count)), end=288 * count
    )


def casting(copies, cure_h):
    """Copies one after the other from one mould that is there."""
    tasks = []
    for n in range(copies):
        before = (f"demould {n - 1}",) if n else ()
        tasks += [
            task(f"pour {n}", 20, attended=True, after=before, doing=Doing.POUR),
            task(f"cure {n}", 60 * cure_h, at_once=f"pour {n}", doing=Doing.WAIT),
            task(f"demould {n}", 10, attended=True, after=(f"cure {n}",), doing=Doing.DEMOULD),
        ]
    return Network(tasks=tuple(tasks), proofs=("demould 0",))


def pour_days(network, calendar):
    found = solve(network, calendar)
    assert faults(network, calendar, found) == []
    return [start // 288 for name, start in found.starts.items() if name.startswith("pour")]


@pytest.mark.parametrize("cure_h", [8, 16])
def test_on_evenings_a_cure_of_8_or_16_hours_gives_one_copy_a_day(cure_h):
    """Common practice, no source."""
    assert pour_days(casting(5, cure_h), days(18, 22)) == [0, 1, 2, 3, 4]


def test_on_long_days_a_cure_of_8_hours_gives_two_copies_a_day():
    """Common practice, no source."""
    assert pour_days(casting(6, 8), days(7, 22)) == [0, 0, 1, 1, 2, 2]


def test_two_halves_one_after_the_other_at_24_hours_are_not_proved_before_the_third_day():
    """Common practice, no source: poured on the first evening and the second, opened and cast on the third."""
    halves = []
    for n, half in enumerate(("first", "second")):
        before = ("turn first",) if n else ()
        halves += [
            task(f"pour {half}", 25, attended=True, after=before, doing=Doing.POUR),
            task(f"cure {half}", 1440, at_once=f"pour {half}", doing=Doing.WAIT),
            task(f"turn {half}", 10, attended=True, after=(f"cure {half}",)),
        ]
    cast = [
        task("cast", 10, attended=True, after=("turn second",), doing=Doing.POUR),
        task("set", 30, at_once="cast", doing=Doing.WAIT),
        task("proof", 5, attended=True, after=("set",), doing=Doing.DEMOULD),
    ]
    network = Network(tasks=(*halves, *cast), proofs=("proof",))
    found = solve(network, days(18, 22))
    assert found.starts["proof"] // 288 == 2
    assert found.ends["proof"] * 5 > 2 * 1440


def test_a_printer_is_held_until_somebody_takes_the_print_off():
    tasks = []
    for n in range(2):
        tasks += [
            task(f"start {n}", 5, attended=True),
            task(f"run {n}", 300, at_once=f"start {n}", doing=Doing.PRINT),
            task(f"off {n}", 5, attended=True, after=(f"run {n}",)),
        ]
    holds = tuple(Hold(machine="printer", first=f"start {n}", last=f"off {n}") for n in range(2))
    network = Network(tasks=tuple(tasks), holds=holds)
    found = solve(network, days(18, 22))
    assert faults(network, days(18, 22), found) == []
    assert sorted(found.starts[f"start {n}"] // 288 for n in range(2)) == [0, 1]


def test_visits_to_the_bench_are_few_where_nothing_is_lost_by_it():
    """A short job that may be done on any day while the long cure runs is done on a day one is there anyway."""
    tasks = (
        task("pour", 20, attended=True),
        task("cure", 3 * 1440, at_once="pour"),
        task("open", 10, attended=True, after=("cure",)),
        task("dry", 1440),
        task("sand", 10, attended=True, after=("dry",)),
    )
    network = Network(tasks=tasks)
    found = solve(network, days(18, 22))
    assert (found.visits, found.starts["sand"] // 288) == (2, 3)


def test_work_longer_than_any_evening_is_refused_with_the_minutes():
    with pytest.raises(BadRequest, match=r"300 min without a break; the longest stretch .* is 240 min"):
        solve(Network(tasks=(task("sand", 300, attended=True),)), days(18, 22))


def test_a_cure_beyond_the_days_looked_at_is_refused():
    network = Network(tasks=(task("cure", 30 * 1440), task("open", 10, attended=True, after=("cure",))))
    with pytest.raises(BadRequest, match="finds no place in the 14 days"):
        dispatch(network, days(18, 22))


def test_what_must_follow_soon_is_not_left_over_night_by_the_rule_or_the_solver():
    """Release at the end of an evening, a cast of 90 min that no longer fits: both go to the next evening."""
    sand = task("sand", 180, attended=True)
    release = task("release", 10, attended=True, after=("sand",))
    cast = task("cast", 90, attended=True, after=("release",), within=(("release", 60.0),))
    network, evenings = Network(tasks=(sand, release, cast)), days(18, 22)
    for found in (dispatch(network, evenings), solve(network, evenings)):
        assert found.starts["release"] >= 24 * 12
        assert 0 <= found.starts["cast"] - found.ends["release"] <= 12
        assert faults(network, evenings, found) == []
    free = Network(tasks=(sand, release, task("cast", 90, attended=True, after=("release",))))
    assert dispatch(free, evenings).starts["release"] < 24 * 12


def test_what_never_can_follow_soon_enough_is_refused_in_words():
    """A wait that ends in the night whenever its pour is."""
    pour, wait = task("pour", 10, attended=True), task("wait", 720, at_once="pour")
    network = Network(tasks=(pour, wait, task("open", 10, attended=True, after=("wait",), within=(("wait", 30.0),))))
    with pytest.raises(BadRequest, match="must begin within 30 min of what it follows"):
        dispatch(network, days(18, 22))


def test_a_task_that_stands_twice_is_refused():
    with pytest.raises(BadRequest, match="stands twice"):
        Network(tasks=(task("sand", 3), task("sand", 3)))


@st.composite
def jobs(draw):
    """Chains of pours, cures and prints on shared machines, and hours that are there on some days only."""
    tasks, holds = [], []
    for chain in range(draw(st.integers(1, 4))):
        before = ()
        for n in range(draw(st.integers(1, 4))):
            name, minutes = f"{chain}.{n}", draw(st.integers(0, 90))
            kind = draw(st.sampled_from(["hands", "machine", "cure", "watched", "soon"]))
            if kind == "cure":
                tasks += [task(f"{name} pour", minutes, attended=True, after=before)]
                tasks += [task(f"{name} wait", draw(st.integers(0, 2000)), at_once=f"{name} pour")]
                tasks += [task(name, 10, attended=True, after=(f"{name} wait",))]
                holds.append(Hold(machine="pot", first=f"{name} pour", last=name))
            elif kind == "soon":
                soon = ((f"{name} release", float(draw(st.integers(0, 300)))),)
                tasks += [task(f"{name} release", minutes, attended=True, after=before)]
                tasks += [task(name, 10, attended=True, after=(f"{name} release",), within=soon)]
            else:
                uses = ("printer",) if kind != "hands" else ()
                tasks.append(
                    task(name, minutes, attended=kind == "hands", watched=kind == "watched", uses=uses, after=before)
                )
            before = (name,)
    gaps = draw(st.lists(st.integers(100, 600), min_size=120, max_size=120))
    windows, at = [], 0
    for gap in gaps:
        windows.append((at, at + 24 + gap % 30))
        at += 24 + gap
    assert all(first[1] < second[0] for first, second in pairwise(windows))
    return Network(tasks=tuple(tasks), holds=tuple(holds)), Calendar(windows=tuple(windows), end=at)


@settings(max_examples=25, deadline=None)
@given(jobs())
def test_every_schedule_can_be_worked_and_the_solver_is_never_later_than_the_rule(job):
    network, calendar = job
    by_rule = dispatch(network, calendar)
    quick = Effort(last=0.3, proofs=0.1, visits=0.1, tidy=0.1)
    found = solve(network, calendar, effort=quick)
    assert faults(network, calendar, by_rule) == []
    assert faults(network, calendar, found) == []
    assert found.bound <= found.last <= by_rule.last
    assert found == solve(network, calendar, effort=quick)
