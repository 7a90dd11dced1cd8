"""Long work in sessions: nothing is lost, the order stays, and an evening takes what one could not do in one go."""

import pytest

from firstpour.errors import BadRequest
from firstpour.schedule.dispatch import dispatch
from firstpour.schedule.sessions import in_sessions
from firstpour.schedule.solve import solve
from firstpour.schedule.values import Calendar, Doing, Network, Task
from schedule_checks import faults

EVENINGS = Calendar(windows=tuple((288 * d + 216, 288 * d + 252) for d in range(14)), end=288 * 14)


def job(**more):
    sand = Task(
        id="sand", name="sand", part="ring", doing=Doing.WORK, minutes=390, low_min=300, high_min=600,
        attended=True, **more,
    )  # fmt: skip
    coat = Task(id="coat", name="coat", part="ring", doing=Doing.WORK, minutes=20, attended=True, after=("sand",))
    return Network(tasks=(sand, coat))


def test_sanding_longer_than_an_evening_goes_over_several():
    network = in_sessions(job(can_pause=True), EVENINGS)
    sessions = network.tasks[:-1]
    assert [one.minutes for one in sessions] == [97.5] * 4
    assert sum(one.high_min for one in sessions) == pytest.approx(600)
    assert sessions[-1].id == "sand"
    found = solve(network, EVENINGS)
    assert faults(network, EVENINGS, found) == []
    assert [found.starts[one.id] // 288 for one in sessions] == [0, 1, 2, 3]  # 97.5 min twice is longer than 180


def test_a_pour_is_never_shared_out():
    with pytest.raises(BadRequest, match="390 min without a break"):
        dispatch(in_sessions(job(), EVENINGS), EVENINGS)


def test_short_work_stays_as_it_is():
    short = Network(
        tasks=(Task(id="a", name="a", part="p", doing=Doing.WORK, minutes=60, attended=True, can_pause=True),)
    )
    assert in_sessions(short, EVENINGS) == short
