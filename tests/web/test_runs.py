"""Runs wait for a worker, never more at once than there are; what goes wrong with a worker is told."""

import asyncio
import sys
import time
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from firstpour.web.entries import Doing, RunState
from firstpour.web.job_folders import JobFolder
from firstpour.web.refusals import Busy
from firstpour.web.runs import Runs


def in_a_loop(task: Coroutine[Any, Any, Any]) -> Any:
    """Run a task in a loop of its own thread: a browser that tests keep open holds the loop of this one."""
    with ThreadPoolExecutor(1) as alone:
        return alone.submit(asyncio.run, task).result()


JOB = '[[part]]\nname = "star"\nsample = "sea-star"\n'
WORKER = """
import json, pathlib, sys, time
log = pathlib.Path(sys.argv[1])
for line in sys.stdin:
    asked = json.loads(line)
    with log.open("a") as file: file.write(f"begun {asked['id']}\\n")
    print(json.dumps({"progress": [1, 3, "star: read"]}), flush=True)
    time.sleep(0.15)
    with log.open("a") as file: file.write(f"ended {asked['id']}\\n")
    print(json.dumps({"end": "done"}), flush=True)
"""
STUBBORN = """
import json, signal, subprocess, sys, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
sys.stdin.readline()
below = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
print(json.dumps({"progress": [1, 3, str(below.pid)]}), flush=True)
time.sleep(600)
"""
DIES = "import sys; sys.stdin.readline(); sys.exit(9)"


def folders(tmp_path: Path, count: int) -> list[JobFolder]:
    made = [JobFolder(id=f"job-{n}", path=tmp_path / f"job-{n}") for n in range(count)]
    for one in made:
        one.path.mkdir()
        one.job_file.write_text(JOB, encoding="utf-8")
    return made


def runs_of(script: str, *words: str, workers: int = 1) -> Runs:
    command = (sys.executable, "-c", script, *words)
    return Runs(workers=workers, processes=1, shelf=None, workshop=None, command=command)


async def until_ended(runs: Runs, job: str) -> RunState:
    state = RunState.IDLE
    async for told in runs.watch(job, follow=False):
        state = told.state
    return state


@pytest.mark.parametrize("workers", [1, 3])
def test_ten_jobs_at_once_are_worked_out_by_so_many_workers_as_there_are(tmp_path: Path, workers: int) -> None:
    log = tmp_path / "log"

    async def all_of_them() -> list[RunState]:
        runs = runs_of(WORKER, str(log), workers=workers)
        jobs = folders(tmp_path, 10)
        for job in jobs:
            await runs.start(job, Doing.PLAN)
        waiting = [runs.progress_of(job.id).ahead for job in jobs]
        assert max(waiting) == 10 - workers - 1
        states = await asyncio.gather(*(until_ended(runs, job.id) for job in jobs))
        await runs.close()
        return list(states)

    assert in_a_loop(all_of_them()) == [RunState.DONE] * 10
    at_once, most = 0, 0
    for line in log.read_text(encoding="utf-8").splitlines():
        at_once += 1 if line.startswith("begun") else -1
        most = max(most, at_once)
    assert (at_once, most) == (0, workers)


def test_a_job_is_worked_out_once_at_a_time_and_one_that_waits_can_be_cancelled(tmp_path: Path) -> None:
    log = tmp_path / "log"

    async def two() -> None:
        runs = runs_of(WORKER, str(log))
        first, second = folders(tmp_path, 2)
        await runs.start(first, Doing.PLAN)
        await runs.start(second, Doing.PLAN)
        with pytest.raises(Busy):
            await runs.start(first, Doing.ROUTES)
        await runs.cancel(second.id)
        assert await until_ended(runs, first.id) is RunState.DONE
        assert runs.progress_of(first.id).parts[0].done == ["read"]
        assert runs.state_of(second.id) is RunState.CANCELLED
        await runs.close()

    in_a_loop(two())
    assert "job-1" not in log.read_text(encoding="utf-8")


def test_a_worker_that_does_not_listen_is_killed_with_all_that_it_began(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firstpour.web.runs.GRACE_S", 0.3)

    async def cancelled() -> int:
        runs = runs_of(STUBBORN)
        (job,) = folders(tmp_path, 1)
        await runs.start(job, Doing.PLAN)
        below = 0
        async for told in runs.watch(job.id, follow=True):
            if told.words.isdigit():
                below = int(told.words)
                break
        await runs.cancel(job.id)
        assert runs.state_of(job.id) is RunState.CANCELLED
        await runs.close()
        return below

    below = in_a_loop(cancelled())
    until = time.monotonic() + 5
    while _alive(below) and time.monotonic() < until:
        time.sleep(0.05)
    assert not _alive(below)


def test_a_worker_that_dies_is_told_and_the_next_run_gets_another(tmp_path: Path) -> None:
    async def dies() -> None:
        runs = runs_of(DIES)
        first, second = folders(tmp_path, 2)
        for job in (first, second):
            await runs.start(job, Doing.PLAN)
            assert await until_ended(runs, job.id) is RunState.FAILED
            error = runs.progress_of(job.id).error
            assert error is not None
            assert error.code == "out-of-memory"
        await runs.close()

    in_a_loop(dies())


def _alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
