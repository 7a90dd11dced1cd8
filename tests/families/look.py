"""Small pictures for the contact sheet: the written silicone moved apart along the draw, the part between."""

import numpy as np
import trimesh
from PIL import Image

from families.written import WrittenMould
from firstpour.pictures.part_picture import view_along
from firstpour.pictures.shade import Body, camera_on, shade
from firstpour.values import FloatArray, Mesh

SIZE_PX = (300, 250)
SILICONE, PART = np.array([0.66, 0.70, 0.74]), np.array([0.80, 0.50, 0.38])
UP = np.array([0.0, 0.0, 1.0])


def opened(mould: WrittenMould) -> Image.Image:
    """The lowest piece as it lies, then the part, then the rest, each lifted clear of the one below."""
    halves = sorted(mould.of("silicone"), key=lambda piece: float(piece.mesh.bounds.mean(axis=0)[2]))
    stack = [(halves[0].mesh, SILICONE), (mould.part_mesh, PART), *((half.mesh, SILICONE) for half in halves[1:])]
    low, high = mould.block_mm
    gap_mm = 0.25 * float((high - low).max())
    bodies, top = [], None
    for mesh, colour in stack:
        lift = 0.0 if top is None else top + gap_mm - float(mesh.bounds[0][2])
        bodies.append(Body(mesh=_moved(mesh, lift), colour=colour))
        top = float(mesh.bounds[1][2]) + lift
    return _picture(bodies)


def alone(mesh: Mesh) -> Image.Image:
    """Only the part: there is no mould to show."""
    return _picture([Body(mesh=mesh, colour=PART)])


def _picture(bodies: list[Body]) -> Image.Image:
    frame: FloatArray = view_along(UP, elevation_deg=33.0)
    camera = camera_on([body.mesh for body in bodies], frame=frame, size_px=SIZE_PX, margin_px=10)
    return Image.fromarray(shade(bodies, camera=camera).pixels)


def _moved(mesh: trimesh.Trimesh, lift_mm: float) -> Mesh:
    return Mesh(vertices_mm=mesh.vertices + lift_mm * UP, faces=mesh.faces)
