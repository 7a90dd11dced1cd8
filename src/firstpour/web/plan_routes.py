"""Routes on what is worked out for a job: plan, routes, schedule, how far they are, and the files to take away."""

import io
import zipfile
from collections.abc import AsyncIterator
from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response
from fastapi.sse import EventSourceResponse
from pydantic import BaseModel, ValidationError

from firstpour.files.plan_json import PlanEntry
from firstpour.files.route_entries import RoutesEntry
from firstpour.files.schedule_entries import ScheduleEntry
from firstpour.sheets.pdf import PLAN_PDF
from firstpour.web.choices import CHOICES_FILE
from firstpour.web.entries import Doing, FileEntry, FilesEntry, ProgressEntry, ScheduleWish, StartEntry
from firstpour.web.job_folders import CALENDAR_FILE, SHOWN, STAMPS_FILE, JobFolder
from firstpour.web.paper import unwritten_paper
from firstpour.web.refusals import REFUSED, Answers, NotThere
from firstpour.web.runs import Run
from firstpour.web.serving import Opened, Running
from firstpour.writing.beside import MARK

api = APIRouter(prefix="/api/jobs/{job_id}", responses=REFUSED, tags=["plan"])
JSON = "application/json"
TYPES = {
    ".stl": "model/stl",
    ".3mf": "model/3mf",
    ".pdf": "application/pdf",
    ".ics": "text/calendar",
    ".json": JSON,
    ".png": "image/png",
    ".gif": "image/gif",
    ".svg": "image/svg+xml",
    ".toml": "application/toml",
}
IN_VIEW = (".png", ".gif", ".pdf", ".json")
"""Shown in the browser where it is asked to; all else is taken away."""
SHAPES: dict[Doing, type[BaseModel]] = {
    Doing.PLAN: PlanEntry,
    Doing.ROUTES: RoutesEntry,
    Doing.SCHEDULE: ScheduleEntry,
}
FILE_ANSWER: Answers = {
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
}


@api.post("/plan", status_code=202)
async def start_plan(folder: Opened, runs: Running) -> StartEntry:
    """Begin to work out the plan; what has not changed since the last time is not worked out again."""
    return _started(await runs.start(folder, Doing.PLAN))


@api.get("/plan", response_model=PlanEntry)
def plan(folder: Opened) -> Response:
    """The plan: plan.json as it was written."""
    return _result(folder, Doing.PLAN)


@api.delete("/plan", status_code=204)
async def cancel(folder: Opened, runs: Running) -> None:
    """Cancel what is being worked out, be it plan, routes or schedule; nothing of it is left behind."""
    await runs.cancel(folder.id)


@api.get("/progress", response_class=EventSourceResponse)
async def progress(folder: Opened, runs: Running, follow: bool = True) -> AsyncIterator[ProgressEntry]:
    """How far the work is, now and at every change; with `follow` also that of the runs that come later."""
    async for told in runs.watch(folder.id, follow=follow):
        yield told


@api.post("/routes", status_code=202)
async def start_routes(folder: Opened, runs: Running) -> StartEntry:
    """Begin to set every way to make the copies side by side."""
    return _started(await runs.start(folder, Doing.ROUTES))


@api.get("/routes", response_model=RoutesEntry)
def routes(folder: Opened) -> Response:
    """The ways to make the copies."""
    return _result(folder, Doing.ROUTES)


@api.post("/schedule", status_code=202)
async def start_schedule(folder: Opened, runs: Running, wish: ScheduleWish) -> StartEntry:
    """Begin to put the job in order, day by day."""
    return _started(await runs.start(folder, Doing.SCHEDULE, begin=wish.begin))


@api.get("/schedule", response_model=ScheduleEntry)
def schedule(folder: Opened) -> Response:
    """The order of work."""
    return _result(folder, Doing.SCHEDULE)


@api.get("/calendar.ics", response_class=Response, responses={200: {"content": {"text/calendar": {}}}})
def calendar(folder: Opened) -> Response:
    """The tasks that need hands, as a calendar file: of the order by itself where it counts, else of the plan."""
    own, of_plan = folder.path / CALENDAR_FILE, folder.results / CALENDAR_FILE
    current = folder.stamps().get(Doing.SCHEDULE.value) == folder.asked()
    return _sent(own if current or not of_plan.is_file() else of_plan, as_name=f"{folder.id}.ics")


@api.get("/job.zip", response_class=Response, responses={200: {"content": {"application/zip": {}}}})
def job_as_zip(folder: Opened) -> Response:
    """The job's folder with its results, to keep or to send; it can be taken in again."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for file in sorted(folder.path.rglob("*")):
            below = file.relative_to(folder.path)
            if file.is_file() and not file.is_symlink() and _to_keep(below):
                archive.write(file, below.as_posix())
        if (paper := unwritten_paper(folder)) is not None:
            archive.writestr((folder.results / PLAN_PDF).relative_to(folder.path).as_posix(), paper)
    headers = {"Content-Disposition": f'attachment; filename="{folder.id}.zip"'}
    return Response(whole.getvalue(), media_type="application/zip", headers=headers)


@api.get("/files")
def files(folder: Opened) -> FilesEntry:
    """The files of the results: pieces, run sheet, pictures, plan.json."""
    home = folder.results
    found = (file for file in home.rglob("*") if file.is_file()) if home.is_dir() else ()
    sizes = {one.relative_to(home).as_posix(): one.stat().st_size for one in found}
    if (paper := unwritten_paper(folder)) is not None:
        sizes[PLAN_PDF] = len(paper)
    return FilesEntry(files=[FileEntry(path=path, bytes=sizes[path]) for path in sorted(sizes)])


@api.get("/files/{path:path}", response_class=Response, responses=FILE_ANSWER)
def file(folder: Opened, path: str) -> Response:
    """One file of the results."""
    if path == PLAN_PDF and (paper := unwritten_paper(folder)) is not None:
        headers = {"Content-Disposition": f'inline; filename="{PLAN_PDF}"'}
        return Response(paper, media_type=TYPES[".pdf"], headers=headers)
    home = folder.results.resolve()
    missing = NotThere(f"the results hold no {path[:120]!r}", remedy="plan the job, or choose one of its files")
    try:
        wanted = (home / path).resolve()
        if not wanted.is_file() or home not in wanted.parents:
            raise missing
    except (OSError, ValueError) as error:
        raise missing from error
    return _sent(wanted, as_name=wanted.name, in_view=wanted.suffix in IN_VIEW)


def _started(run: Run) -> StartEntry:
    return StartEntry(run=run.number, doing=run.doing)


def _result(folder: JobFolder, doing: Doing) -> Response:
    """A result as it was written.

    Raises
    ------
    NotThere
        If it was not worked out, or by a version that wrote it otherwise.
    """
    file = folder.result_file(doing)
    if not file.is_file():
        raise NotThere(f"this job has no {doing.value} yet", remedy=f"work out the {doing.value}")
    content = file.read_bytes()
    try:
        SHAPES[doing].model_validate_json(content)
    except ValidationError as error:
        raise NotThere(
            f"the {doing.value} of this job was written by another version",
            remedy=f"work out the {doing.value} again",
        ) from error
    return Response(content, media_type=JSON)


def _sent(file: Path, *, as_name: str, in_view: bool = False) -> Response:
    if not file.is_file():
        raise NotThere(f"there is no {file.name} yet", remedy="work it out first")
    kind = TYPES.get(file.suffix, "application/octet-stream")
    disposition = "inline" if in_view else "attachment"
    return FileResponse(file, media_type=kind, filename=as_name, content_disposition_type=disposition)


def _to_keep(below: Path) -> bool:
    """What belongs to a job: not what only the viewer needs, nor what is being written."""
    return below.parts[0] not in (SHOWN, STAMPS_FILE, CHOICES_FILE) and f".{MARK}-" not in below.as_posix()
