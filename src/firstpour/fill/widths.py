"""How wide and how thick the part is where a channel meets it."""

import numpy as np

from firstpour.fill.cavity import Cavity, in_pixels, opening_nodes
from firstpour.fill.spots import nearest_spot
from firstpour.kernels import locate
from firstpour.kernels.passages import run_length
from firstpour.values import FloatArray

LEAST_RADIUS_MM = 0.5
SHARE_OF_WIDTH = 0.4
"""A channel takes at most this share of the part's width for its radius, so that it stays on its face."""
LOOK_BELOW_MM = 1.5
SINK_SHARE = 0.4
"""A channel reaches into the part by at most this share of its thickness there."""
LEAST_SINK_MM = 0.1
"""So deep it reaches in any case, so that the silicone leaves no film across it."""


def widths_below(cavity: Cavity, at_mm: FloatArray, *, below_mm: float) -> tuple[float, float]:
    """Least and most width of the part `below_mm` under a place, mm, of four level chords (a twelfth too much)."""
    d = cavity.dexels
    node = int(opening_nodes(cavity, at_mm[None])[0][0])
    top, bottom = d.z_mm[2 * node + 1], d.z_mm[2 * node]
    level = max(min(top, float(at_mm @ cavity.up)) - below_mm, 0.5 * (top + bottom))
    line, most = cavity.column[node], max(d.nx, d.ny)
    chords = []
    for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
        ways = (run_length(line, s * dx, s * dy, level, d.z_mm, d.nx, d.ny, cavity.start, most) for s in (1, -1))
        chords.append((1 + sum(ways)) * np.hypot(dx, dy) * d.pitch_mm)
    return float(min(chords)), float(max(chords))


def sink_mm(cavity: Cavity, at_mm: FloatArray, *, along: FloatArray, radius_mm: float) -> float:
    """How far a channel that leaves `at_mm` along the unit `along` may reach into the part, at most its radius.

    A share of the part's thickness straight behind it and across its wall, whichever is less.
    """
    normal = nearest_spot(cavity.part, at_mm, up=cavity.up).normal
    ways = [_thickness_mm(cavity, at_mm, -inward, most_mm=radius_mm / SINK_SHARE) for inward in (along, normal)]
    return float(min(radius_mm, max(LEAST_SINK_MM, SINK_SHARE * min(ways))))


def _thickness_mm(cavity: Cavity, at_mm: FloatArray, inward: FloatArray, *, most_mm: float) -> float:
    """Thickness of the part along `inward`, by dexels; infinite where that way does not lead into the part."""
    d = cavity.dexels
    depths = (np.arange(int(np.ceil(most_mm / (0.25 * d.pitch_mm)))) + 1) * 0.25 * d.pitch_mm
    inside = locate.inside_solid(
        in_pixels(cavity, at_mm + depths[:, None] * inward), d.z_mm, cavity.start, d.nx, d.ny
    )
    first = int(np.argmax(inside))
    if not inside.any() or depths[first] > d.pitch_mm:
        return np.inf
    out = np.flatnonzero(~inside[first:])
    return float(depths[first + out[0]]) - 0.5 * d.pitch_mm if len(out) else np.inf


def fitting_radius_mm(cavity: Cavity, at_mm: FloatArray, *, asked_mm: float) -> float:
    """The radius asked for, or less where the part is too narrow for it, mm."""
    least, _ = widths_below(cavity, at_mm, below_mm=LOOK_BELOW_MM)
    return min(asked_mm, max(LEAST_RADIUS_MM, SHARE_OF_WIDTH * least))
