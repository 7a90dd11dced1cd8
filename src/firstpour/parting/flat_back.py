"""The flat back on which an open-face mould stands."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from firstpour.errors import BadRequest
from firstpour.part.part import Part
from firstpour.parting.draw import draw_along
from firstpour.parting.undercut import VERTICAL_COSINE
from firstpour.parting.values import Draw, Opening, RankedDraw
from firstpour.surface.dexels import cut_dexels
from firstpour.values import BoolArray, FloatArray, Mesh, face_areas_mm2, face_centres_mm, face_normals, frame_along

FLAT_BACK_RATIO = 0.75
"""A back is flat when this share of the part's outline stands on it."""
FLAT_BACK_MM = 0.05
OUTLINE_LINES = 256


def flat_back(mesh: Mesh, direction: FloatArray) -> BoolArray | None:
    """Which faces (m,) lie flat at the low end along `direction`, if they carry most of the part's outline."""
    low = float((mesh.vertices_mm @ direction).min())
    flat = (face_normals(mesh) @ direction < -1.0 + VERTICAL_COSINE) & (
        face_centres_mm(mesh) @ direction < low + FLAT_BACK_MM
    )
    if not flat.any():
        return None
    lines = np.diff(cut_dexels(mesh, direction, resolution=OUTLINE_LINES).offsets) > 0
    extent = np.ptp(mesh.vertices_mm @ frame_along(direction).T, axis=0)[:2].max()
    outline_mm2 = float(lines.sum()) * (float(extent) / OUTLINE_LINES) ** 2
    return flat if face_areas_mm2(mesh)[flat].sum() >= FLAT_BACK_RATIO * outline_mm2 else None


def flat_backs(mesh: Mesh, direction: FloatArray) -> Iterator[tuple[FloatArray, BoolArray]]:
    """The ends of a direction, itself and turned round, at whose low end a flat back lies, and its faces (m,)."""
    for d in (direction, -direction):
        back = flat_back(mesh, d)
        if back is not None:
            yield d, back


def back_down(part: Part, draw: RankedDraw) -> Draw:
    """The draw turned so that the flat back lies at its low end, its undercuts measured to the plane of the back.

    Raises
    ------
    BadRequest
        If the part has no flat back along the draw, either way.
    """
    for direction, _ in flat_backs(part.mesh, draw.direction):
        opened = draw_along(part, direction, opening=Opening.OPEN_FACE)
        return replace(opened, origin=draw.origin, reason=draw.reason)
    raise BadRequest(
        f"{part.name} has no flat back along {np.round(draw.direction, 3).tolist()} to stand on",
        remedy="an open-face mould needs one: choose trays, bedding or block, or fix the draw direction",
    )
