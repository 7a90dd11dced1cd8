"""Routes on jobs: making, reading, changing and removing them, and marking the faces of their parts."""

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, File, Form, UploadFile
from fastapi.concurrency import run_in_threadpool
from pydantic import ValidationError

from firstpour.errors import BadRequest, WorkshopError
from firstpour.files.entry import vector
from firstpour.job.job import Job, PartRequest
from firstpour.web.choices import choose, standing, take_back
from firstpour.web.entries import (
    AskedPartEntry,
    Doing,
    JobsEntry,
    JobWishes,
    ListedJobEntry,
    MarksWish,
    OpenJobEntry,
    PartWishes,
    ResultEntry,
    RouteWish,
)
from firstpour.web.job_folders import JobFolder, keyed_parts
from firstpour.web.refusals import REFUSED, ErrorEntry, error_entry
from firstpour.web.runs import Runs
from firstpour.web.serving import Opened, Parts, Running, Served
from firstpour.web.uploads import job_of_parts, job_of_zip, name_from
from firstpour.web.wishes import with_marks, with_wishes

api = APIRouter(prefix="/api/jobs", responses=REFUSED, tags=["jobs"])
ALL = "all"
"""In place of a part's key: every part."""
SAME_KEYS = (
    "name", "copies", "hardness", "kind", "process", "silicone", "casting", "paint", "clear", "moulds", "cavities",
    "colourant_ratio", "accelerator_ratio", "silicone_accelerator_ratio", "unit", "route", "print_in",
)  # fmt: skip


@api.get("")
def jobs(serving: Served, runs: Running) -> JobsEntry:
    """All jobs, the last changed first."""
    return JobsEntry(jobs=[_listed(one, runs) for one in serving.folders.all()])


@api.post("", status_code=201)
async def make_job(
    serving: Served,
    runs: Running,
    parts: Parts,
    files: Annotated[list[UploadFile], File(description="Part files, or one zip of a job's folder.")],
    wishes: Annotated[
        str, Form(description="JSON of JobWishes, for parts by their keys; `all` as a key means every part.")
    ] = "{}",
) -> OpenJobEntry:
    """Make a job of part files, or of the folder of one as zip, and lay the wishes into it."""
    asked = _wishes_from(wishes)
    sent = [(one.filename or "", await one.read()) for one in files]

    def make() -> OpenJobEntry:
        zipped = len(sent) == 1 and sent[0][0].lower().endswith(".zip")
        name = asked.name or name_from(sent[0][0] if sent else "")
        made = job_of_zip(sent[0][1]) if zipped else job_of_parts(sent, name=name)
        folder = serving.folders.add(made, name=name)
        try:
            _lay_first_wishes(folder, asked)
            for part in folder.read().parts:
                parts.marked(part)
        except BaseException:
            serving.folders.remove(folder)
            raise
        return open_job_entry(folder, runs)

    return await run_in_threadpool(make)


@api.post("/demo", status_code=201)
def make_demo(serving: Served, runs: Running) -> OpenJobEntry:
    """Make the tide pool of a children's museum: four parts, a shelf of its own."""
    now = serving.clock()
    return open_job_entry(serving.folders.add_demo(today=now.date(), now=now), runs)


@api.get("/{job_id}")
def job(folder: Opened, runs: Running) -> OpenJobEntry:
    """What is asked for, and how far it is."""
    return open_job_entry(folder, runs)


@api.patch("/{job_id}")
def change_job(folder: Opened, runs: Running, wishes: JobWishes) -> OpenJobEntry:
    """Change wishes; plan again to see what comes of it."""
    folder.change(with_wishes(folder, wishes))
    return open_job_entry(folder, runs)


@api.delete("/{job_id}", status_code=204)
async def remove_job(folder: Opened, serving: Served, runs: Running) -> None:
    """Remove a job with all that was worked out for it; what is being worked out is cancelled."""
    await runs.cancel(folder.id)
    runs.forget(folder.id)
    await run_in_threadpool(serving.folders.remove, folder)


@api.put("/{job_id}/parts/{part}/marks")
def mark_faces(folder: Opened, part: str, wish: MarksWish, runs: Running, parts: Parts) -> OpenJobEntry:
    """Mark faces as painted on the part, in place of the marks that it had."""
    folder.change(with_marks(folder, part, parts.marked(folder.part(part)), wish))
    return open_job_entry(folder, runs)


@api.put("/{job_id}/parts/{part}/route")
def choose_route(folder: Opened, part: str, wish: RouteWish, runs: Running) -> OpenJobEntry:
    """Fix one of the routes that were set side by side: the job then asks for it; plan again to follow it."""
    choose(folder, part, wish.route)
    return open_job_entry(folder, runs)


@api.delete("/{job_id}/parts/{part}/route")
def take_back_route(folder: Opened, part: str, runs: Running) -> OpenJobEntry:
    """Take a chosen route back: the part asks for what it did before."""
    take_back(folder, part)
    return open_job_entry(folder, runs)


def open_job_entry(folder: JobFolder, runs: Runs) -> OpenJobEntry:
    """A job as it stands."""
    job = folder.read()
    asked, chosen = folder.asked(job), standing(folder)
    return OpenJobEntry(
        id=folder.id,
        name=job.name,
        begin=job.begin,
        due=job.due,
        prefer=job.prefer,
        hands_per_h=job.hands_per_h,
        printer_per_h=job.printer_per_h,
        temperature_c=job.temperature_c,
        changed_at=_changed_at(folder),
        own_shelf=folder.shelf is not None,
        parts=[_asked_part(key, part, chosen=chosen.get(key)) for key, part in keyed_parts(job).items()],
        plan=result_entry(folder, Doing.PLAN, asked=asked),
        routes=result_entry(folder, Doing.ROUTES, asked=asked),
        schedule=result_entry(folder, Doing.SCHEDULE, asked=asked),
        state=runs.state_of(folder.id),
    )


def result_entry(folder: JobFolder, doing: Doing, *, asked: str) -> ResultEntry:
    """Whether a result is there, and answers what is asked now."""
    file = folder.result_file(doing)
    if not file.is_file():
        return ResultEntry(there=False, current=False, at=None)
    current = folder.stamps().get(doing.value) == asked
    return ResultEntry(there=True, current=current, at=datetime.fromtimestamp(file.stat().st_mtime).astimezone())


def _asked_part(key: str, part: PartRequest, *, chosen: str | None) -> AskedPartEntry:
    return AskedPartEntry(
        key=key,
        source=None if part.file is None else part.file.name,
        draw=None if part.draw is None else vector(part.draw),
        up=None if part.up is None else vector(part.up),
        gates_mm=[vector(one) for one in part.gates_mm],
        vents_mm=[vector(one) for one in part.vents_mm],
        marks=len(part.marks),
        chosen_route=chosen,
        **{same: getattr(part, same) for same in SAME_KEYS},
    )


def _listed(folder: JobFolder, runs: Runs) -> ListedJobEntry:
    job: Job | None = None
    problem: ErrorEntry | None = None
    try:
        job = folder.read()
    except WorkshopError as error:
        problem = error_entry(error)
    return ListedJobEntry(
        id=folder.id,
        name=folder.id if job is None else job.name,
        due=None if job is None else job.due,
        parts=0 if job is None else len(job.parts),
        copies=0 if job is None else sum(part.copies for part in job.parts),
        changed_at=_changed_at(folder),
        planned=folder.result_file(Doing.PLAN).is_file(),
        state=runs.state_of(folder.id),
        problem=problem,
    )


def _changed_at(folder: JobFolder) -> datetime:
    return datetime.fromtimestamp(folder.job_file.stat().st_mtime).astimezone()


def _wishes_from(text: str) -> JobWishes:
    """The wishes that came with part files.

    Raises
    ------
    BadRequest
        If they cannot be meant.
    """
    try:
        return JobWishes.model_validate_json(text)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ", ".join(str(step) for step in first["loc"])
        raise BadRequest(
            f"wishes, {where}: {first['msg']}", remedy="send JSON of JobWishes, as the published routes say"
        ) from error


def _lay_first_wishes(folder: JobFolder, wishes: JobWishes) -> None:
    """Lay the wishes into a new job; those under `all` into every part that does not say otherwise."""
    keys = keyed_parts(folder.read())
    given = dict(wishes.parts)
    for_all = None if ALL in keys else given.pop(ALL, None)
    if for_all is not None:
        given = {key: _over(for_all, given.get(key)) for key in keys}
    laid = wishes.model_copy(update={"parts": given})
    if given or laid.model_fields_set - {"parts"}:
        folder.change(with_wishes(folder, laid))


def _over(base: PartWishes, own: PartWishes | None) -> PartWishes:
    """The wishes of `base`, those of `own` in their place."""
    said = {} if own is None else {name: getattr(own, name) for name in own.model_fields_set}
    return base.model_copy(update=said)
