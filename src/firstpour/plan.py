"""The straight way: from a job to a plan, each stage's result kept as it was."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from firstpour.errors import WorkshopError
from firstpour.files.job import Job, PartRequest
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
from firstpour.files.results import PLAN_FILE, results_folder
from firstpour.mould.bed import printed
from firstpour.mould.draw import choose_draw, draw_along, rank_draws
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Channel, ChannelUse, Draw, Mould
from firstpour.part.marks import apply_marks
from firstpour.part.measure import Measures, measure_part
from firstpour.part.part import Part
from firstpour.part.read import read_likely_part
from firstpour.part.samples import sample_part
from firstpour.pictures.mould_picture import mould_picture, pieces_picture
from firstpour.pictures.part_picture import part_picture
from firstpour.pictures.sheet import save_png
from firstpour.values import Finding, Severity, scaled

Progress = Callable[[int, int, str], None]
"""Told how many steps are done, of how many, and what is being done now."""

STAGES = 3
"""Steps it takes to work a part out: read and measure, draw, mould. Writing it is one more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlan:
    """One part through every stage. `draws` are ranked, the best first; `mould.draw` is the one taken."""

    request: PartRequest
    part: Part
    measures: Measures
    draws: tuple[Draw, ...]
    mould: Mould

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages found, each once, with the name of the part."""
        found = dict.fromkeys((*self.part.findings, *self.measures.findings, *self.mould.findings))
        return tuple(_of_part(finding, self.part.name) for finding in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What was asked and what came of it."""

    job: Job
    parts: tuple[PartPlan, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What all stages of all parts found, the worst first."""
        order = list(Severity)
        found = [finding for part in self.parts for finding in part.findings]
        return tuple(sorted(found, key=lambda finding: -order.index(finding.severity)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedPlan:
    """A plan and what its plan.json says."""

    plan: Plan
    entry: PlanEntry


def make_plan(job: Job, *, progress: Progress) -> Plan:
    """Work out every part of the job.

    Raises
    ------
    WorkshopError
        If a part cannot be used or no valid mould comes out; its problem names the part.
    """
    parts = []
    for number, request in enumerate(job.parts):
        try:
            parts.append(_plan_part(request, job, done=number * STAGES, progress=progress))
        except WorkshopError as error:
            error.problem = error.problem if len(job.parts) == 1 else f"{request.name}: {error.problem}"
            raise
    return Plan(job=job, parts=tuple(parts))


def _plan_part(request: PartRequest, job: Job, *, done: int, progress: Progress) -> PartPlan:
    total = (STAGES + 1) * len(job.parts)
    progress(done, total, f"{request.name}: reading and measuring")
    part = part_of(request)
    measures = measure_part(part)
    progress(done + 1, total, f"{request.name}: draw direction")
    draws = ranked(part, request)
    best = draws[0] if request.draw is not None else choose_draw(part, draws, wall_mm=job.settings.wall_mm)
    progress(done + 2, total, f"{request.name}: mould")
    mould = make_mould(
        part,
        best,
        kind=request.kind,
        settings=job.settings,
        channels=fixed_channels(part, best, request, job.settings),
        printer_mm=job.printer_mm,
    )
    return PartPlan(request=request, part=part, measures=measures, draws=draws, mould=mould)


def part_of(request: PartRequest) -> Part:
    """The part as asked for: read or made, named and marked."""
    if request.sample is not None:
        part = sample_part(request.sample)
    else:
        part = read_likely_part(request.file or Path(), unit=request.unit)
    part = replace(part, name=request.name)
    return apply_marks(part, request.marks) if request.marks else part


def ranked(part: Part, request: PartRequest) -> tuple[Draw, ...]:
    """The draw directions, the best first; the one that the maker fixed alone, if any."""
    if request.draw is not None:
        return (draw_along(part, np.array(request.draw)),)
    return rank_draws(part)


def fixed_channels(
    part: Part, draw: Draw, request: PartRequest, settings: MouldSettings
) -> tuple[Channel, ...] | None:
    """Gates and vents where the maker fixed them, each straight along the draw; None where none is fixed."""
    if not request.gates_mm and not request.vents_mm:
        return None
    top_mm = float((part.mesh.vertices_mm @ draw.direction).max()) + settings.wall_mm + settings.lip_mm
    gates = [(ChannelUse.GATE, at, settings.gate_radius_mm, settings.gate_mouth_radius_mm) for at in request.gates_mm]
    vents = [(ChannelUse.VENT, at, settings.vent_radius_mm, settings.vent_radius_mm) for at in request.vents_mm]
    channels = []
    for use, at, radius_mm, mouth_mm in (*gates, *vents):
        rise_mm = top_mm + mouth_mm + 1.0 - float(np.array(at) @ draw.direction)
        path = np.stack([np.array(at), np.array(at) + rise_mm * draw.direction])
        channels.append(Channel(use=use, path_mm=path, radius_start_mm=radius_mm, radius_end_mm=mouth_mm))
    return tuple(channels)


def _of_part(finding: Finding, name: str) -> Finding:
    return replace(finding, where=name if finding.where is None else f"{name}, {finding.where}")


def plan_into(job: Job, out: Path, *, progress: Progress) -> SavedPlan:
    """Work out the job and write it into `out`: all of it or nothing. The folder is tried before the work begins.

    Raises
    ------
    CannotWrite
        If `out` cannot be written or holds something that is not ours.
    WorkshopError
        As `make_plan`.
    """
    with results_folder(out) as folder:
        plan = make_plan(job, progress=progress)
        return SavedPlan(plan=plan, entry=write_results(plan, folder, progress=progress))


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
        entries.append(_save_part(one, folder, stem))
    progress(total, total, "done")
    written = (file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())
    entry = _plan_entry(plan, entries, files=[*sorted(written), PLAN_FILE])
    write_plan(folder, entry)
    return entry


def _save_part(one: PartPlan, folder: Path, stem: str) -> PartEntry:
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
        findings=finding_entries(plan.findings),
        files=files,
    )
