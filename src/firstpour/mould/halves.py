"""The two halves of silicone: exact solids that meet in the parting surface and fit the part without a gap."""

from dataclasses import dataclass

import manifold3d
import numpy as np
from scipy.ndimage import binary_dilation

from firstpour.errors import MouldFailed
from firstpour.kernels.dexels import dexel_lines
from firstpour.mould.block import Block, block_solid
from firstpour.mould.seam import Seamed
from firstpour.mould.sheet import Sheet, footprint, loops_are_apart, make_sheet
from firstpour.part.solids import to_solid
from firstpour.values import FloatArray, IntArray, Mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Halves:
    """Upper and lower half as solids in the frame of the draw, the surface between them and the seam on the part."""

    upper: manifold3d.Manifold
    lower: manifold3d.Manifold
    below: manifold3d.Manifold
    """Everything in the block below the parting surface and the upper faces of the part, the part included."""
    seam_mm: tuple[FloatArray, ...]
    rim_mm: float
    plan: object
    """Plan of the parting surface outside the part (a shapely polygon)."""
    sheet: Sheet


def seam_halves(seamed: Seamed, block: Block, *, rim_band_mm: float) -> Halves | None:
    """Build the halves through the seam; None where the seam, seen along the draw, does not outline the part."""
    loops_mm = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    if not loops_mm or not loops_are_apart(loops_mm) or not _outlines_part(seamed.mesh, loops_mm):
        return None
    sheet = make_sheet(loops_mm, block, rim_band_mm=rim_band_mm)
    if sheet is None:
        return None
    below = _below(seamed, sheet, block)
    if below is None:
        return None
    return halves_below(below, seamed.mesh, block, seam_mm=loops_mm, sheet=sheet)


def halves_below(
    below: manifold3d.Manifold, mesh: Mesh, block: Block, *, seam_mm: tuple[FloatArray, ...], sheet: Sheet
) -> Halves:
    """Split the block at the top of `below` and take the part away from both halves."""
    part = to_solid(mesh)
    return Halves(
        upper=block_solid(block) - (below + part),
        lower=below - part,
        below=below,
        seam_mm=seam_mm,
        rim_mm=sheet.rim_mm,
        plan=sheet.region,
        sheet=sheet,
    )


def _below(seamed: Seamed, sheet: Sheet, block: Block) -> manifold3d.Manifold | None:
    """The solid under the sheet and under the upper faces of the part, down to the floor of the block."""
    seam = np.concatenate(seamed.loops)
    n = len(seamed.mesh.vertices_mm)
    # the sheet's first points are the seam's own vertices; the rest of its points come after the part's
    number = np.concatenate([seam, n + np.arange(len(sheet.points_mm) - len(seam))])
    rim = number[sheet.rim]
    floor = n + len(sheet.points_mm) - len(seam) + np.arange(len(rim) + 1)
    corners = sheet.points_mm[sheet.rim].copy()
    corners[:, 2] = block.low_mm[2]
    middle = 0.5 * (block.low_mm + block.high_mm)
    middle[2] = block.low_mm[2]
    vertices = np.concatenate(
        [seamed.mesh.vertices_mm, sheet.points_mm[len(seam) :], corners, middle[None]]
    )
    faces = np.concatenate(
        [seamed.mesh.faces[seamed.upper], number[sheet.tri], _skirt(rim, floor[:-1]), _fan(floor[:-1], floor[-1])]
    )
    used, renumbered = np.unique(faces, return_inverse=True)
    try:
        return to_solid(Mesh(vertices_mm=vertices[used], faces=renumbered.reshape(-1, 3)))
    except MouldFailed:
        return None


def _skirt(rim: IntArray, floor: IntArray) -> IntArray:
    """Walls from the rim down to the floor, facing out; both chains run counter-clockwise."""
    rim_next, floor_next = np.roll(rim, -1), np.roll(floor, -1)
    return np.concatenate(
        [np.stack([floor, floor_next, rim_next], axis=1), np.stack([floor, rim_next, rim], axis=1)]
    )


def _fan(chain: IntArray, middle: int) -> IntArray:
    """The floor, facing down."""
    return np.stack([np.roll(chain, -1), chain, np.full(len(chain), middle)], axis=1)


OUTLINE_LINES = 256


def _outlines_part(mesh: Mesh, loops_mm: tuple[FloatArray, ...]) -> bool:
    """Whether the loops enclose, seen along the draw, just the lines that meet the part (to a pixel and a half)."""
    low, high = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    pitch = float((high - low)[:2].max()) / OUTLINE_LINES
    nx, ny = (int(np.ceil((high - low)[k] / pitch)) + 4 for k in range(2))
    shift = low[:2] - 1.5 * pitch

    def lines(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
        pix = vertices_mm.copy()
        pix[:, :2] = (pix[:, :2] - shift) / pitch
        offsets, _, _ = dexel_lines(pix, faces, nx, ny)
        return np.diff(offsets).reshape(ny, nx)

    part = lines(mesh.vertices_mm, mesh.faces) > 0
    starts = np.concatenate([[0], np.cumsum([len(loop) for loop in loops_mm])])
    fans = [
        np.stack([np.full(len(loop), starts[-1]), starts[n] + np.arange(len(loop)), starts[n] + (np.arange(len(loop)) + 1) % len(loop)], axis=1)
        for n, loop in enumerate(loops_mm)
    ]
    points = np.concatenate([*loops_mm, loops_mm[0][:1]])
    enclosed = (lines(points, np.concatenate(fans)) & 1) == 1
    border = binary_dilation(enclosed, iterations=2) & binary_dilation(~enclosed, iterations=2)
    return not bool(((part != enclosed) & ~border).any())
