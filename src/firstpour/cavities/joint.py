"""All cavities of a mould as one part of several bodies, and their channels: what parting and mould then take."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from firstpour.cavities.values import Place
from firstpour.fill.values import Channel, MadeAs
from firstpour.part.part import Part
from firstpour.parting.parting import Parting
from firstpour.parting.values import Draw
from firstpour.values import FloatArray, Mesh

HALF_TURN = np.diag([-1.0, -1.0, 1.0])


def joint_part(part: Part, places: Sequence[Place], *, frame: FloatArray, centre_mm: FloatArray) -> Part:
    """The part at every place, as one part of so many bodies, in its own coordinates."""
    mesh, count = part.mesh, len(part.mesh.vertices_mm)
    vertices = [_moved(mesh.vertices_mm, place, frame, centre_mm) for place in places]
    faces = [mesh.faces + k * count for k in range(len(places))]
    return replace(
        part,
        mesh=Mesh(vertices_mm=np.concatenate(vertices), faces=np.concatenate(faces)),
        marks=np.tile(part.marks, len(places)),
        bodies=part.bodies * len(places),
        source_face=None,
    )


def joint_draw(draw: Draw, count: int) -> Draw:
    """The draw of so many equal parts side by side: none of them stands before another."""
    return replace(draw, reach=np.tile(draw.reach, count))


def joint_channels(
    channels: Sequence[Channel], places: Sequence[Place], *, one: Parting, joint: Parting, centre_mm: FloatArray
) -> tuple[Channel, ...]:
    """The channels of every cavity, those along the parting surface laid on the joint one."""
    frame = one.frame
    made = []
    for place in places:
        for channel in channels:
            path = _moved(channel.path_mm, place, frame, centre_mm)
            feet = _moved(channel.feet_mm, place, frame, centre_mm)
            if channel.made_as is MadeAs.BOTH_HALVES and one.halves is not None:
                path = _on_surface(path, channel.path_mm, one, joint)
                feet = _on_surface(feet, channel.feet_mm, one, joint) if len(feet) else feet
            made.append(replace(channel, path_mm=path, feet_mm=feet))
    return tuple(made)


def _on_surface(moved_mm: FloatArray, own_mm: FloatArray, one: Parting, joint: Parting) -> FloatArray:
    """Points (n, 3) raised by as much as the joint surface lies over that of one cavity alone."""
    frame = one.frame
    now, before = moved_mm @ frame.T, own_mm @ frame.T
    now = now.copy()
    now[:, 2] += joint.surface_height_mm(now[:, :2]) - one.surface_height_mm(before[:, :2])
    raised: FloatArray = now @ frame
    return raised


def _moved(points_mm: FloatArray, place: Place, frame: FloatArray, centre_mm: FloatArray) -> FloatArray:
    """Points (n, 3) in the part's coordinates, moved from the first cavity to a place."""
    flat = points_mm @ frame.T
    centre = np.array([*centre_mm, 0.0])
    if place.turned:
        flat = (flat - centre) @ HALF_TURN.T + centre
    moved: FloatArray = (flat + np.array([*place.shift_mm, 0.0])) @ frame
    return moved
