"""The work on one part as tasks that may run in any process, each under the name of what it depends on."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from firstpour.errors import UnreadablePart, WorkshopError
from firstpour.fill.breathing import Mix
from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldMaterials, MouldSettings
from firstpour.plan.cavity_room import Room
from firstpour.plan.kept import open_kept, stage_name
from firstpour.plan.look import Looked, look_at
from firstpour.plan.together import look_together, work_out_together
from firstpour.plan.values import FailedPart
from firstpour.plan.work_out import WorkedOut, work_out
from firstpour.printing.printers import Printer

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True, kw_only=True)
class Task(Generic[Made]):
    """Something to work out for the part `part`; `name` is that of its result among those kept."""

    part: str
    name: str
    make: Callable[..., Made]
    given: tuple[Any, ...]


def done(task: "Task[Made]", kept: Path | None) -> "Made | FailedPart":
    """Work the task out and keep its result, or tell why that failed."""
    try:
        made = task.make(*task.given)
    except WorkshopError as error:
        return FailedPart.told(task.part, error)
    open_kept(kept).put(task.name, made)
    return made


def look_task(request: PartRequest, settings: MouldSettings) -> "Task[Looked]":
    """The first look at a part.

    Raises
    ------
    UnreadablePart
        If its file cannot be opened.
    """
    if request.members:
        each = [(_look_name(one.request, settings), one.count) for one in request.members]
        name = stage_name("look-together", request.name, each, settings.wall_mm)
        return Task(part=request.name, name=name, make=look_together, given=(request, settings))
    return Task(part=request.name, name=_look_name(request, settings), make=look_at, given=(request, settings))


def _look_name(request: PartRequest, settings: MouldSettings) -> str:
    file = request.file
    content = None if file is None else _bytes(file)
    return stage_name(
        "look", request.name, content, "" if file is None else file.suffix.lower(), request.sample, request.unit,
        request.marks, request.draw, request.kind, settings.parting,
    )  # fmt: skip


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise UnreadablePart(
            f"{file} cannot be read: {error.strerror or error}", remedy="check the file and its permissions"
        ) from error


def work_out_task(
    looked: Looked,
    looked_name: str,
    request: PartRequest,
    settings: MouldSettings,
    materials: MouldMaterials,
    printers: tuple[Printer, ...],
    mix: Mix | None,
    room: Room,
) -> "Task[WorkedOut]":
    """Parting, fill, mould and printing of a part; `mix` is what is cast, where that is known,
    and `room` how many cavities it and the silicone allow, and how they are filled.

    Raises
    ------
    UnreadablePart
        If the file of an insert cannot be opened.
    """
    if request.members:
        wishes = [
            (one.request.gates_mm, one.request.vents_mm, one.request.up, one.request.fits) for one in request.members
        ]
        name = stage_name(
            "work-out-together", looked_name, wishes, request.process, settings, materials, printers, mix
        )
        return Task(
            part=request.name,
            name=name,
            make=work_out_together,
            given=(looked, request, settings, materials, printers, mix),
        )
    meshes = [_bytes(one.file) for one in request.inserts if one.file is not None]
    name = stage_name(
        "work-out", looked_name, meshes, request.gates_mm, request.vents_mm, request.up, request.process,
        request.fits, request.inserts, settings, materials, printers, mix, request.cavities,
        room.cavities if isinstance(request.cavities, str) else None, room.basin, request.basin,
    )  # fmt: skip
    given = (looked, request, settings, materials, printers, mix, room)
    return Task(part=request.name, name=name, make=work_out, given=given)
