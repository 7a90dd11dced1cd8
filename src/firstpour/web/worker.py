"""A process that works jobs out: a line of JSON in for each, lines of JSON out as it goes on.

It stands ready, everything loaded, so that a change without new geometry is answered at once. Ended in the middle
of its work it tidies up what it had begun.
"""

import gc
import json
import os
import signal
import sys
import traceback
from collections.abc import Callable
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any, TextIO

from firstpour.errors import WorkshopError
from firstpour.files.route_entries import routes_entry
from firstpour.plan import crew_of, get_ready, kept_folder, plan_by_date, plan_by_route
from firstpour.plan.crew import Crew
from firstpour.plan.opened import opened
from firstpour.plan.route_basis import routes_of
from firstpour.plan.values import Progress
from firstpour.results import plan_into
from firstpour.schedule.calendar_file import calendar_bytes
from firstpour.schedule.entries import schedule_entry
from firstpour.schedule.hours_ahead import first_moment
from firstpour.schedule.make import schedule_plan
from firstpour.web.entries import Doing
from firstpour.web.job_folders import CALENDAR_FILE, SHOWN, JobFolder
from firstpour.web.shown import write_shown
from firstpour.writing.whole import Over, write_whole

Told = dict[str, Any]
LATE = (
    "matplotlib.figure",
    "matplotlib.backends.backend_svg",
    "ortools.sat.python.cp_model",
    "manifold3d",
)
"""Modules that are loaded where they are first used."""


class Asked:
    """One run: the job, where the shelf and the workshop are, and what to begin with."""

    def __init__(self, told: Told) -> None:
        workshop = told["workshop"]
        self.workshop = None if workshop is None else Path(workshop)
        self.folder = JobFolder(id=told["id"], path=Path(told["folder"]), workshop=self.workshop)
        shelf = told["shelf"]
        self.shelf = self.folder.shelf or (None if shelf is None else Path(shelf))
        self.doing = Doing(told["doing"])
        self.begin = None if told.get("begin") is None else date.fromisoformat(told["begin"])
        self.processes = int(told["processes"])


def work(asked: Asked, progress: Progress, *, now: datetime) -> None:
    """Do one run.

    Raises
    ------
    WorkshopError
        If nothing comes of it.
    """
    stamp = asked.folder.asked()
    with crew_of(asked.processes) as crew:
        get_ready(crew, progress)
        WORK[asked.doing](asked, crew, progress, now)
    asked.folder.stamp(asked.doing, stamp)


def _plan(asked: Asked, crew: Crew, progress: Progress, now: datetime) -> None:
    job, here = opened(asked.folder.job_file, shelf=asked.shelf, workshop=asked.workshop, today=now.date())
    out = asked.folder.results
    saved = plan_into(job, out, progress=progress, workshop=here, crew=crew, kept=kept_folder(), paper=False)
    write_shown(saved, asked.folder.path / SHOWN)


def _routes(asked: Asked, crew: Crew, progress: Progress, now: datetime) -> None:
    job, here = opened(asked.folder.job_file, shelf=asked.shelf, workshop=asked.workshop, today=now.date())
    plan = plan_by_date(job, progress=progress, workshop=here, crew=crew, kept=kept_folder())
    progress(1, 1, "routes")
    entry = routes_entry(routes_of(plan, here, kept=kept_folder()))
    write_whole(asked.folder.result_file(Doing.ROUTES), entry.model_dump_json().encode(), over=Over.ANYTHING)


def _schedule(asked: Asked, crew: Crew, progress: Progress, now: datetime) -> None:
    job, here = opened(asked.folder.job_file, shelf=asked.shelf, workshop=asked.workshop, today=now.date())
    plan = plan_by_route(job, progress=progress, workshop=here, crew=crew, kept=kept_folder())
    start = first_moment(asked.begin or job.first_day(here.today), job.equipment.hours)
    made = schedule_plan(plan, start=start, progress=progress, workshop=here, kept=kept_folder())
    calendar = calendar_bytes(made, name=job.name, now=now)
    write_whole(asked.folder.path / CALENDAR_FILE, calendar, over=Over.ANYTHING)
    content = schedule_entry(made).model_dump_json().encode()
    write_whole(asked.folder.result_file(Doing.SCHEDULE), content, over=Over.ANYTHING)


WORK: dict[Doing, Callable[[Asked, Crew, Progress, datetime], None]] = {
    Doing.PLAN: _plan,
    Doing.ROUTES: _routes,
    Doing.SCHEDULE: _schedule,
}


def main() -> None:
    """Answer lines until there are no more."""
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _stop)
    try:
        _load()
        _tell(out, {"ready": True})
        for line in sys.stdin:
            _tell(out, _ended(Asked(json.loads(line)), out))
    except (KeyboardInterrupt, BrokenPipeError):
        return


def _load() -> None:
    """Load what a plan needs late, and take it out of the sight of the collector, which else looks at it each run."""
    for name in LATE:
        import_module(name)
    gc.collect()
    gc.freeze()


def _ended(asked: Asked, out: TextIO) -> Told:
    """How a run ended."""
    try:
        work(asked, lambda *told: _tell(out, {"progress": told}), now=datetime.now().astimezone())
    except WorkshopError as error:
        return {"end": "failed", "code": error.code, "problem": error.problem, "remedy": error.remedy}
    except (KeyboardInterrupt, BrokenPipeError):
        raise
    except Exception as error:
        traceback.print_exc()
        return {
            "end": "failed",
            "code": "unforeseen",
            "problem": f"something went wrong here that nobody foresaw ({type(error).__name__})",
            "remedy": "try again; the terminal of the server tells more",
        }
    return {"end": "done"}


def _tell(out: TextIO, told: Told) -> None:
    out.write(json.dumps(told) + "\n")
    out.flush()


def _stop(number: int, frame: FrameType | None) -> None:
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise KeyboardInterrupt


if __name__ == "__main__":
    main()
