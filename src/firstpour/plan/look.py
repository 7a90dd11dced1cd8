"""The first look at a part: read or made, measured, its draw direction chosen."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from firstpour.job.job import PartRequest
from firstpour.mould.settings import MouldSettings
from firstpour.part.marks import apply_marks
from firstpour.part.measure import Measures, measure_part
from firstpour.part.part import Part
from firstpour.part.read import read_likely_part
from firstpour.parting.draw import draw_along, rank_draws
from firstpour.parting.flat_back import back_down, flat_backs
from firstpour.parting.parting import choose_kind
from firstpour.parting.ranking import EASY_RATIO
from firstpour.parting.sound_draw import choose_sound_draw
from firstpour.parting.stretch import Give
from firstpour.parting.values import Draw, DrawOrigin, MouldKind, RankedDraw
from firstpour.samples.samples import sample_part


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """A part, its measures, the draw directions, the best first, the one that is taken, and the kind of mould.

    `members`: where it stands for different parts in one mould, each of them.
    """

    part: Part
    measures: Measures
    draws: tuple[RankedDraw, ...]
    draw: Draw
    kind: MouldKind
    members: tuple["Looked", ...] = ()


def look_at(request: PartRequest, settings: MouldSettings) -> Looked:
    """Read, mark and measure the part and choose along which direction its mould opens.

    Raises
    ------
    WorkshopError
        If the part cannot be used.
    """
    part, give = part_of(request), Give(wall_mm=settings.wall_mm)
    if request.draw is not None:
        draw = draw_along(part, np.array(request.draw), give=give)
        draws: tuple[RankedDraw, ...] = (draw,)
    else:
        draws = rank_draws(part, give=give)
        if not _fixes_a_closed_mould(request):
            draws = open_back_first(part, draws, asked=request.kind)
        draw = choose_sound_draw(part, draws, kind=request.kind, give=give, sizes=settings.parting)
        others = (one for one in draws if not np.array_equal(one.direction, draw.direction))
        draws = (draw, *others)  # the row of the draw taken tells its own figures
    kind = request.kind or choose_kind(part, draw.direction)
    return Looked(part=part, measures=measure_part(part), draws=draws, draw=draw, kind=kind)


def _fixes_a_closed_mould(request: PartRequest) -> bool:
    """Whether the job gives what an open-face mould has not: gates, vents, a pour direction, inserts."""
    return bool(request.gates_mm or request.vents_mm or request.up or request.inserts or request.around)


def open_back_first(part: Part, draws: tuple[RankedDraw, ...], *, asked: MouldKind | None) -> tuple[RankedDraw, ...]:
    """The draws, before all others the best with a name along which the part is poured into its open back, if one is.

    An open-face mould takes one pour, half of the silicone and leaves no seam: that is worth a stretch which is easy
    (decision 0021), both between two halves and down to the back. It takes a flat back that is hidden; any flat back,
    whatever the stretch, where the job has `asked` for an open-face mould.
    """
    if asked not in (None, MouldKind.OPEN_FACE):
        return draws
    for n, row in enumerate(draws):
        if row.origin is DrawOrigin.SWEEP or not _has_back(part, row, hidden=asked is None):
            continue
        if n == 0:
            return draws
        if asked is not None or (_is_easy(row) and _is_easy(back_down(part, row))):
            return (row, *draws[:n], *draws[n + 1 :])
    return draws


def _is_easy(row: RankedDraw) -> bool:
    return row.locked_loops == 0 and max(row.stretch_ratio, row.squeeze_ratio) < EASY_RATIO


def _has_back(part: Part, row: RankedDraw, *, hidden: bool) -> bool:
    if hidden:
        return choose_kind(part, row.direction) is MouldKind.OPEN_FACE
    return any(True for _ in flat_backs(part.mesh, row.direction))


def part_of(request: PartRequest) -> Part:
    """The part as asked for: read or made, named and marked."""
    if request.sample is not None:
        part = sample_part(request.sample)
    else:
        part = read_likely_part(request.file or Path(), unit=request.unit)
    part = replace(part, name=request.name)
    return apply_marks(part, request.marks) if request.marks else part
