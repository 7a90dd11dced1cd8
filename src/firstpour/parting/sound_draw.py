"""The draw to take: the best along which two halves come apart on a seam through the part's own mesh (decision 0079).

The ranking knows void, stretch and an estimate of the seam; whether a seam is found that outlines the part, and what
it leaves of the silicone beside it, only the laid parting shows.
"""

from collections.abc import Sequence

from firstpour.errors import MouldFailed
from firstpour.part.part import Part
from firstpour.parting.draw import choose_draw
from firstpour.parting.parting import Parting, PartingSizes, choose_kind, lay_parting
from firstpour.parting.stretch import Give
from firstpour.parting.values import Draw, DrawOrigin, MouldKind, RankedDraw

MOST_TRIED = 6
"""Draws beside the best that are tried, so that a look does not take long."""
MOST_FIN_MM2 = 100.0
"""So much silicone thinner than the least wall beside the parting surface is worth another draw (our own choice)."""


def choose_sound_draw(
    part: Part,
    ranked: Sequence[RankedDraw],
    *,
    kind: MouldKind | None = None,
    give: Give | None = None,
    sizes: PartingSizes | None = None,
) -> Draw:
    """The best of the `ranked` draws along which two halves come apart without splinters; the best where none do.

    Tried beside the best: those that the part or its file names, where nothing is locked and the silicone may stretch
    as far. A part that is locked along the best draw is locked along all of these, and a `kind` of one piece needs no
    seam.
    """
    give = give or Give()
    best = choose_draw(part, ranked, give=give)
    kind = kind or choose_kind(part, best.direction)
    if kind not in (MouldKind.TRAYS, MouldKind.BEDDING) or ranked[0].locked_loops > 0:
        return best
    if best.locked_loops == 0 and parts_soundly(part, best, kind=kind, sizes=sizes):
        return best
    others = [row for row in ranked[1:] if _worth_trying(row, give)]
    for row in others[:MOST_TRIED]:
        draw = choose_draw(part, (row,), give=give)
        if _worth_trying(draw, give) and parts_soundly(part, draw, kind=kind, sizes=sizes):
            return draw
    return best


def parts_soundly(part: Part, draw: Draw, *, kind: MouldKind, sizes: PartingSizes | None = None) -> bool:
    """Whether two halves come apart along the draw on a smooth seam, with no splinters beside it."""
    try:
        parting = lay_parting(part, draw, kind=kind, sizes=sizes)
    except MouldFailed:
        return False
    return parting.smooth and not parting.shut and _fin_mm2(parting) <= MOST_FIN_MM2


def _fin_mm2(parting: Parting) -> float:
    fin = None if parting.showing is None else parting.showing.fin
    return 0.0 if fin is None else fin.area_mm2


def _worth_trying(row: RankedDraw, give: Give) -> bool:
    free = row.locked_loops == 0 and row.stretch_ratio <= give.allowed_ratio
    return free and row.origin is not DrawOrigin.SWEEP
