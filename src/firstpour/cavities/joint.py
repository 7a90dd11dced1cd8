"""All cavities of a mould as one part of several bodies, and their channels: what parting and mould then take."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from firstpour.cavities.values import Place
from firstpour.fill.values import Channel, MadeAs
from firstpour.part.part import Part
from firstpour.parting.parting import Parting
from firstpour.parting.values import Draw
from firstpour.values import FloatArray, Mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cavity:
    """One cavity: its part, parted and filled alone, and where it comes to lie.

    `centre_mm` (2,) is the middle about which it is turned, in the frame of its own draw; `lift_mm` is how far it is
    moved along the draw.
    """

    part: Part
    alone: Parting
    channels: tuple[Channel, ...]
    centre_mm: FloatArray
    place: Place
    lift_mm: float = 0.0

    @property
    def turn(self) -> FloatArray:
        """How directions of the part (3,) lie in the mould, its draw upright: the matrix (3, 3)."""
        angle = np.radians(self.place.turn_deg)
        cos, sin = float(np.cos(angle)), float(np.sin(angle))
        about_draw = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
        turn: FloatArray = about_draw @ self.alone.frame
        return turn

    @property
    def way(self) -> FloatArray:
        """Turn and shift (3, 4) that bring the part's points to where they lie in the mould, its draw upright."""
        centre = np.array([*self.centre_mm, 0.0])
        shift = np.array([*self.place.shift_mm, self.lift_mm]) + centre - self.turn @ self.alone.frame.T @ centre
        return np.column_stack([self.turn, shift])

    def in_mould(self, points_mm: FloatArray) -> FloatArray:
        """Points (n, 3) of the part where they lie in the mould, its draw upright."""
        way = self.way
        moved: FloatArray = points_mm @ way[:, :3].T + way[:, 3]
        return moved


def joint_part(cavities: Sequence[Cavity], *, like: Part, frame: FloatArray) -> Part:
    """All cavities as one part of so many bodies, otherwise `like` that one; rows of `frame` turn it draw upright."""
    meshes = [one.part.mesh for one in cavities]
    starts = np.cumsum([0, *(len(mesh.vertices_mm) for mesh in meshes)])
    return replace(
        like,
        mesh=Mesh(
            vertices_mm=np.concatenate([one.in_mould(one.part.mesh.vertices_mm) @ frame for one in cavities]),
            faces=np.concatenate([mesh.faces + start for mesh, start in zip(meshes, starts[:-1], strict=True)]),
        ),
        marks=np.concatenate([one.part.marks for one in cavities]),
        bodies=sum(one.part.bodies for one in cavities),
        source_face=None,
    )


def joint_draw(draw: Draw, cavities: Sequence[Cavity]) -> Draw:
    """The draw of parts side by side, face by face as each alone: none of them stands before another."""
    return replace(draw, reach=np.concatenate([one.alone.draw.reach for one in cavities]))


def joint_channels(cavities: Sequence[Cavity], *, joint: Parting) -> tuple[Channel, ...]:
    """The channels of every cavity, those along the parting surface laid on the joint one."""
    made = []
    for one in cavities:
        for channel in one.channels:
            path, feet = (_laid(one, channel, points, joint) for points in (channel.path_mm, channel.feet_mm))
            made.append(replace(channel, path_mm=path @ joint.frame, feet_mm=feet @ joint.frame))
    return tuple(made)


def _laid(one: Cavity, channel: Channel, points_mm: FloatArray, joint: Parting) -> FloatArray:
    """Points (n, 3) of a channel in the mould, those along the parting surface laid on the joint one."""
    laid = one.in_mould(points_mm)
    if channel.made_as is MadeAs.BOTH_HALVES and one.alone.halves is not None and len(points_mm):
        own = one.alone.surface_height_mm((points_mm @ one.alone.frame.T)[:, :2]) + one.lift_mm
        laid[:, 2] += joint.surface_height_mm(laid[:, :2]) - own
    return laid
