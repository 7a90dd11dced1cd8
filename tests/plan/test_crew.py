"""Who works where: by process numbers, files left behind and processes that are gone."""

import multiprocessing
import os
import time

import pytest

from firstpour.plan import crew
from firstpour.plan.crew import Alone, Beside, crew_of


def test_a_single_task_is_done_here_and_two_are_done_elsewhere():
    with Beside(2) as two:
        assert list(two.run(os.getpid, [()])) == [(0, os.getpid())]
        assert list(two.run(os.getpid, [])) == []
        assert os.getpid() not in {pid for _, pid in two.run(os.getpid, [(), ()])}
    assert [pid for _, pid in Alone().run(os.getpid, [(), ()])] == [os.getpid()] * 2


def test_the_same_processes_serve_one_stage_after_the_other():
    with Beside(1) as one:
        pids = {pid for _ in range(2) for _, pid in one.run(os.getpid, [(), ()])}
    assert len(pids) == 1


def test_an_error_ends_the_work_of_all_processes():
    """Whoever waits for the hour to pass waits in vain for this test."""
    with pytest.raises(KeyboardInterrupt), Beside(2) as two:
        next(two.run(time.sleep, [(0.0,), (3600.0,)]))
        raise KeyboardInterrupt
    assert multiprocessing.active_children() == []


def test_what_is_not_wanted_any_more_is_not_begun_and_what_is_begun_is_waited_for(tmp_path):
    jobs = [("true",), *((f"sleep 0.2; touch {tmp_path / str(number)}",) for number in range(40))]
    with Beside(1) as one:
        next(one.run(os.system, jobs))
    assert multiprocessing.active_children() == []
    assert len(list(tmp_path.iterdir())) < 40


@pytest.mark.parametrize(("asked", "cores", "processes"), [(3, 8, 3), (None, 8, 8), (None, None, 1)])
def test_a_crew_is_as_large_as_asked_or_as_the_machine_has_cores(monkeypatch, asked, cores, processes):
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    monkeypatch.setattr(crew, "Beside", lambda count: ("beside", count))
    assert crew_of(asked) == ("beside", processes)
