"""One basin for several gates: a trough in the back of the mould along all their mouths, so that one pour fills all.

It is left by a runner: a bar with the rods of the gates, which hangs in the wet silicone and is pulled out with them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import manifold3d
import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import minimum_spanning_tree

from firstpour.fill.values import Channel, ChannelUse, MadeAs
from firstpour.mould.box import prism
from firstpour.mould.channels import channel_solid
from firstpour.mould.settings import MouldSettings
from firstpour.parting.block import Block
from firstpour.units import MM3_PER_ML
from firstpour.values import FloatArray

DEEP_MM, OF_WALL = 6.0, 0.5
"""How deep a basin is, and at most this share of the silicone above the part (our own choice, decision 0075)."""
LEAST_WIDE_MM = 8.0
"""Into a narrower one nobody pours from a cup (our own choice)."""
GRIP_MM = 6.0
"""How far the bar of the runner stands out of the wet silicone at least."""
NEAR_MM = 0.01
"""A channel that ends no further than this within the block comes out of it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basin:
    """The trough in the frame of the draw: its plan, its floor and the face of the block that it is open to."""

    plan: shapely.Polygon
    floor_mm: float
    face_mm: float
    wide_mm: float
    gates: int

    @property
    def upwards(self) -> bool:
        """Whether it is open along the draw, not against it."""
        return self.face_mm > self.floor_mm

    @property
    def deep_mm(self) -> float:
        return abs(self.face_mm - self.floor_mm)

    @property
    def volume_ml(self) -> float:
        """What it holds when it is full."""
        return float(self.plan.area) * self.deep_mm / MM3_PER_ML

    def solid(self, *, above_mm: float = 0.0) -> manifold3d.Manifold:
        """The trough, and as much above the face of the block."""
        ends = sorted((self.floor_mm, self.face_mm + (above_mm if self.upwards else -above_mm)))
        return prism(self.plan, low_mm=ends[0], high_mm=ends[1])

    def runner(self, gates: Sequence[Channel]) -> manifold3d.Manifold:
        """The bar with the rods of all gates; its back is flat, for it is printed standing on that."""
        rods = manifold3d.Manifold.batch_boolean([channel_solid(one) for one in gates], manifold3d.OpType.Add)
        low_mm, high_mm = rods.bounding_box()[2], rods.bounding_box()[5]
        out_mm = float(high_mm - self.face_mm if self.upwards else self.face_mm - low_mm)
        return rods + self.solid(above_mm=max(GRIP_MM, out_mm))


def gates_of(channels: Sequence[Channel]) -> list[Channel]:
    """The gates among the channels."""
    return [one for one in channels if one.use is ChannelUse.GATE]


def basin_of(channels: Sequence[Channel], block: Block, settings: MouldSettings) -> Basin | str:
    """The basin over all gates, or why there is none. Channels lead out to the block, both in the frame of the draw.

    The mouths are joined by the shortest tree of straight troughs that keep the least wall to every vent.
    """
    gates = gates_of(channels)
    ends = np.array([one.path_mm[-1] for one in gates])
    if any(one.made_as is not MadeAs.LOOSE_ROD for one in gates):
        return "the gates do not leave straight along the draw, through one half alone"
    up = float(ends[0, 2] - gates[0].path_mm[0, 2]) > 0.0
    face_mm = float((block.high_mm if up else block.low_mm)[2])
    if not all(_leaves_by(one, face_mm, up=up) for one in gates):
        return "the gates do not all leave by one face of the block"
    wide_mm = max(LEAST_WIDE_MM, 2.0 * max(one.radius_end_mm for one in gates))
    vents = [
        shapely.Point(one.path_mm[-1, :2]).buffer(one.radius_end_mm + settings.parting.least_silicone_mm)
        for one in channels
        if one.use is not ChannelUse.GATE and _leaves_by(one, face_mm, up=up)
    ]
    plan = _joined(ends[:, :2], half_mm=0.5 * wide_mm, clear_of=vents)
    if plan is None:
        return "vents come up between the gates"
    deep_mm = min(DEEP_MM, OF_WALL * settings.wall_mm)
    floor_mm = face_mm - deep_mm if up else face_mm + deep_mm
    return Basin(plan=plan, floor_mm=floor_mm, face_mm=face_mm, wide_mm=wide_mm, gates=len(gates))


def _leaves_by(channel: Channel, face_mm: float, *, up: bool) -> bool:
    """Whether the channel comes out of the block there."""
    over_mm = float(channel.path_mm[-1, 2]) - face_mm
    return (over_mm if up else -over_mm) >= -NEAR_MM


def _joined(places: FloatArray, *, half_mm: float, clear_of: list[shapely.Polygon]) -> shapely.Polygon | None:
    """All places (n, 2) joined by straight troughs that touch none of these; None where they cannot be."""
    ways: list[tuple[int, int, shapely.Polygon]] = []
    for a, b in combinations(range(len(places)), 2):
        trough = shapely.LineString(places[[a, b]]).buffer(half_mm, quad_segs=8)
        if not any(trough.intersects(one) for one in clear_of):
            ways.append((a, b, trough))
    lengths = [float(np.linalg.norm(places[a] - places[b])) for a, b, _ in ways]
    rows, columns = [a for a, _, _ in ways], [b for _, b, _ in ways]
    tree = minimum_spanning_tree(coo_matrix((lengths, (rows, columns)), shape=(len(places), len(places)))).tocoo()
    if tree.nnz < len(places) - 1:
        return None
    kept = set(zip(tree.row.tolist(), tree.col.tolist(), strict=True))
    whole = shapely.union_all([trough for a, b, trough in ways if (a, b) in kept])
    return whole if isinstance(whole, shapely.Polygon) else None
