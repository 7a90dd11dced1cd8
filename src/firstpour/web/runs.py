"""Runs of jobs: a few worker processes, a queue before them, and how far each run is."""

import asyncio
import json
import os
import signal
import sys
from collections import deque
from collections.abc import AsyncIterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from firstpour.errors import OutOfMemory
from firstpour.web.entries import Doing, PartProgressEntry, ProgressEntry, RunState
from firstpour.web.job_folders import JobFolder, keyed_parts
from firstpour.web.refusals import Busy, ErrorEntry, error_entry

COMMAND = (sys.executable, "-m", "firstpour.web.worker")
GRACE_S = 4.0
"""So long may an ended worker tidy up before it is killed."""
LINE_BYTES = 1 << 22
LEFT_OUT = " is left out: "
BUSY_STATES = (RunState.QUEUED, RunState.WORKING)


@dataclass(slots=True, kw_only=True, eq=False)
class Run:
    """One run and how far it is; `changed` wakes those who watch."""

    number: int
    doing: Doing
    folder: JobFolder
    names: dict[str, str]
    begin: date | None
    state: RunState = RunState.QUEUED
    done: int = 0
    total: int = 0
    words: str = "waiting for its turn"
    stages: dict[str, list[str]] = field(default_factory=dict)
    failed: dict[str, str] = field(default_factory=dict)
    error: ErrorEntry | None = None
    task: "asyncio.Task[None] | None" = None

    def note(self, done: int, total: int, words: str) -> None:
        """Take in what the worker tells; a part's own step begins with its name."""
        self.done, self.total, self.words = done, total, words
        for key, name in sorted(self.names.items(), key=lambda one: -len(one[1])):
            if words.startswith(f"{name}{LEFT_OUT}"):
                self.failed[key] = words.removeprefix(f"{name}{LEFT_OUT}")
                return
            if words.startswith(f"{name}: "):
                self.stages.setdefault(key, []).append(words.removeprefix(f"{name}: "))
                return

    def entry(self, *, ahead: int) -> ProgressEntry:
        """How far it is."""
        return ProgressEntry(
            run=self.number,
            doing=self.doing,
            state=self.state,
            ahead=ahead,
            done=self.done,
            total=self.total,
            words=self.words,
            parts=[
                PartProgressEntry(key=key, name=name, done=self.stages.get(key, []), failed=self.failed.get(key))
                for key, name in self.names.items()
            ],
            error=self.error,
        )


NOTHING_BEGUN = ProgressEntry(
    run=0, doing=None, state=RunState.IDLE, ahead=0, done=0, total=0, words="", parts=[], error=None
)


class Runs:
    """At most `workers` runs at once, each on `processes` processes; the others wait in the order they came."""

    def __init__(
        self,
        *,
        workers: int,
        processes: int,
        shelf: Path | None,
        workshop: Path | None,
        command: Sequence[str] = COMMAND,
    ) -> None:
        self._workers, self._processes = workers, processes
        self._shelf, self._workshop, self._command = shelf, workshop, tuple(command)
        self._idle: list[asyncio.subprocess.Process] = []
        self._waiting: deque[Run] = deque()
        self._working: set[str] = set()
        self._last: dict[str, Run] = {}
        self._count = 0
        self._changed = asyncio.Condition()

    async def warm(self) -> None:
        """Have a worker stand ready, so that the first run need not wait for one."""
        self._idle.append(await self._new_worker())

    async def start(self, folder: JobFolder, doing: Doing, *, begin: date | None = None) -> Run:
        """Queue a run.

        Raises
        ------
        Busy
            If one of that job is going on.
        BadJob
            If the job cannot be read.
        """
        names = {key: part.name for key, part in keyed_parts(folder.read()).items()}
        last = self._last.get(folder.id)
        if last is not None and last.state in BUSY_STATES:
            raise Busy(
                f"the {last.doing.value} of this job is being worked out", remedy="wait for it, or cancel it first"
            )
        self._count += 1
        run = Run(number=self._count, doing=doing, folder=folder, names=names, begin=begin)
        self._last[folder.id] = run
        self._waiting.append(run)
        await self._tell()
        self._begin_next()
        return run

    async def cancel(self, job_id: str) -> None:
        """End the run of a job, its processes too, and clear what it had begun; nothing where none goes on."""
        run = self._last.get(job_id)
        if run is None or run.state not in BUSY_STATES:
            return
        if run in self._waiting:
            self._waiting.remove(run)
        elif run.task is not None:
            run.task.cancel()
            await asyncio.gather(run.task, return_exceptions=True)
        run.state, run.words = RunState.CANCELLED, "cancelled"
        await self._tell()

    def state_of(self, job_id: str) -> RunState:
        """Whether something is being worked out for a job."""
        run = self._last.get(job_id)
        return RunState.IDLE if run is None else run.state

    def progress_of(self, job_id: str) -> ProgressEntry:
        """How far the last run of a job is."""
        run = self._last.get(job_id)
        if run is None:
            return NOTHING_BEGUN
        ahead = self._waiting.index(run) if run in self._waiting else 0
        return run.entry(ahead=ahead)

    async def watch(self, job_id: str, *, follow: bool) -> AsyncIterator[ProgressEntry]:
        """How far it is, now and at every change; where it does not `follow`, up to the end of the run."""
        told: ProgressEntry | None = None
        while True:
            now = self.progress_of(job_id)
            if now != told:
                told = now
                yield now
            if not follow and now.state not in BUSY_STATES:
                return
            async with self._changed:
                if self.progress_of(job_id) == told:
                    await self._changed.wait()

    def forget(self, job_id: str) -> None:
        """A job that was removed."""
        self._last.pop(job_id, None)

    async def close(self) -> None:
        """End every worker."""
        self._waiting.clear()
        for job_id in list(self._last):
            await self.cancel(job_id)
        await asyncio.gather(*(_end(worker) for worker in self._idle))
        self._idle.clear()

    def _begin_next(self) -> None:
        while self._waiting and len(self._working) < self._workers:
            run = self._waiting.popleft()
            self._working.add(run.folder.id)
            run.task = asyncio.create_task(self._work(run))

    async def _work(self, run: Run) -> None:
        run.state, run.words = RunState.WORKING, "beginning"
        await self._tell()
        worker: asyncio.subprocess.Process | None = None
        try:
            worker = await self._ready_worker()
            whole = await self._follow(worker, run)
            if whole:
                self._idle.append(worker)
                worker = None
        finally:
            if worker is not None:
                await asyncio.shield(_end(worker))
                run.folder.tidy()
            self._working.discard(run.folder.id)
            self._begin_next()
        await self._tell()

    async def _follow(self, worker: asyncio.subprocess.Process, run: Run) -> bool:
        """Let the worker do it; whether it is still there afterwards."""
        assert worker.stdin is not None
        assert worker.stdout is not None
        worker.stdin.write((json.dumps(self._asked(run)) + "\n").encode())
        await worker.stdin.drain()
        while line := await worker.stdout.readline():
            told = json.loads(line)
            if "progress" in told:
                run.note(*told["progress"])
                await self._tell()
            elif "end" in told:
                _take_end(run, told)
                return True
        run.state = RunState.FAILED
        run.error = error_entry(
            OutOfMemory(
                "the process that worked it out was ended from outside",
                remedy="close other programs: large parts need more memory than is left",
            )
        )
        return False

    def _asked(self, run: Run) -> dict[str, Any]:
        return {
            "id": run.folder.id,
            "folder": str(run.folder.path),
            "shelf": None if self._shelf is None else str(self._shelf),
            "workshop": None if self._workshop is None else str(self._workshop),
            "doing": run.doing.value,
            "begin": None if run.begin is None else run.begin.isoformat(),
            "processes": self._processes,
        }

    async def _ready_worker(self) -> asyncio.subprocess.Process:
        """One that stands ready, else a new one."""
        while self._idle:
            worker = self._idle.pop()
            if worker.returncode is None:
                return worker
        return await self._new_worker()

    async def _new_worker(self) -> asyncio.subprocess.Process:
        return await asyncio.create_subprocess_exec(
            *self._command,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            start_new_session=True,
            limit=LINE_BYTES,
        )

    async def _tell(self) -> None:
        async with self._changed:
            self._changed.notify_all()


def _take_end(run: Run, told: dict[str, Any]) -> None:
    if told["end"] == "done":
        run.state, run.words, run.done = RunState.DONE, "done", run.total
        return
    run.state, run.words = RunState.FAILED, "it could not be done"
    run.error = ErrorEntry(code=told["code"], problem=told["problem"], remedy=told["remedy"])


async def _end(worker: asyncio.subprocess.Process) -> None:
    """End a worker and all that it started: first asked to tidy up, then without asking."""
    if worker.returncode is None:
        _signal(worker.pid, signal.SIGTERM, group=False)
        with suppress(TimeoutError):
            await asyncio.wait_for(worker.wait(), GRACE_S)
    _signal(worker.pid, signal.SIGKILL, group=True)
    await worker.wait()
    if worker.stdin is not None:
        worker.stdin.close()


def _signal(pid: int, number: int, *, group: bool) -> None:
    try:
        if group:
            os.killpg(pid, number)
        else:
            os.kill(pid, number)
    except (ProcessLookupError, PermissionError):
        return
