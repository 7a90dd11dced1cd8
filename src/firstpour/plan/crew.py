"""Who does the work: this process alone, or a few beside each other."""

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager
from types import TracebackType
from typing import Any, Protocol, TypeVar

from firstpour.errors import OutOfMemory

Done = TypeVar("Done")


class Crew(Protocol):
    """Does tasks and tells each as it is done."""

    def run(self, task: Callable[..., Done], jobs: Sequence[tuple[Any, ...]]) -> Iterator[tuple[int, Done]]:
        """Call the task with each job's arguments; give number and result of each, in the order they are done."""


class Alone:
    """One task after the other, here."""

    def run(self, task: Callable[..., Done], jobs: Sequence[tuple[Any, ...]]) -> Iterator[tuple[int, Done]]:
        """Call the task with each job's arguments in turn."""
        for number, job in enumerate(jobs):
            yield number, task(*job)


class Beside(AbstractContextManager["Beside"]):
    """Tasks in processes beside each other; they end with the block, also when it is left by an error."""

    def __init__(self, processes: int) -> None:
        self._processes = processes
        self._pool: ProcessPoolExecutor | None = None

    def run(self, task: Callable[..., Done], jobs: Sequence[tuple[Any, ...]]) -> Iterator[tuple[int, Done]]:
        """Call the task with each job's arguments, as many at once as there are processes.

        Raises
        ------
        OutOfMemory
            If a process was ended from outside, as by a system without memory left.
        """
        if len(jobs) < 2:
            yield from Alone().run(task, jobs)
            return
        if self._pool is None:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(self._processes, mp_context=context, initializer=_leave_ctrl_c_to_main)
        try:
            waiting = {self._pool.submit(task, *job): number for number, job in enumerate(jobs)}
            for future in as_completed(waiting):
                yield waiting[future], future.result()
        except BrokenProcessPool as error:
            raise OutOfMemory(
                "a process that worked out a part was ended from outside",
                remedy="close other programs, or plan one part at a time: large parts need more memory than is left",
            ) from error

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._pool is None:
            return
        if error is not None:
            for process in multiprocessing.active_children():
                process.terminate()
        self._pool.shutdown(wait=True, cancel_futures=True)


def crew_of(processes: int | None) -> Beside:
    """A crew of so many processes; as many as there are cores where it is not said."""
    return Beside(processes or os.cpu_count() or 1)


def _leave_ctrl_c_to_main() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
