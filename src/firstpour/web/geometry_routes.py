"""Routes on the geometry of a job: meshes as raw arrays, what is drawn on them, and openings tried out."""

import json
from pathlib import Path

import numpy as np
from fastapi import APIRouter
from fastapi.responses import Response
from numpy.typing import NDArray

from firstpour.errors import BadRequest
from firstpour.files.entry import finding_entries, place, vector
from firstpour.files.fill_entries import PocketEntry
from firstpour.fill.pockets import find_pockets
from firstpour.fill.values import Fill
from firstpour.fill.wetting import wet_levels_mm
from firstpour.plan.filling import RESOLUTION
from firstpour.values import FloatArray
from firstpour.web.job_folders import SHOWN, JobFolder, keyed_parts
from firstpour.web.meshes import MEDIA_TYPE, mesh_bytes, mesh_from_bytes
from firstpour.web.refusals import REFUSED, Answers, NotThere
from firstpour.web.serving import Opened, Parts
from firstpour.web.shown import MARKS_FILE, PART_MESH, PIECES_FILE
from firstpour.web.shown_entries import FillTryEntry, FillTryWish, Marks3dEntry, ShownPiecesEntry

api = APIRouter(prefix="/api/jobs/{job_id}/parts/{part}", responses=REFUSED, tags=["geometry"])
MESH_ANSWER: Answers = {
    200: {
        "description": "A mesh as raw arrays; see docs/page.md.",
        "content": {MEDIA_TYPE: {"schema": {"type": "string", "format": "binary"}}},
    }
}


@api.get("/mesh", response_class=Response, responses=MESH_ANSWER)
def part_mesh(folder: Opened, part: str, parts: Parts) -> Response:
    """The part as read, in its own coordinates, its marks on every face; once planned every other figure, too."""
    marked = parts.marked(folder.part(part))
    figures: dict[str, NDArray[np.floating]] = {"mark": marked.marks.astype(np.float32)}
    shown = _home(folder, part) / PART_MESH
    if shown.is_file():
        planned = mesh_from_bytes(shown.read_bytes())
        if np.array_equal(planned.vertices_mm, marked.mesh.vertices_mm.astype("<f4")):
            figures = {**planned.attributes, **figures}
    return _mesh(mesh_bytes(marked.mesh, figures))


@api.get("/pieces", response_model=ShownPiecesEntry)
def pieces(folder: Opened, part: str) -> Response:
    """The pieces of the mould and how far each moves when it is taken apart."""
    return _json(folder, part, PIECES_FILE)


@api.get("/pieces/{piece}/mesh", response_class=Response, responses=MESH_ANSWER)
def piece_mesh(folder: Opened, part: str, piece: str) -> Response:
    """One piece where it sits in the mould: the part's coordinates times the allowance."""
    listed = json.loads(_shown(folder, part, PIECES_FILE).read_text(encoding="utf-8"))["pieces"]
    keys = [str(one["key"]) for one in listed]
    if piece not in keys:
        raise NotThere(f"the mould has no piece {piece[:80]!r}", remedy=f"there are: {', '.join(keys)}")
    return _mesh(_shown(folder, part, f"{piece}.mesh").read_bytes())


@api.get("/marks3d", response_model=Marks3dEntry)
def marks3d(folder: Opened, part: str) -> Response:
    """Seam, gate, vents, pockets and undercuts with their numbers and reasons; draw and pour directions ranked."""
    return _json(folder, part, MARKS_FILE)


@api.post("/fill-try")
def fill_try(folder: Opened, part: str, wish: FillTryWish, parts: Parts) -> FillTryEntry:
    """The air that stays with these openings, worked out now."""
    marked = parts.marked(folder.part(part))
    fill = find_pockets(
        marked,
        up=np.array(wish.up or _planned_up(folder, part)),
        gate_mm=None if wish.gate_mm is None else np.array(wish.gate_mm),
        vents_mm=tuple(np.array(vent) for vent in wish.vents_mm),
        resolution=RESOLUTION,
    )
    return fill_try_entry(fill, wet_levels_mm(marked, fill))


def fill_try_entry(fill: Fill, wet_mm: FloatArray) -> FillTryEntry:
    """A fill with given openings, and the levels at which faces are wetted."""
    return FillTryEntry(
        up=vector(fill.up),
        gate_mm=place(fill.gate_mm),
        vents_mm=[place(vent) for vent in fill.vents_mm],
        trapped_mm3=fill.trapped_mm3,
        trapped_show_mm3=fill.trapped_show_mm3,
        unfilled_mm3=fill.unfilled_mm3,
        unresolved=fill.unresolved,
        unresolved_mm3=fill.unresolved_mm3,
        pitch_mm=fill.pitch_mm,
        pockets=[
            PocketEntry(
                volume_mm3=pocket.volume_mm3,
                top_mm=place(pocket.top_mm),
                seals_at_mm=pocket.seals_at_mm,
                on_show=pocket.on_show,
            )
            for pocket in fill.pockets
        ],
        wet_mm=[round(level, 3) if np.isfinite(level) else None for level in wet_mm.tolist()],
        findings=finding_entries(fill.findings),
    )


def _planned_up(folder: JobFolder, part: str) -> tuple[float, float, float]:
    """The way up that the plan takes.

    Raises
    ------
    BadRequest
        If it was not planned, or is poured into an open back.
    """
    marks = _home(folder, part) / MARKS_FILE
    up = json.loads(marks.read_text(encoding="utf-8"))["up"] if marks.is_file() else None
    if up is None:
        raise BadRequest("no way up is known for this part", remedy="say which way is up, or plan the job first")
    return (float(up[0]), float(up[1]), float(up[2]))


def _home(folder: JobFolder, part: str) -> Path:
    """Where what is shown of a part lies; its key is one of the job's, so the path stays in the folder."""
    parts = keyed_parts(folder.read())
    if part not in parts:
        raise NotThere(f"the job has no part {part[:80]!r}", remedy=f"there are: {', '.join(parts)}")
    return folder.path / SHOWN / part


def _shown(folder: JobFolder, part: str, name: str) -> Path:
    file = _home(folder, part) / name
    if not file.is_file():
        raise NotThere("this part was not planned yet", remedy="plan the job")
    return file


def _json(folder: JobFolder, part: str, name: str) -> Response:
    return Response(_shown(folder, part, name).read_bytes(), media_type="application/json")


def _mesh(content: bytes) -> Response:
    return Response(content, media_type=MEDIA_TYPE)
