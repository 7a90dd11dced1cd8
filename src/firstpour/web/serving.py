"""What one server works with, and how a route gets at it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, Request

from firstpour.web.job_folders import JobFolder, JobFolders
from firstpour.web.pairing import Pairing
from firstpour.web.parts_read import PartsRead
from firstpour.web.runs import Runs


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """Where things lie, how many work, and who may come; `shelf` and `workshop` None: the user's usual ones."""

    jobs: Path
    shelf: Path | None = None
    workshop: Path | None = None
    workers: int = 1
    processes: int = 1
    pairing: Pairing | None = None
    static: Path = Path(__file__).parent / "static"
    clock: Callable[[], datetime] = lambda: datetime.now().astimezone()
    names: frozenset[str] = frozenset()
    """Further names that the server is asked under."""

    @property
    def folders(self) -> JobFolders:
        """All jobs."""
        return JobFolders(root=self.jobs, workshop=self.workshop)


def _serving(request: Request) -> Any:
    return request.app.state.serving


def _runs(request: Request) -> Any:
    return request.app.state.runs


def _parts(request: Request) -> Any:
    return request.app.state.parts


Served = Annotated[Serving, Depends(_serving)]
Running = Annotated[Runs, Depends(_runs)]
Parts = Annotated[PartsRead, Depends(_parts)]


def _folder(job_id: str, serving: Served) -> JobFolder:
    return serving.folders.get(job_id)


Opened = Annotated[JobFolder, Depends(_folder)]
"""The job that the address names."""
