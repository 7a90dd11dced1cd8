"""Which draw comes before which: what is locked last, then stretch, then seam, silicone and height, then void."""

from collections.abc import Sequence

from firstpour.parting.seam_estimate import seam_trouble_mm
from firstpour.parting.values import DrawOrigin, RankedDraw
from firstpour.units import MM3_PER_ML

STRETCH_BAND_RATIO = 0.1
"""Silicone gives a tenth without notice, and a tenth more or less makes no difference (our own estimate)."""
HOPELESS_BAND = 20
"""From a stretch of 200 % on, twice what a soft silicone is allowed, more or less makes no difference either."""
BORE_WEIGHT = 4.0
"""A mm of seam along the wall of a bore against one elsewhere: flash there is scraped out, and it is not round."""
HEIGHT_WEIGHT = 4.0
"""A mm of height against one of seam: a deep draw has long steep walls, holds air and asks for a tall box."""
SILICONE_WEIGHT = 2.0
"""A mm of side of a cube of the silicone against one of seam."""
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

    Those that free all silicone come first, by stretch. Trouble is compared in steps of a tenth of the part's size
    (`size_mm`) from the least of those that stretch alike; of equals a direction with a name comes first, then the
    one with less void (in steps of `noise_mm3`). Where silicone stays in whatever the draw, the mould is cut or has
    more pieces, and a caster does that along an axis: those with a name come first, then those with the fewest loops.
    """
    least: dict[tuple[bool, int, int], float] = {}
    for draw in draws:
        alike = _alike(draw)
        least[alike] = min(least.get(alike, trouble_mm(draw)), trouble_mm(draw))

    def key(draw: RankedDraw) -> tuple[bool, int, int, int, int, int, float]:
        step = int((trouble_mm(draw) - least[_alike(draw)]) / (TROUBLE_BAND_RATIO * size_mm))
        void_steps = round(draw.undercut_mm3 / noise_mm3)
        return (*_alike(draw), step, _standing(draw), void_steps, round(trouble_mm(draw), 3))

    return sorted(draws, key=key)


def _alike(draw: RankedDraw) -> tuple[bool, int, int]:
    """What comes before all trouble: silicone that does not come out and no name, loops, stretch."""
    stays_in = draw.locked_loops > 0 or stretch_band(draw) == HOPELESS_BAND
    return (stays_in and _standing(draw) > 0, draw.locked_loops, stretch_band(draw))


def _standing(draw: RankedDraw) -> int:
    """0 for a direction that the part itself names, 1 for an axis of its file, 2 for one that the sweep found."""
    return {DrawOrigin.AXIS: 1, DrawOrigin.SWEEP: 2}.get(draw.origin, 0)
