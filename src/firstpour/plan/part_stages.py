"""One part through its stages: read, draw, fill, mould."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from firstpour.files.job import Job, PartRequest
from firstpour.mould.draw import choose_draw, draw_along, rank_draws
from firstpour.mould.mould import make_mould
from firstpour.mould.settings import MouldSettings
from firstpour.mould.values import Channel, ChannelUse, Draw
from firstpour.part.marks import apply_marks
from firstpour.part.measure import measure_part
from firstpour.part.part import Part
from firstpour.part.read import read_likely_part
from firstpour.part.samples import sample_part
from firstpour.plan.values import STAGES, PartPlan, Progress


def plan_part(request: PartRequest, job: Job, *, done: int, progress: Progress) -> PartPlan:
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
