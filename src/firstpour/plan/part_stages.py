"""One part through its stages: read, draw, fill, mould, master."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from firstpour.job.job import Job, PartRequest
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldMaterials
from firstpour.part.marks import apply_marks
from firstpour.part.measure import measure_part
from firstpour.part.part import Part
from firstpour.part.read import read_likely_part
from firstpour.parting.draw import choose_draw, draw_along, rank_draws
from firstpour.parting.parting import lay_parting
from firstpour.parting.values import Draw
from firstpour.plan.filling import plan_fill, wedge_piece
from firstpour.plan.mastering import plan_master, stood_as_chosen
from firstpour.plan.values import STAGES, PartPlan, Progress
from firstpour.samples.samples import sample_part


def plan_part(request: PartRequest, job: Job, *, done: int, progress: Progress) -> PartPlan:
    """Work one part out; `done` steps of the whole job came before it.

    Raises
    ------
    WorkshopError
        If the part cannot be used or no valid mould comes out.
    """
    total = (STAGES + 1) * len(job.parts)
    settings = job.settings
    progress(done, total, f"{request.name}: reading and measuring")
    part = part_of(request)
    measures = measure_part(part)
    progress(done + 1, total, f"{request.name}: draw direction")
    draws = ranked(part, request)
    best = draws[0] if request.draw is not None else choose_draw(part, draws, wall_mm=settings.wall_mm)
    progress(done + 2, total, f"{request.name}: fill")
    parting = lay_parting(part, best, kind=request.kind, sizes=settings.parting)
    fill = plan_fill(part, parting, request, settings)
    progress(done + 3, total, f"{request.name}: mould")
    channels = () if fill is None else fill.channels
    materials = materials_of(request)
    mould = make_mould(parting, settings=settings, materials=materials, channels=channels, printer_mm=job.printer_mm)
    foot = wedge_piece(fill, mould)
    if foot is not None:
        mould = replace(mould, pieces=(*mould.pieces, foot))
    progress(done + 4, total, f"{request.name}: master")
    master = plan_master(part, parting, request, materials, printer_mm=job.printer_mm)
    return PartPlan(
        request=request,
        part=part,
        measures=measures,
        draws=draws,
        fill=fill,
        mould=stood_as_chosen(mould, master),
        master=master,
    )


def materials_of(request: PartRequest) -> MouldMaterials:
    """What the mould must know of its materials: what the part gives, else what is typical."""
    own = {
        "silicone_shrinkage_ratio": request.silicone_shrinkage_ratio,
        "casting_shrinkage_ratio": request.casting_shrinkage_ratio,
    }
    return MouldMaterials(**{name: value for name, value in own.items() if value is not None})


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
