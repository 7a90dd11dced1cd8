"""Gate and vents as exact solids, and those that the fill proposes where none were given."""

from dataclasses import replace
from itertools import pairwise

import manifold3d
import numpy as np

from firstpour.fill.channels import ChannelSizes, propose_channels
from firstpour.fill.places import polyline_distance_mm
from firstpour.fill.surface_ways import PartingSurface
from firstpour.fill.values import Channel
from firstpour.mould.settings import MouldSettings
from firstpour.part.part import Part
from firstpour.parting.block import Block
from firstpour.parting.parting import Parting
from firstpour.values import FloatArray, Remembered, frame_along

FACETS = 32
LEAST_DISC_MM = 0.01
STRAIGHT_MM = 0.02
"""Feet of a fan this near to the line between two others are not set apart: far below a layer of a print."""


_SOLIDS: Remembered[Channel, manifold3d.Manifold] = Remembered(2)


def channel_solid(channel: Channel, *, clearance_mm: float = 0.0) -> manifold3d.Manifold:
    """The channel as a solid, grown by `clearance_mm`: cones from point to point of its path, its joints round.

    Its start is flat and lies `sink_mm` inside the part, a radius where that is None; a fan starts at its feet.
    """
    return _SOLIDS.of(channel, clearance_mm, lambda: _channel_solid(channel, clearance_mm))


def _channel_solid(channel: Channel, clearance_mm: float) -> manifold3d.Manifold:
    path = channel.path_mm
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    share = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    radii = clearance_mm + channel.radius_start_mm + share * (channel.radius_end_mm - channel.radius_start_mm)
    fan = len(channel.feet_mm) > 0
    first = _fan_pieces(channel, clearance_mm) if fan else _first_pieces(channel, radii, clearance_mm)
    balls = [_ball(point, float(radius)) for point, radius in zip(path[1:], radii[1:], strict=True)]
    rest = [manifold3d.Manifold.batch_hull([a, b]) for a, b in pairwise(balls)]
    solid = manifold3d.Manifold.batch_boolean([*first, *rest], manifold3d.OpType.Add)
    solid.num_tri()  # joined here and now: else every solid that it is cut from would join it again
    return solid


def _first_pieces(channel: Channel, radii: FloatArray, clearance_mm: float) -> list[manifold3d.Manifold]:
    """From the flat start, `sink_mm` inside the part, to the first joint; nothing of it lies behind that start."""
    along = channel.path_mm[1] - channel.path_mm[0]
    along = along / np.linalg.norm(along)
    sink_mm = channel.radius_start_mm if channel.sink_mm is None else channel.sink_mm
    start = channel.path_mm[0] - (sink_mm + clearance_mm) * along
    disc = manifold3d.Manifold.cylinder(LEAST_DISC_MM, float(radii[0]), float(radii[0]), FACETS)
    disc = disc.transform(np.column_stack([_turn_to(along), start]))
    whole = manifold3d.Manifold.batch_hull([disc, _ball(channel.path_mm[1], float(radii[1]))])
    return [whole.trim_by_plane(tuple(float(v) for v in along), float(start @ along))]


def _fan_pieces(channel: Channel, clearance_mm: float) -> list[manifold3d.Manifold]:
    """From each nearly straight stretch between feet to the neck of the fan, the second point of the path.

    A foot ends flat, `sink_mm` inside the part: a whole ball would come out behind a thin wall.
    """
    radius = channel.foot_radius_mm + clearance_mm
    along = channel.path_mm[1] - channel.path_mm[0]
    along = along / np.linalg.norm(along)
    sink_mm = channel.foot_radius_mm if channel.sink_mm is None else channel.sink_mm
    neck = _ball(channel.path_mm[1], channel.radius_start_mm + clearance_mm)
    feet = [
        _ball(foot, radius).trim_by_plane(
            tuple(float(v) for v in along), float(foot @ along) - sink_mm - clearance_mm
        )
        for foot in channel.feet_mm[bends(channel.feet_mm, within_mm=STRAIGHT_MM)]
    ]
    return [manifold3d.Manifold.batch_hull([a, b, neck]) for a, b in pairwise(feet)]


def bends(line_mm: FloatArray, *, within_mm: float) -> list[int]:
    """Which points of a polyline (k, 3) to keep so that none left out lies more than `within_mm` off what is left.

    >>> bends(np.array([[0.0, 0, 0], [1, 0.01, 0], [2, 0, 0], [3, 1, 0]]), within_mm=0.05)
    [0, 2, 3]
    """
    kept = [0]
    for k in range(2, len(line_mm)):
        between = line_mm[kept[-1] + 1 : k]
        if polyline_distance_mm(between, line_mm[[kept[-1], k]]).max() > within_mm:
            kept.append(k - 1)
    return [*kept, len(line_mm) - 1]


def _ball(point: FloatArray, radius: float) -> manifold3d.Manifold:
    return manifold3d.Manifold.sphere(radius, FACETS).translate(tuple(float(value) for value in point))


def _turn_to(along: FloatArray) -> FloatArray:
    """A rotation (3, 3) that takes +z to the unit `along`."""
    turn: FloatArray = frame_along(along).T
    return turn


def moved_channel(channel: Channel, turn: FloatArray) -> Channel:
    """The channel turned (and scaled) by a matrix (3, 3); its radii are made, not scaled."""
    return replace(channel, path_mm=channel.path_mm @ turn.T, feet_mm=channel.feet_mm @ turn.T)


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


def surface_of(parting: Parting) -> PartingSurface | None:
    """What the fill must know of the parting; None for a block, which is cut open, and an open-face mould."""
    if parting.halves is None:
        return None
    return PartingSurface(
        frame=parting.frame,
        low_mm=parting.block.low_mm,
        high_mm=parting.block.high_mm,
        height_mm=parting.surface_height_mm,
        seam_mm=parting.seam_on_part_mm,
    )


def channel_sizes(settings: MouldSettings) -> ChannelSizes:
    """What the maker set about the channels, as the fill takes it."""
    return ChannelSizes(
        gate_radius_mm=settings.gate_radius_mm,
        vent_radius_mm=settings.vent_radius_mm,
        mouth_ratio=max(1.0, settings.gate_mouth_radius_mm / settings.gate_radius_mm),
        wall_mm=settings.wall_mm,
    )


def default_channels(parting: Parting, settings: MouldSettings) -> tuple[Channel, ...]:
    """What the fill proposes for pouring with the draw upright, in the part's coordinates."""
    mesh = parting.mesh
    part = Part(
        name="part",
        mesh=replace(mesh, vertices_mm=mesh.vertices_mm @ parting.frame),
        marks=np.zeros(len(mesh.faces), np.uint8),
    )
    up = parting.frame[2]
    plan = propose_channels(part, up=up, draw=up, surface=surface_of(parting), sizes=channel_sizes(settings))
    return plan.channels
