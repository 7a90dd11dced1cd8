"""When each face is wetted, and the wet and the trapped space, for pictures and the viewer."""

import numpy as np
from numpy.typing import NDArray

from firstpour.fill.values import Fill
from firstpour.kernels import locate
from firstpour.kernels.dexels import fill_columns
from firstpour.kernels.nodes import node_columns
from firstpour.part.part import Part
from firstpour.surface.dexels import voxels_of
from firstpour.values import FloatArray, face_centres_mm, face_normals


def wet_levels_mm(part: Part, fill: Fill) -> FloatArray:
    """Level (m,) along `up` at which the middle of each face is wetted, mm; infinite where air keeps it dry."""
    d = fill.dexels
    centres = face_centres_mm(part.mesh)
    inner = centres - 0.25 * d.pitch_mm * face_normals(part.mesh)
    pixels = inner @ d.frame.T
    pixels[:, :2] = (pixels[:, :2] - d.origin_mm) / d.pitch_mm
    start = node_columns(d.offsets)[1]
    nodes, _ = locate.nearest_nodes(pixels, d.z_mm, start, d.nx, d.ny, d.pitch_mm, 1)
    levels: FloatArray = centres @ d.frame[2]
    found = nodes >= 0
    dry = np.zeros(len(nodes), bool)
    dry[found] = levels[found] > fill.trapped_from_mm[nodes[found]]
    levels[dry] = np.inf
    return levels


def wet_and_trapped(fill: Fill) -> tuple[NDArray[np.uint8], float]:
    """Cubic voxels (layers, ny, nx) in the frame of `fill.dexels`, and the level of their floor, mm.

    1: material, 2: trapped air, 0: not the cavity. Layer k is centred (k + ½) pitches above the floor.
    """
    d = fill.dexels
    floor = float(d.z_mm.min())
    layers = int(np.ceil((float(d.z_mm.max()) - floor) / d.pitch_mm))
    cavity = voxels_of(d, z0_mm=floor, layers=layers)
    air = np.empty_like(d.z_mm)
    air[1::2] = d.z_mm[1::2]
    air[0::2] = np.clip(fill.trapped_from_mm, d.z_mm[0::2], d.z_mm[1::2])
    trapped = fill_columns(d.offsets, air, d.nx, d.ny, layers, floor, d.pitch_mm)
    both: NDArray[np.uint8] = cavity + trapped
    return both, floor
