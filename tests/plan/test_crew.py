"""Who works where, and that nobody works on when the work is given up."""

import multiprocessing
import os
import time
from concurrent.futures import Future
from contextlib import suppress
from types import SimpleNamespace as Some

import pytest

from firstpour.plan import crew
from firstpour.plan.crew import Beside, crew_of


@pytest.fixture
def pools(monkeypatch):
    """The pools that were made; their work is done at once, here."""
    made = []

    class Pool:
        def __init__(self, processes, **_):
            self.processes, self.tasks, self.closed = processes, 0, None
            made.append(self)

        def submit(self, task, *job):
            self.tasks += 1
            future = Future()
            future.set_result(task(*job))
            return future

        def shutdown(self, **how):
            self.closed = how

    monkeypatch.setattr(crew, "ProcessPoolExecutor", Pool)
    return made


def test_a_single_task_is_done_here_and_two_go_to_as_many_processes_as_there_are(pools):
    with Beside(3) as three:
        assert list(three.run(divmod, [(7, 2)])) == [(0, (3, 1))]
        assert list(three.run(divmod, [])) == []
        assert pools == []
        assert sorted(three.run(divmod, [(7, 2), (9, 4)])) == [(0, (3, 1)), (1, (2, 1))]
    (pool,) = pools
    assert (pool.processes, pool.tasks) == (3, 2)


def test_the_same_processes_serve_one_stage_after_the_other(pools):
    with Beside(2) as two:
        for _ in range(2):
            list(two.run(divmod, [(7, 2), (9, 4)]))
    (pool,) = pools
    assert pool.tasks == 4


def test_a_crew_that_was_never_asked_leaves_in_peace(pools):
    with Beside(2):
        pass
    assert pools == []


@pytest.mark.parametrize(("error", "ended"), [(None, 0), (KeyboardInterrupt, 2)])
def test_processes_are_ended_by_an_error_alone_and_waited_for_while_what_is_not_begun_is_dropped(
    pools, monkeypatch, error, ended
):
    told = []
    process = Some(terminate=lambda: told.append("ended"))
    monkeypatch.setattr(crew.multiprocessing, "active_children", lambda: [process, process])
    with suppress(KeyboardInterrupt), Beside(2) as two:
        next(two.run(divmod, [(7, 2), (9, 4)]))
        if error is not None:
            raise error
    assert len(told) == ended
    assert pools[0].closed == {"wait": True, "cancel_futures": True}


def test_an_error_ends_the_work_of_all_processes():
    """Whoever waits for the hour to pass waits in vain for this test."""
    with suppress(KeyboardInterrupt), Beside(2) as two:
        next(two.run(time.sleep, [(0.0,), (3600.0,)]))
        raise KeyboardInterrupt
    assert multiprocessing.active_children() == []


@pytest.mark.parametrize(("asked", "cores", "processes"), [(3, 8, 3), (None, 8, 8), (None, None, 1)])
def test_a_crew_is_as_large_as_asked_or_as_the_machine_has_cores(monkeypatch, asked, cores, processes):
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    monkeypatch.setattr(crew, "Beside", lambda count: ("beside", count))
    assert crew_of(asked) == ("beside", processes)
