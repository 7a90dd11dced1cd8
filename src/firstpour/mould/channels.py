"""Gate and vents as round channels, and where they go when nothing better has been worked out."""

from dataclasses import replace
from itertools import pairwise

import manifold3d
import numpy as np
from scipy.ndimage import distance_transform_edt, label

from firstpour.fill.values import Channel, ChannelUse
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block
from firstpour.surface.dexels import Dexels, cut_dexels, top_map_mm
from firstpour.values import FloatArray, Mesh

PEAK_LINES = 128
LEAST_PEAK_MM = 1.0
"""A rise of the top below this is not vented."""
PLATEAU_MM = 0.05
"""Lines this little below a peak belong to the same flat top."""
FACETS = 32
MOST_VENTS = 12


def channel_solid(channel: Channel, *, clearance_mm: float = 0.0) -> manifold3d.Manifold:
    """The channel as a solid, grown by `clearance_mm`: a cone from point to point of its path, its joints round."""
    steps = np.linalg.norm(np.diff(channel.path_mm, axis=0), axis=1)
    share = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    radii = clearance_mm + channel.radius_start_mm + share * (channel.radius_end_mm - channel.radius_start_mm)
    balls = [
        manifold3d.Manifold.sphere(float(radius), FACETS).translate(tuple(float(value) for value in point))
        for radius, point in zip(radii, channel.path_mm, strict=True)
    ]
    pipes = [manifold3d.Manifold.batch_hull([a, b]) for a, b in pairwise(balls)]
    return manifold3d.Manifold.batch_boolean(pipes, manifold3d.OpType.Add)


def straight_up(use: ChannelUse, point_mm: FloatArray, block: Block, settings: MouldSettings) -> Channel:
    """A channel from `point_mm` (3,) on the part straight up and out of the block."""
    radius_mm = settings.gate_radius_mm if use is ChannelUse.GATE else settings.vent_radius_mm
    mouth_mm = settings.gate_mouth_radius_mm if use is ChannelUse.GATE else radius_mm
    top = np.array([point_mm[0], point_mm[1], block.high_mm[2] + mouth_mm + 1.0])
    return Channel(use=use, path_mm=np.stack([point_mm, top]), radius_start_mm=radius_mm, radius_end_mm=mouth_mm)


def led_out(channel: Channel, block: Block) -> Channel:
    """The channel, its last stretch drawn on until its mouth lies outside the block."""
    path = channel.path_mm
    last = path[-1] - path[-2]
    along = last / np.linalg.norm(last)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        ways = np.where(along > 0, (block.high_mm - path[-1]) / along, (block.low_mm - path[-1]) / along)
    way = float(np.nanmin(np.where(np.isfinite(ways), ways, np.inf))) + channel.radius_end_mm + 1.0
    if way <= 0.0:
        return channel
    return replace(channel, path_mm=np.concatenate([path[:-1], [path[-1] + way * along]]))


def default_channels(mesh: Mesh, block: Block, settings: MouldSettings) -> tuple[Channel, ...]:
    """A gate at the highest place of the part and a vent at every other peak of its top, in the frame of the draw.

    This is for pouring with the draw upright. It sees the part from above only; the fill stage does better.
    """
    peaks = top_peaks_mm(cut_dexels(mesh, np.array([0.0, 0.0, 1.0]), resolution=PEAK_LINES, margin=1))
    uses = [ChannelUse.GATE] + [ChannelUse.VENT] * (len(peaks) - 1)
    return tuple(
        straight_up(use, peak, block, settings) for use, peak in zip(uses, peaks[: MOST_VENTS + 1], strict=False)
    )


def top_peaks_mm(dexels: Dexels) -> FloatArray:
    """Peaks of the top of the part (k, 3) in the frame, highest first, that rise `LEAST_PEAK_MM` above their saddle.

    Lines are taken from high to low and joined with those around them; where two peaks meet, the lower one's rise
    above that place is its prominence.
    """
    top = top_map_mm(dexels)
    flat = top.ravel()
    order = np.argsort(-flat, kind="stable")
    order = order[np.isfinite(flat[order])]
    rank = np.empty(flat.size, np.int64)
    rank[order] = np.arange(len(order))
    parent = np.full(flat.size, -1)
    summit = np.zeros(flat.size, np.int64)
    kept = [int(order[0])] if len(order) else []

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = int(parent[n])
        return n

    for n in order.tolist():
        around = {root(m) for m in _around(n, dexels) if parent[m] >= 0}
        if not around:
            parent[n], summit[n] = n, n
            continue
        main = min(around, key=lambda r: rank[summit[r]])
        for other in around - {main}:
            if flat[summit[other]] - flat[n] >= LEAST_PEAK_MM:
                kept.append(int(summit[other]))
            parent[other] = main
        parent[n] = main
    kept = [_middle_of_plateau(top, n) for n in sorted(kept, key=lambda n: -flat[n])]
    pixels = np.array([[n % dexels.nx, n // dexels.nx] for n in kept], dtype=np.float64).reshape(-1, 2)
    return np.column_stack([dexels.origin_mm + pixels * dexels.pitch_mm, flat[kept]])


def _middle_of_plateau(top: FloatArray, n: int) -> int:
    """Number of the line farthest inside the plateau around line n: a gate on a flat top goes to its middle."""
    height = top.ravel()[n]
    labels, _ = label(top >= height - PLATEAU_MM)
    plateau = labels == labels.ravel()[n]
    return int(np.argmax(distance_transform_edt(plateau)))


def _around(n: int, dexels: Dexels) -> list[int]:
    """The eight lines around line n; the grid has an empty margin, so none lies outside it."""
    return [n + dy * dexels.nx + dx for dy in (-1, 0, 1) for dx in (-1, 0, 1) if dx or dy]
