"""The footprint of one cavity: its true silhouette along the draw, and where its gate and vents leave."""

from collections.abc import Sequence

import numpy as np
import shapely
import shapely.affinity

from firstpour.cavities.values import Footprint, Place
from firstpour.fill.values import Channel
from firstpour.mould.channels import led_out, moved_channel
from firstpour.parting.parting import Parting
from firstpour.parting.sheet import footprint
from firstpour.surface.solids import to_solid
from firstpour.values import FloatArray

FAR_MM = 500.0
"""As long as any mould: a channel runs so far before it is out."""
UPRIGHT = 1e-3
"""A channel whose last stretch runs along the draw but for this share leaves through the top, not by a side."""


def footprint_of(one: Parting, channels: Sequence[Channel], *, up: FloatArray | None) -> Footprint:
    """The footprint of the one cavity of a parting; its `channels` and `up` are in the part's coordinates.

    It may be turned by half where the pour does not care: `up` along the draw, or None for an open-face mould.
    """
    outline = footprint(np.asarray(ring) for ring in to_solid(one.mesh).project().to_polygons())
    turns = up is None or abs(abs(float(up @ one.frame[2])) - 1.0) < 1e-6
    own = [moved_channel(channel, one.frame) for channel in channels]
    far = [_way_mm(channel, FAR_MM) for channel in own]
    near = [_way_mm(led_out(channel, one.block), 0.0) for channel in own]
    rows = [
        shapely.union_all(
            [a if _leaves_along(channel, axis) else b for channel, a, b in zip(own, far, near, strict=True)]
        )
        for axis in (0, 1)
    ]
    return Footprint(part=outline, ways=shapely.union_all(far), row_ways=(rows[0], rows[1]), turns=turns)


def _leaves_along(channel: Channel, axis: int) -> bool:
    """Whether a channel leaves by the sides across that axis, through a neighbour in a row along it."""
    last = np.abs(channel.path_mm[-1] - channel.path_mm[-2])
    return bool(last[axis] >= last[1 - axis]) and bool(last[:2].max() > UPRIGHT * last[2])


def _way_mm(channel: Channel, far_mm: float) -> shapely.Geometry:
    """What a channel crosses in plan, its last stretch drawn on by `far_mm` where it leaves by a side."""
    last = channel.path_mm[-1] - channel.path_mm[-2]
    plan = channel.path_mm[:, :2]
    if far_mm and np.linalg.norm(last[:2]) > UPRIGHT * np.linalg.norm(last):
        plan = np.vstack([plan, plan[-1] + far_mm * last[:2] / np.linalg.norm(last[:2])])
    radius_mm = max(channel.radius_start_mm, channel.radius_end_mm)
    line = shapely.LineString(plan) if np.ptp(plan, axis=0).max() > 0.0 else shapely.Point(plan[0])
    return line.buffer(radius_mm)


def laid(shape: shapely.Geometry, place: Place, centre_mm: FloatArray) -> shapely.Geometry:
    """A shape of the first cavity as it lies at a place."""
    if place.turn_deg:
        shape = shapely.affinity.rotate(shape, place.turn_deg, origin=tuple(float(value) for value in centre_mm))
    return shapely.affinity.translate(shape, float(place.shift_mm[0]), float(place.shift_mm[1]))


def least_gap_mm(foot: Footprint, places: Sequence[Place], *, ways: shapely.Geometry | None = None) -> float:
    """The least distance between any two silhouettes, or a silhouette and another's channel; ∞ for one cavity.

    `ways`: where the channels run, as far as any mould is long where that is not given.
    """
    parts = [laid(foot.part, place, foot.centre_mm) for place in places]
    out = foot.ways if ways is None else ways
    ways_out = [laid(out, place, foot.centre_mm) for place in places]
    gaps = [
        one.distance(other)
        for k, part in enumerate(parts)
        for n in range(len(parts))
        if n != k
        for one, other in ((part, parts[n]), (part, ways_out[n]))
        if not other.is_empty
    ]
    return float(min(gaps, default=np.inf))
