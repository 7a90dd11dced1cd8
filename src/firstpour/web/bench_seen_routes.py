"""Routes on what is seen at the bench: clocks of one's own, photos, causes of a spoiled copy, worn moulds."""

import tempfile
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Query, UploadFile
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse

from firstpour.bench import doing
from firstpour.bench.facts import diagnose
from firstpour.bench.kept import Bench
from firstpour.bench.read import Session, plan_of, session_in
from firstpour.errors import BadRequest, WorkshopError
from firstpour.files.results import PLAN_FILE
from firstpour.store.opening import reading
from firstpour.store.runs import photos_of
from firstpour.web.bench_entries import BenchSessionEntry
from firstpour.web.bench_routes import SessionName, bench_at, now_of, session_entry
from firstpour.web.bench_seen_entries import (
    BenchCauseEntry,
    BenchCausesEntry,
    BenchClockWish,
    BenchNewMouldWish,
    BenchPartEntry,
    BenchPhotoEntry,
    BenchPhotosEntry,
)
from firstpour.web.job_folders import RESULTS, SHOWN, JobFolders, keyed_parts
from firstpour.web.refusals import REFUSED, Answers, NotThere, TooLarge
from firstpour.web.serving import Served
from firstpour.web.shown import MARKS_FILE

api = APIRouter(prefix="/api/bench/{session}", responses=REFUSED, tags=["bench"])
LARGEST_PHOTO_BYTES = 32 * 1024**2
PHOTO_TYPES = {
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".png": "image/png",
    ".webp": "image/webp",
    ".heic": "image/heic",
}
BEGINNINGS = ((0, b"\xff\xd8\xff"), (0, b"\x89PNG\r\n\x1a\n"), (8, b"WEBP"), (4, b"ftyp"))
"""Where and with which bytes a picture of these kinds begins."""
PICTURE_ANSWER: Answers = {200: {"content": {"image/*": {"schema": {"type": "string", "format": "binary"}}}}}
IN_WORDS = "say the place in words"


@api.post("/clock")
def own_clock(session: SessionName, serving: Served, wish: BenchClockWish) -> BenchSessionEntry:
    """Start a clock of one's own, beside those that the steps set."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    state = doing.start_clock(here, number, at=now, name=wish.name, minutes=wish.minutes)
    return session_entry(state, now, named=session)


@api.post("/new-mould")
def renew_mould(session: SessionName, serving: Served, wish: BenchNewMouldWish) -> BenchSessionEntry:
    """Make a new mould in the place of a worn one, before the next round."""
    now, (here, number) = now_of(serving), bench_at(serving, session)
    state = doing.new_mould(here, number, at=now, instead_of=wish.instead_of)
    return session_entry(state, now, named=session)


@api.get("/causes")
def causes(
    session: SessionName, serving: Served, outcome: Annotated[int | None, Query(ge=1)] = None
) -> BenchCausesEntry:
    """Why a copy was spoiled; the last spoiled one, unless the number of an outcome is given."""
    here, number = bench_at(serving, session)
    found = diagnose(here, number, outcome=outcome)
    return BenchCausesEntry(causes=[BenchCauseEntry.model_validate(one) for one in found])


@api.get("/photos")
def photos(session: SessionName, serving: Served) -> BenchPhotosEntry:
    """The photos that were kept."""
    return _photos(*bench_at(serving, session))


@api.post("/photos", status_code=201)
async def add_photo(
    session: SessionName, serving: Served, photo: Annotated[UploadFile, File(description="A picture.")]
) -> BenchPhotosEntry:
    """Keep a photo with the step at hand."""
    name = Path((photo.filename or "").replace("\\", "/")).name
    content = await photo.read(LARGEST_PHOTO_BYTES + 1)
    _refuse_no_picture(name, content)

    def keep() -> BenchPhotosEntry:
        here, number = bench_at(serving, session)
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder, f"photo{Path(name).suffix.lower()}")
            file.write_bytes(content)
            doing.add_photo(here, number, at=now_of(serving), file=file)
        return _photos(here, number)

    return await run_in_threadpool(keep)


@api.get("/photos/{file}", response_class=FileResponse, responses=PICTURE_ANSWER)
def photo_file(session: SessionName, file: str, serving: Served) -> FileResponse:
    """One photo of the session."""
    here, number = bench_at(serving, session)
    if file not in [one.file for one in _photos(here, number).photos]:
        raise NotThere(f"the session has no photo {file[:80]!r}", remedy="look at the list of its photos")
    return FileResponse(here.store.photos / file, media_type=PHOTO_TYPES[Path(file).suffix])


@api.get("/part")
def part_seen(session: SessionName, serving: Served) -> BenchPartEntry:
    """Where the part can be looked at, so that a defect can be shown on it."""
    here, number = bench_at(serving, session)
    with reading(here.store) as connection:
        if connection is None:
            raise BadRequest(f"there is no session {session}", remedy="start one from a plan")
        found = _seen(session_in(connection, number), serving.folders)
    if found is None:
        raise NotThere("the part of this session cannot be shown: its plan has gone or changed", remedy=IN_WORDS)
    return found


def _seen(session: Session, folders: JobFolders) -> BenchPartEntry | None:
    """The job and the key of the part, where the job is still planned with the same draw and the same openings."""
    results = Path(session.kept.folder)
    if session.cast is None or results.name != RESULTS or results.parent.parent != folders.root.resolve():
        return None
    try:
        folder = folders.get(results.parent.name)
        keys = {part.name: key for key, part in keyed_parts(folder.read()).items()}
        parts = {part.name: part for part in plan_of((results / PLAN_FILE).read_text(encoding="utf-8")).parts}
    except (OSError, WorkshopError):
        return None
    name, planned = session.part.name, parts.get(session.part.name)
    same = planned is not None and (planned.chosen_draw, planned.fill) == (
        session.cast.chosen_draw,
        session.cast.fill,
    )
    if not same or name not in keys or not (folder.path / SHOWN / keys[name] / MARKS_FILE).is_file():
        return None
    return BenchPartEntry(job=folder.id, part=keys[name])


def _photos(here: Bench, session: int) -> BenchPhotosEntry:
    with reading(here.store) as connection:
        if connection is None:
            raise BadRequest(f"there is no session {session}", remedy="start one from a plan")
        log = {one.id: one for one in session_in(connection, session).log}
        kept = photos_of(connection, session)
    found = [(one.file, log[one.entry_id]) for one in kept if one.entry_id in log]
    return BenchPhotosEntry(photos=[BenchPhotoEntry(file=file, step=one.step, at=one.at) for file, one in found])


def _refuse_no_picture(name: str, content: bytes) -> None:
    """Refuse what is too large, or no picture by its name or by its first bytes."""
    if len(content) > LARGEST_PHOTO_BYTES:
        raise TooLarge("the photo takes more than 32 MiB", remedy="send a smaller one")
    begins = any(content[at : at + len(magic)] == magic for at, magic in BEGINNINGS)
    if Path(name).suffix.lower() not in PHOTO_TYPES or not begins:
        raise BadRequest(
            f"{name[:80]!r} is no picture that is kept here", remedy=f"send one of: {', '.join(PHOTO_TYPES)}"
        )
