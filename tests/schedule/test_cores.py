"""Rounds that are cast around copies wait for copies enough, by hand."""

from hypothesis import given
from hypothesis import strategies as st

from firstpour.schedule.cores import after_cores
from firstpour.schedule.values import Doing, Network, Task


def rounds_of(part, copies, *, set_in=False):
    """A part's rounds: (set in,) cast, take out so many copies."""
    tasks, last = [], ()
    for number, count in enumerate(copies, start=1):
        steps = [("set-inserts", Doing.WORK, 0)] if set_in else []
        steps += [("cast", Doing.POUR, 0), ("out", Doing.DEMOULD, count)]
        for key, doing, good in steps:
            name = f"{part}/round {number} {key}"
            tasks.append(
                Task(
                    id=name,
                    name=name,
                    part=part,
                    doing=doing,
                    minutes=10.0,
                    after=last,
                    round=number,
                    lane="casting",
                    good_copies=good,
                )
            )
            last = (name,)
    return Network(tasks=tuple(tasks))


def waits(tasks, name):
    return next(task.after for task in tasks if task.id == name)


def test_rounds_of_three_wait_for_rounds_of_two():
    networks = {"tyre": rounds_of("tyre", [3, 3], set_in=True), "hub": rounds_of("hub", [2, 2, 2])}
    tasks = after_cores(networks, {"tyre": "hub"})
    assert "hub/round 2 out" in waits(tasks, "tyre/round 1 set-inserts")
    assert "hub/round 3 out" in waits(tasks, "tyre/round 2 set-inserts")
    assert not any("hub" in one for one in waits(tasks, "tyre/round 1 cast"))
    assert Network(tasks=tasks)  # the inner part stands before the outer


def test_without_a_step_of_setting_in_the_pour_itself_waits():
    networks = {"hub": rounds_of("hub", [1, 1]), "tyre": rounds_of("tyre", [1, 1])}
    tasks = after_cores(networks, {"tyre": "hub"})
    assert "hub/round 2 out" in waits(tasks, "tyre/round 2 cast")


def test_where_fewer_are_made_the_last_is_waited_for():
    networks = {"hub": rounds_of("hub", [1]), "tyre": rounds_of("tyre", [2, 2])}
    tasks = after_cores(networks, {"tyre": "hub"})
    assert "hub/round 1 out" in waits(tasks, "tyre/round 2 cast")


def test_parts_that_are_not_in_the_order_are_not_waited_for():
    own = rounds_of("tyre", [1, 1])
    assert after_cores({"tyre": own}, {"tyre": "hub"}) == own.tasks


@given(
    inner=st.lists(st.integers(1, 4), min_size=1, max_size=8),
    outer=st.lists(st.integers(1, 4), min_size=1, max_size=8),
)
def test_every_round_has_as_many_copies_as_it_and_those_before_take(inner, outer):
    networks = {"tyre": rounds_of("tyre", outer), "hub": rounds_of("hub", inner)}
    tasks = after_cores(networks, {"tyre": "hub"})
    for number in range(1, len(outer) + 1):
        (out,) = (one for one in waits(tasks, f"tyre/round {number} cast") if one.startswith("hub"))
        there = sum(inner[: int(out.split()[1])])
        assert there >= min(sum(outer[:number]), sum(inner))
