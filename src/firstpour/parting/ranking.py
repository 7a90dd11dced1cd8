"""Which draw comes before which: what is locked last, then stretch, then seam, silicone and height, then void."""

import math
from collections.abc import Sequence

from firstpour.parting.seam_estimate import seam_trouble_mm
from firstpour.parting.values import DrawOrigin, RankedDraw
from firstpour.units import MM3_PER_ML

STRETCH_BAND_RATIO = 0.1
"""Silicone gives a tenth without notice, and a tenth more or less makes no difference (our own estimate)."""
EASY_BANDS = 3
"""Less than 30 % of stretch, a third of what a soft silicone is allowed, is not saved by opening askew: a tyre is
opened along its axle though the silicone of the tread must give (common practice, no source; our own figure)."""
EASY_RATIO = EASY_BANDS * STRETCH_BAND_RATIO
HOPELESS_BAND = 20
"""From a stretch of 200 % on, twice what a soft silicone is allowed, more or less makes no difference either."""
BORE_WEIGHT = 4.0
"""A mm of seam along the wall of a bore against one elsewhere: flash there is scraped out, and it is not round."""
HEIGHT_WEIGHT = 4.0
"""A mm of height against one of seam: a deep draw has long steep walls, holds air and asks for a tall box."""
SILICONE_WEIGHT = 2.0
"""A mm of side of a cube of the silicone against one of seam."""
ASKEW = 2
"""How a direction stands that only the sweep found: behind the axes of the file, and those behind the part's own."""
ASKEW_RATIO = 1.1
"""A direction that the sweep found counts so many times its trouble: near each axis there is a slanted twin with a
little less of something, and it must save a tenth to be worth a mould that stands askew (our own choice)."""
TROUBLE_BAND_RATIO = 0.1
"""Draws whose trouble differs by less than this share of the part's size count as equal."""


def trouble_mm(draw: RankedDraw) -> float:
    """Seam, height and silicone of a draw in one figure, in mm of seam (our own weights, decision 0021)."""
    seam_mm = seam_trouble_mm(draw.seam_mm, on_show_mm=draw.seam_on_show_mm, rise_mm=draw.seam_rise_mm)
    side_mm: float = (draw.silicone_ml * MM3_PER_ML) ** (1.0 / 3.0)
    return seam_mm + BORE_WEIGHT * draw.bore_seam_mm + HEIGHT_WEIGHT * draw.height_mm + SILICONE_WEIGHT * side_mm


def stretch_band(draw: RankedDraw) -> int:
    """Stretch in tenths, rounded down, up to `HOPELESS_BAND`."""
    return min(int(draw.stretch_ratio / STRETCH_BAND_RATIO + 1e-9), HOPELESS_BAND)


def best_first(draws: Sequence[RankedDraw], *, size_mm: float, noise_mm3: float) -> list[RankedDraw]:
    """The draws of one part in order, the best first.

    Those that free all silicone come first, by stretch; a direction that only the sweep found saves nothing of a
    stretch that is easy along one with a name. Trouble is compared in steps of a tenth of the part's size (`size_mm`)
    from the least of those that stretch alike; of equals a direction with a name comes first, then the one with less
    void (in steps of `noise_mm3`). Where silicone stays in whatever the draw, the mould is cut or has more pieces,
    and a caster does that along an axis: those with a name come first, then those with the fewest loops.
    """
    named = (stretch_band(draw) for draw in draws if _standing(draw) < ASKEW and draw.locked_loops == 0)
    easy = min((band for band in named if band < EASY_BANDS), default=0)
    alike = {id(draw): _alike(draw, easy=easy) for draw in draws}
    least: dict[tuple[bool, int, int], float] = {}
    for draw in draws:
        least[alike[id(draw)]] = min(least.get(alike[id(draw)], math.inf), _whole_mm(draw))

    def key(draw: RankedDraw) -> tuple[bool, int, int, int, int, int, float]:
        same = alike[id(draw)]
        step = int((_whole_mm(draw) - least[same]) / (TROUBLE_BAND_RATIO * size_mm))
        void_steps = round(draw.undercut_mm3 / noise_mm3)
        return (*same, step, _standing(draw), void_steps, round(_whole_mm(draw), 3))

    return sorted(draws, key=key)


def _whole_mm(draw: RankedDraw) -> float:
    return trouble_mm(draw) * (ASKEW_RATIO if _standing(draw) == ASKEW else 1.0)


def _alike(draw: RankedDraw, *, easy: int) -> tuple[bool, int, int]:
    """What comes before all trouble: silicone that does not come out and no name, loops, stretch."""
    band = stretch_band(draw)
    stays_in = draw.locked_loops > 0 or band == HOPELESS_BAND
    return (
        stays_in and _standing(draw) > 0,
        draw.locked_loops,
        max(band, easy) if _standing(draw) == ASKEW else band,
    )


def _standing(draw: RankedDraw) -> int:
    """0 for a direction that the part itself names, 1 for an axis of its file, 2 for one that the sweep found."""
    return {DrawOrigin.AXIS: 1, DrawOrigin.SWEEP: ASKEW}.get(draw.origin, 0)
