"""Write what was planned: pieces, pictures, the order of work and plan.json."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from firstpour.cavities.table import best_row
from firstpour.files.cavity_entries import cavity_entries
from firstpour.files.entry import finding_entries, vector, way
from firstpour.files.fill_entries import flow_entry, planned_fill_entry
from firstpour.files.insert_entries import insert_entries
from firstpour.files.learned_entries import learned_entry
from firstpour.files.material_entries import SupplyEntry, part_choice_entry, stock_line_entry
from firstpour.files.member_entries import MemberEntry
from firstpour.files.pieces import ALL_IN_ONE, WrittenPiece, file_stems, write_pieces
from firstpour.files.plan_json import (
    DirectionsEntry,
    ElapsedEntry,
    JobEntry,
    PartEntry,
    PlanEntry,
    TotalsEntry,
    draw_entry,
    measure_entry,
    mould_entry,
    write_plan,
)
from firstpour.files.pour_entries import pour_entry
from firstpour.files.print_entries import allowance_entry, master_entry, piece_print_entry, surface_entry
from firstpour.files.results import PLAN_FILE
from firstpour.files.taken_entries import PrintedPartEntry, taken_entry
from firstpour.mould.bed import printed
from firstpour.mould.values import Role
from firstpour.pictures.fill_around import Around
from firstpour.pictures.fill_picture import save_fill
from firstpour.pictures.master_picture import master_picture
from firstpour.pictures.mould_picture import mould_picture, pieces_picture
from firstpour.pictures.part_picture import part_picture
from firstpour.pictures.sheet import save_png
from firstpour.plan.crew import Crew
from firstpour.plan.elapsed import elapsed_of
from firstpour.plan.kept import Kept, open_kept, stage_name
from firstpour.plan.laid import LaidMember
from firstpour.plan.values import PartPlan, Plan, Progress
from firstpour.results.order import Order, order_files
from firstpour.results.write_printed import write_printed
from firstpour.schedule.entries import schedule_entry
from firstpour.schedule.make import JobSchedule
from firstpour.sheets.pdf import PLAN_PDF
from firstpour.values import mesh_volume_mm3, scaled

SHOWN_DIRECTIONS = 5
STEPS_BEFORE = 2
"""Steps of each part that came before it is written."""


def write_results(
    plan: Plan, order: Order, folder: Path, *, today: date | None, progress: Progress, crew: Crew, kept: Path | None
) -> PlanEntry:
    """Write pieces, pictures, the order of work and plan.json, which names plan.pdf too, into the empty `folder`.

    Raises
    ------
    MouldFailed
        If a piece does not survive being written and read back.
    """
    asked = len(plan.job.parts)
    done, total = STEPS_BEFORE * asked, (STEPS_BEFORE + 1) * asked
    names = [one.request.name for one in plan.parts]
    stems = file_stems([*names, *(one.request.name for one in plan.printed)])
    store = open_kept(kept)
    saved: dict[int, SavedPart] = {}
    jobs = []
    for number, (one, stem) in enumerate(zip(plan.parts, stems[: len(names)], strict=True)):
        name = stage_name("files", stem, one.request.name, one.worked_name)
        found: KeptFiles | None = store.get(name)
        if found is None:
            jobs.append((number, (replace(one, choice=None), folder, stem, name, kept)))
            continue
        saved[number] = _put_back(found, folder)
        done += 1
    for k, made in crew.run(save_part, [job for _, job in jobs]):
        number = jobs[k][0]
        saved[number] = made
        done += 1
        progress(done, total, f"{plan.parts[number].request.name}: pieces and pictures written")
    progress(total, total, "done")
    entries = [_part_entry(one, saved[number]) for number, one in enumerate(plan.parts)]
    left = zip(plan.printed, stems[len(names) :], strict=True)
    copies = [write_printed(one, folder, stem) for one, stem in left]
    if order.made is not None and today is not None:
        (folder / "pictures").mkdir(exist_ok=True)
        for name, content in _order_files(order.made, plan.job.name, today, store).items():
            (folder / name).write_bytes(content)
    written = (file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())
    entry = _plan_entry(plan, order, entries, copies, files=[*sorted(written), PLAN_PDF, PLAN_FILE])
    write_plan(folder, entry)
    return entry


def _order_files(made: JobSchedule, name: str, today: date, store: Kept) -> Mapping[str, bytes]:
    """Calendar and chart, as kept from before where nothing of them changed."""
    kept_as = stage_name("order-files", made.tasks, made.due, made.hours, name, today)
    found: Mapping[str, bytes] | None = store.get(kept_as)
    if found is None:
        found = order_files(made, name=name, today=today)
        store.put(kept_as, found)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedPart:
    """The files of one part, relative to the folder of the results."""

    pieces: tuple[WrittenPiece, ...]
    print_file: str | None
    pictures: tuple[str, ...]


KeptFiles = tuple[SavedPart, dict[str, bytes]]
"""What was saved of a part, and the content of its files."""


def _put_back(found: KeptFiles, folder: Path) -> SavedPart:
    """Write files kept from before into the folder, which is settled as a whole when all of the plan is in it."""
    saved, contents = found
    for file, content in contents.items():
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_bytes(content)
    return saved


def save_part(one: PartPlan, folder: Path, stem: str, name: str, kept: Path | None) -> SavedPart:
    """Write pieces and pictures of a part into the folder, and keep them under the name.

    Raises
    ------
    MouldFailed
        If a piece does not survive being written and read back.
    """
    below = Path("pieces", stem)
    pieces = write_pieces(folder, one.mould.pieces, below=below)
    all_in_one = (below / ALL_IN_ONE).as_posix() if printed(one.mould.pieces) else None
    saved = SavedPart(pieces=pieces, print_file=all_in_one, pictures=tuple(_save_pictures(one, folder, stem)))
    files = [*(piece.file.as_posix() for piece in pieces), *filter(None, [all_in_one]), *saved.pictures]
    open_kept(kept).put(name, (saved, {file: (folder / file).read_bytes() for file in files}))
    return saved


def _part_entry(one: PartPlan, saved: SavedPart) -> PartEntry:
    source = one.request.file
    sizes = {piece.name: piece.size_mm for piece in saved.pieces}
    return PartEntry(
        name=one.request.name,
        source=None if source is None else source.name,
        copies=one.request.copies,
        measure=measure_entry(one.measures),
        draw=DirectionsEntry(directions=[draw_entry(draw) for draw in one.draws]),
        chosen_draw=draw_entry(one.mould.draw),
        fill=None if one.fill is None else planned_fill_entry(one.fill.plan, one.fill.pours),
        flow=None if one.flow is None else flow_entry(one.flow),
        mould=mould_entry(one.mould, saved.pieces, print_file=saved.print_file),
        cavities=cavity_entries(one.cavities, best_row(one.cavities)),
        together=[_member_entry(member) for member in one.members],
        around=one.request.around,
        inserts=insert_entries(one.inserts),
        pours=[pour_entry(pour) for pour in one.pours],
        prints=[
            piece_print_entry(piece.name, piece.plan, size_mm=sizes[piece.name]) for piece in one.printing.pieces
        ],
        surface=surface_entry(
            one.printing.surface,
            printer=one.printing.printer,
            steps=one.printing.steps,
            features=one.printing.features,
        ),
        master=None if one.printing.master is None else master_entry(one.printing.master, keep=SHOWN_DIRECTIONS),
        allowance=allowance_entry(one.printing.allowance),
        elapsed=ElapsedEntry.model_validate(elapsed_of(one)),
        route=None if one.taken is None else taken_entry(one.taken),
        materials=None if one.choice is None else part_choice_entry(one.choice),
        pictures=list(saved.pictures),
    )


def _member_entry(one: LaidMember) -> MemberEntry:
    request = one.member.request
    return MemberEntry(
        name=request.name,
        source=None if request.file is None else request.file.name,
        copies=request.copies,
        a_shot=one.member.count,
        volume_mm3=mesh_volume_mm3(one.part.mesh),
        in_mould=[way(rows) for rows in one.in_mould],
    )


def _save_pictures(one: PartPlan, folder: Path, stem: str) -> list[str]:
    """The draw, the opened mould and the pieces to print, as PNG; the fill as a rising level, too."""
    (folder / "pictures").mkdir(exist_ok=True)
    name, mould = one.part.name, one.mould
    sheets = {
        "draw": part_picture(one.part, mould.draw, seam_mm=[loop / mould.scale for loop in mould.seam_mm]),
        "mould": mould_picture(mould, copy=scaled(one.part.mesh, factor=mould.scale), title=f"{name}: the mould"),
    }
    if printed(mould.pieces):
        sheets["to-print"] = pieces_picture(printed(mould.pieces), title=f"{name}: to print")
    if one.printing.master is not None:
        sheets["master"] = master_picture(one.part, one.printing.master)
    files = [folder / "pictures" / f"{stem}-{what}.png" for what in sheets]
    for file, sheet in zip(files, sheets.values(), strict=True):
        save_png(sheet, file)
    if one.fill is not None:
        silicone = [piece.mesh.vertices_mm for piece in mould.pieces if piece.role is Role.SILICONE]
        around = Around(outside_mm=np.concatenate(silicone) / mould.scale, channels=one.fill.plan.channels)
        place, words = folder / "pictures", f"{name}: the fill"
        files += save_fill(one.fill.plan.vented, place, name=stem, title=words, around=around)
    return [file.relative_to(folder).as_posix() for file in files]


def _plan_entry(
    plan: Plan, order: Order, entries: Sequence[PartEntry], copies: Sequence[PrintedPartEntry], *, files: list[str]
) -> PlanEntry:
    job = plan.job
    return PlanEntry(
        job=JobEntry(name=job.name, due=job.due, printer_mm=vector(job.printer_mm)),
        parts=list(entries),
        printed=list(copies),
        totals=TotalsEntry(
            silicone_ml=sum(one.mould.silicone_ml for one in plan.parts),
            casting_ml=sum(one.mould.casting_ml * one.request.copies for one in plan.parts),
            print_ml=sum(each.plan.estimate.material_ml for one in plan.parts for each in one.printing.pieces)
            + sum(one.prints * one.material_ml for one in copies),
        ),
        to_have=[
            stock_line_entry(line) for line in (*(() if plan.shelf is None else plan.shelf.stock), *plan.prints_stock)
        ],
        to_lay_out=[] if plan.shelf is None else [SupplyEntry.model_validate(one) for one in plan.shelf.supplies],
        schedule=None if order.made is None else schedule_entry(order.made),
        learned=learned_entry(plan.learned),
        findings=finding_entries(order.with_those_of(plan)),
        files=files,
    )
