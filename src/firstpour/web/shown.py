"""What the viewer shows of a planned part: its mesh with figures a face, the pieces, and what is drawn on it."""

import shutil
from collections.abc import Mapping, Set
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstpour.files.entry import place, vector
from firstpour.files.fill_entries import pour_direction_entry
from firstpour.files.pieces import file_stems
from firstpour.files.plan_json import PartEntry
from firstpour.fill.values import Channel
from firstpour.fill.wetting import wet_levels_mm
from firstpour.mould.bed import printed
from firstpour.mould.values import Mould
from firstpour.parting.values import Draw, Reach
from firstpour.pictures.colours import PAPER, rgb_of
from firstpour.pictures.mould_picture import Placed, moved_apart
from firstpour.plan.filling import WEDGE_FOOT
from firstpour.plan.values import PartPlan, Plan
from firstpour.printing.layer_steps import face_steps_mm
from firstpour.results import SavedPlan
from firstpour.values import FloatArray, Mesh, face_normals, mesh_bounds_mm, scaled
from firstpour.web.clock_entries import AllPouredEntry, poured_entries
from firstpour.web.job_folders import keyed_parts
from firstpour.web.meshes import mesh_bytes
from firstpour.web.shown_entries import (
    Marks3dEntry,
    ShownChannelEntry,
    ShownPieceEntry,
    ShownPiecesEntry,
    ShownPocketEntry,
    ShownUndercutEntry,
)
from firstpour.writing.beside import partial_folder
from firstpour.writing.whole import Over, write_whole

PART_MESH, PIECES_FILE, MARKS_FILE, NAME_FILE = "part.mesh", "pieces.json", "marks3d.json", "name"
POURED_FILE = "poured.json"
COPY = "copy"


def write_shown(saved: SavedPlan, folder: Path) -> None:
    """Write what is shown of each part below `folder`, a folder of its own by the part's key, each whole."""
    folder.mkdir(exist_ok=True)
    keys = {part.name: key for key, part in keyed_parts(saved.plan.job).items()}
    for one, entry in zip(saved.plan.parts, saved.entry.parts, strict=True):
        _write_part(one, entry, folder / keys[one.request.name])
    _clear_others(folder, {keys[one.request.name] for one in saved.plan.parts})
    write_whole(folder / POURED_FILE, shown_pours(saved.plan).model_dump_json().encode(), over=Over.ANYTHING)


def _clear_others(folder: Path, cast: Set[str]) -> None:
    """Take away what was shown of parts that have no mould any more."""
    for home in folder.iterdir():
        if home.is_dir() and home.name not in cast:
            shutil.rmtree(home, ignore_errors=True)


def shown_pours(plan: Plan) -> AllPouredEntry:
    """What is poured for each part, to look at it in another room."""
    choices = [(one.request.name, one.choice) for one in plan.parts if one.choice is not None]
    return AllPouredEntry(
        pours=[
            entry
            for name, choice in choices
            for entry in poured_entries(name, [("silicone", choice.silicone), ("casting", choice.casting)])
        ]
    )


def _write_part(one: PartPlan, entry: PartEntry, home: Path) -> None:
    """Meshes are written anew only where the mould changed; what is drawn on them always."""
    if _name_in(home) != one.worked_name:
        with partial_folder(home) as partial:
            pieces = shown_pieces(one.mould, one.part.mesh, entry)
            keys = {piece.name: piece.key for piece in pieces.pieces}
            (partial / PART_MESH).write_bytes(mesh_bytes(one.part.mesh, face_figures(one)))
            for piece in one.mould.pieces:
                (partial / f"{keys[piece.name]}.mesh").write_bytes(mesh_bytes(piece.mesh, {}))
            (partial / PIECES_FILE).write_text(pieces.model_dump_json(), encoding="utf-8")
            (partial / NAME_FILE).write_text(one.worked_name, encoding="utf-8")
            _put_in_place(partial, home)
    write_whole(home / MARKS_FILE, shown_marks(one, entry).model_dump_json().encode(), over=Over.ANYTHING)


def _put_in_place(partial: Path, home: Path) -> None:
    """The new folder in place of the old one, which is ours by its place."""
    shutil.rmtree(home, ignore_errors=True)
    partial.rename(home)


def _name_in(home: Path) -> str | None:
    try:
        return (home / NAME_FILE).read_text(encoding="utf-8")
    except OSError:
        return None


def face_figures(one: PartPlan) -> dict[str, NDArray[np.floating]]:
    """Figures (m,) of the part's faces by name.

    `mark`: the face's marks, a sum of 1 show, 2 hidden, 4 keep clear. `draft_deg`: angle to the draw, above 0 where
    the face comes free, below 0 where it is held. `reach`: 0 both sides, 1 above, 2 below, 3 neither. `undercut_mm`:
    how far silicone must give way there; infinite where it cannot. `step_mm`: the layers' step on the print.
    `wet_mm`: level along the cast's `up` at which the face is wetted with the vents, infinite where air stays;
    `wet_gate_mm`: with the gate alone.
    """
    part, draw = one.part, one.mould.draw
    surface = one.printing.surface
    figures: dict[str, NDArray[np.floating]] = {
        "mark": part.marks.astype(np.float64),
        "draft_deg": draft_deg(part.mesh, draw),
        "reach": draw.reach.astype(np.float64),
        "undercut_mm": undercut_mm(len(part.mesh.faces), draw),
        "step_mm": face_steps_mm(
            part.mesh, surface.direction, printer=one.printing.printer, layer_mm=surface.layer_mm
        ),
    }
    if one.fill is not None:
        figures["wet_mm"] = wet_levels_mm(part, one.fill.plan.vented)
        figures["wet_gate_mm"] = wet_levels_mm(part, one.fill.plan.gate_alone)
    return figures


def draft_deg(mesh: Mesh, draw: Draw) -> FloatArray:
    """Angle (m,) between each face and the draw, degrees: 0 upright, 90 level, below 0 where it is undercut."""
    direction = draw.direction / np.linalg.norm(draw.direction)
    angles: FloatArray = np.degrees(np.arcsin(np.clip(np.abs(face_normals(mesh) @ direction), 0.0, 1.0)))
    return np.where(draw.reach == int(Reach.NEITHER), -angles, angles)


def undercut_mm(faces: int, draw: Draw) -> FloatArray:
    """How far silicone must give way at each face (m,): the most of the undercuts that it bounds."""
    depths = np.zeros(faces)
    for region in draw.regions:
        depth = np.inf if region.depth_mm is None else region.depth_mm
        depths[region.faces] = np.maximum(depths[region.faces], depth)
    return depths


def shown_pieces(mould: Mould, mesh: Mesh, entry: PartEntry) -> ShownPiecesEntry:
    """The pieces with how far each moves when the mould is taken apart along the draw, the copy in its place."""
    shifts = shifts_mm(mould, mesh)
    files = {piece.name: piece.file for piece in entry.mould.pieces}
    to_print = {piece.name for piece in printed(mould.pieces)}
    keys = file_stems([piece.name for piece in mould.pieces])
    return ShownPiecesEntry(
        scale=mould.scale,
        pieces=[
            ShownPieceEntry(
                key=key,
                name=piece.name,
                role=piece.role,
                volume_mm3=piece.volume_mm3,
                printed=piece.name in to_print,
                shift_mm=place(shifts[piece.name]),
                below=piece.name == WEDGE_FOOT,
                file=files.get(piece.name),
            )
            for key, piece in zip(keys, mould.pieces, strict=True)
        ],
    )


def shifts_mm(mould: Mould, mesh: Mesh) -> Mapping[str, FloatArray]:
    """How far each piece moves along the draw when the mould is taken apart, by name; the copy stays.

    What stands below the mould, in a frame of its own, has no place in the stack and stays as well.
    """
    paper = rgb_of(PAPER)
    stacked = [piece for piece in mould.pieces if piece.name != WEDGE_FOOT]
    solids = {piece.name: piece.mesh for piece in stacked} | {COPY: scaled(mesh, factor=mould.scale)}
    placed = [Placed(name=name, words="", mesh=one, colour=paper) for name, one in solids.items()]
    direction = mould.draw.direction / np.linalg.norm(mould.draw.direction)
    apart = {one.name: one.mesh.vertices_mm[0] for one in moved_apart(placed, direction=direction)}
    shifts = {name: apart[name] - one.vertices_mm[0] for name, one in solids.items()}
    stays = {piece.name: np.zeros(3) for piece in mould.pieces}
    return stays | {name: shift - shifts[COPY] for name, shift in shifts.items()}


def shown_marks(one: PartPlan, entry: PartEntry) -> Marks3dEntry:
    """What is drawn on the part."""
    mould, fill = one.mould, one.fill
    low, high = mesh_bounds_mm(one.part.mesh)
    levels = None if fill is None else one.part.mesh.vertices_mm @ (fill.up / np.linalg.norm(fill.up))
    return Marks3dEntry(
        part=one.request.name,
        kind=mould.kind,
        scale=mould.scale,
        low_mm=place(low),
        high_mm=place(high),
        draw=entry.chosen_draw,
        draws=entry.draw.directions,
        pours=[] if fill is None else [pour_direction_entry(pour) for pour in fill.pours],
        all_pours=entry.pours,
        seams_mm=[[place(point) for point in loop / mould.scale] for loop in mould.seam_mm],
        up=None if fill is None else vector(fill.up),
        level_from_mm=None if levels is None else float(levels.min()),
        level_to_mm=None if levels is None else float(levels.max()),
        fill=entry.fill,
        channels=[] if fill is None else _channels(fill.plan.channels),
        pockets=_pockets(one, entry),
        undercuts=[
            ShownUndercutEntry(key=f"undercut-{n}", **region.model_dump())
            for n, region in enumerate(entry.chosen_draw.regions or (), start=1)
        ],
    )


def _channels(channels: tuple[Channel, ...]) -> list[ShownChannelEntry]:
    counts: dict[str, int] = {}
    shown = []
    for channel in channels:
        counts[channel.use.value] = counts.get(channel.use.value, 0) + 1
        shown.append(
            ShownChannelEntry(
                key=f"{channel.use.value}-{counts[channel.use.value]}",
                use=channel.use,
                made_as=channel.made_as,
                place=channel.place,
                reason=channel.reason,
                at_mm=place(channel.at_mm),
                path_mm=[place(point) for point in channel.path_mm],
                radius_start_mm=channel.radius_start_mm,
                radius_end_mm=channel.radius_end_mm,
                feet_mm=[place(foot) for foot in channel.feet_mm],
            )
        )
    return shown


def _pockets(one: PartPlan, entry: PartEntry) -> list[ShownPocketEntry]:
    """The pockets with the gate alone, each with what stays of it: pockets with the vents over the same intervals."""
    if one.fill is None or entry.fill is None:
        return []
    left = one.fill.plan.vented.pockets
    shown = []
    alone = one.fill.plan.gate_alone.pockets
    for n, (pocket, told) in enumerate(zip(alone, entry.fill.pockets, strict=True), start=1):
        stays = sum(other.volume_mm3 for other in left if np.isin(other.nodes, pocket.nodes).any())
        shown.append(ShownPocketEntry(key=f"pocket-{n}", vented_mm3=stays, **told.model_dump()))
    return shown
