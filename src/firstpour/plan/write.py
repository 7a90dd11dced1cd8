"""Write what was planned: pieces, pictures and plan.json."""

from collections.abc import Sequence
from pathlib import Path

from firstpour.files.pieces import ALL_IN_ONE, file_stems, write_pieces
from firstpour.files.plan_json import (
    DirectionsEntry,
    JobEntry,
    PartEntry,
    PlanEntry,
    TotalsEntry,
    draw_entry,
    finding_entries,
    measure_entry,
    mould_entry,
    vector,
    write_plan,
)
from firstpour.files.results import PLAN_FILE
from firstpour.mould.bed import printed
from firstpour.pictures.mould_picture import mould_picture, pieces_picture
from firstpour.pictures.part_picture import part_picture
from firstpour.pictures.sheet import save_png
from firstpour.plan.values import STAGES, PartPlan, Plan, Progress
from firstpour.shelf.choice import PartChoice
from firstpour.shelf.tables import part_choice_table, stock_line_table
from firstpour.values import scaled


def write_results(plan: Plan, folder: Path, *, progress: Progress) -> PlanEntry:
    """Write pieces, pictures and plan.json into the empty `folder`.

    Raises
    ------
    MouldFailed
        If a piece does not survive being written and read back.
    """
    worked, total = STAGES * len(plan.parts), (STAGES + 1) * len(plan.parts)
    entries = []
    stems = file_stems([one.part.name for one in plan.parts])
    for number, (one, stem) in enumerate(zip(plan.parts, stems, strict=True)):
        progress(worked + number, total, f"{one.part.name}: writing pieces and pictures")
        entries.append(_save_part(one, plan.choice_of(one.part.name), folder, stem))
    progress(total, total, "done")
    written = (file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())
    entry = _plan_entry(plan, entries, files=[*sorted(written), PLAN_FILE])
    write_plan(folder, entry)
    return entry


def _save_part(one: PartPlan, choice: PartChoice | None, folder: Path, stem: str) -> PartEntry:
    below = Path("pieces", stem)
    pieces = write_pieces(folder, one.mould.pieces, below=below)
    all_in_one = (below / ALL_IN_ONE).as_posix() if printed(one.mould.pieces) else None
    source = one.request.file
    return PartEntry(
        name=one.part.name,
        source=None if source is None else source.name,
        copies=one.request.copies,
        measure=measure_entry(one.measures),
        draw=DirectionsEntry(directions=[draw_entry(draw) for draw in one.draws]),
        chosen_draw=draw_entry(one.mould.draw),
        mould=mould_entry(one.mould, pieces, print_file=all_in_one),
        materials=None if choice is None else part_choice_table(choice),
        pictures=_save_pictures(one, folder, stem),
    )


def _save_pictures(one: PartPlan, folder: Path, stem: str) -> list[str]:
    """The draw, the opened mould and the pieces to print, as PNG."""
    (folder / "pictures").mkdir(exist_ok=True)
    name, mould = one.part.name, one.mould
    sheets = {
        "draw": part_picture(one.part, mould.draw, seam_mm=[loop / mould.scale for loop in mould.seam_mm]),
        "mould": mould_picture(mould, copy=scaled(one.part.mesh, factor=mould.scale), title=f"{name}: the mould"),
    }
    if printed(mould.pieces):
        sheets["to-print"] = pieces_picture(printed(mould.pieces), title=f"{name}: to print")
    for what, sheet in sheets.items():
        save_png(sheet, folder / "pictures" / f"{stem}-{what}.png")
    return [f"pictures/{stem}-{what}.png" for what in sheets]


def _plan_entry(plan: Plan, entries: Sequence[PartEntry], *, files: list[str]) -> PlanEntry:
    job = plan.job
    return PlanEntry(
        job=JobEntry(name=job.name, due=job.due, printer_mm=vector(job.printer_mm)),
        parts=list(entries),
        totals=TotalsEntry(
            silicone_ml=sum(one.mould.silicone_ml for one in plan.parts),
            casting_ml=sum(one.mould.casting_ml * one.request.copies for one in plan.parts),
            print_ml=sum(one.mould.print_ml for one in plan.parts),
        ),
        to_have=[] if plan.shelf is None else [stock_line_table(line) for line in plan.shelf.stock],
        findings=finding_entries(plan.findings),
        files=files,
    )
