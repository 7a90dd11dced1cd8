"""The two halves of silicone: exact solids that meet in the parting surface and fit the part without a gap."""

from dataclasses import dataclass
from enum import StrEnum

import manifold3d
import numpy as np

from firstpour.errors import MouldFailed, UnreadablePart
from firstpour.parting.block import Block, block_solid
from firstpour.parting.seam import Seamed
from firstpour.parting.sheet import Sheet, loops_are_apart, make_sheet
from firstpour.surface.edges import edges_of
from firstpour.surface.overlap import overlap_mm3
from firstpour.surface.solids import SPECK_MM3, separate_bodies, to_solid, without_crumbs
from firstpour.values import FloatArray, IntArray, Mesh, mesh_volume_mm3

ALONG = np.array([0.0, 0.0, 1.0])
MOST_OFF_MM3, LEAST_OFF_MM3 = 1.0, 0.005
"""Halves that miss the block beside the part by no more are made to fit it exactly, unless by less than the other."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Halves:
    """Upper and lower half as solids in the frame of the draw, the surface between, the seam on the part."""

    upper: manifold3d.Manifold
    lower: manifold3d.Manifold
    seam_mm: tuple[FloatArray, ...]
    sheet: Sheet
    enclosed_mm3: float
    """Silicone that touches neither half: it fills a void shut inside the part, and can never be poured."""


def seam_halves(seamed: Seamed, block: Block, *, rim_band_mm: float) -> Halves | None:
    """Build the halves through the seam; None where the seam, seen along the draw, does not outline the part."""
    loops_mm = tuple(seamed.mesh.vertices_mm[loop] for loop in seamed.loops)
    if not loops_mm or not loops_are_apart(loops_mm):
        return None
    sheet = make_sheet(loops_mm, block, rim_band_mm=rim_band_mm)
    if sheet is None:
        return None
    halves = [
        half_solid(
            sheet,
            block,
            side=side,
            seam=np.concatenate(seamed.loops),
            vertices_mm=seamed.mesh.vertices_mm,
            shell=shell,
        )
        for side, shell in (
            (Side.UPPER, seamed.mesh.faces[seamed.upper]),
            (Side.LOWER, seamed.mesh.faces[~seamed.upper]),
        )
    ]
    if halves[0] is None or halves[1] is None:
        return None
    fitted = _fitted(halves[0], halves[1], seamed.mesh, block)
    if fitted is None:
        return None
    return Halves(upper=fitted[0], lower=fitted[1], seam_mm=loops_mm, sheet=sheet, enclosed_mm3=0.0)


def _fitted(
    upper: manifold3d.Manifold, lower: manifold3d.Manifold, part: Mesh, block: Block
) -> tuple[manifold3d.Manifold, manifold3d.Manifold] | None:
    """The halves made to fill the block beside the part exactly, crumbs dropped.

    None where they miss it by more than a hair, or where a half falls in pieces.
    """
    whole = block_solid(block)
    beside_mm3 = whole.volume() - mesh_volume_mm3(part)
    off_mm3 = abs(beside_mm3 - upper.volume() - lower.volume())
    if off_mm3 > MOST_OFF_MM3:
        return None
    if off_mm3 > LEAST_OFF_MM3:
        solid = to_solid(part)
        lower = lower - solid
        upper = whole - solid - lower
    upper, lower = (without_crumbs(half, least_mm3=SPECK_MM3) for half in (upper, lower))
    return None if any(len(separate_bodies(half)) > 1 for half in (upper, lower)) else (upper, lower)


def halves_below(
    below: manifold3d.Manifold,
    part: manifold3d.Manifold,
    block: Block,
    *,
    sheet: Sheet,
) -> Halves:
    """Split the block at the top of `below`, which reaches past its sides, and take the part from both halves.

    Splinters of one half that the surface leaves on the other side join the half that they touch.
    """
    whole, part = block_solid(block), part.as_original()
    upper, upper_rest = _largest(whole - below - part)
    lower, lower_rest = _largest((whole ^ below) - part)
    if upper_rest or lower_rest:
        upper, lost = _largest(manifold3d.Manifold.batch_boolean([upper, *lower_rest], manifold3d.OpType.Add))
        lower, lost_too = _largest(manifold3d.Manifold.batch_boolean([lower, *upper_rest], manifold3d.OpType.Add))
        loose_mm3 = [body.volume() for body in [*lost, *lost_too]]
        enclosed_mm3 = sum(volume for volume in loose_mm3 if volume >= SPECK_MM3)
    else:
        enclosed_mm3 = 0.0
    shown_mm = _shown_seam(upper, part)
    upper, lower = (without_crumbs(half, least_mm3=SPECK_MM3) for half in (upper, lower))
    return Halves(upper=upper, lower=lower, seam_mm=shown_mm, sheet=sheet, enclosed_mm3=enclosed_mm3)


def _shown_seam(half: manifold3d.Manifold, part: manifold3d.Manifold) -> tuple[FloatArray, ...]:
    """The seam as a half shows it: the edges (2, 3) between what it has of the part's surface and what of the cut."""
    raw = half.to_mesh64()
    faces = np.asarray(raw.tri_verts).astype(np.int64)
    run = np.searchsorted(3 * np.arange(len(faces)), np.asarray(raw.run_index).astype(np.int64))
    of_part = np.zeros(len(faces), bool)
    for number, source in enumerate(raw.run_original_id):
        of_part[run[number] : run[number + 1]] = source == part.original_id()
    vertices = np.array(raw.vert_properties)[:, :3]
    edges = edges_of(Mesh(vertices_mm=vertices, faces=faces))
    seam = edges.ends[of_part[edges.faces[:, 0]] != of_part[edges.faces[:, 1]]]
    return tuple(vertices[seam])


def _largest(solid: manifold3d.Manifold) -> tuple[manifold3d.Manifold, tuple[manifold3d.Manifold, ...]]:
    """The largest body of a solid, and the others."""
    bodies = separate_bodies(solid)
    return bodies[0], bodies[1:]


class Side(StrEnum):
    """The half above the parting surface (along the draw) or the one below."""

    UPPER = "upper"
    LOWER = "lower"


def half_solid(
    sheet: Sheet, block: Block, *, side: Side, seam: IntArray, vertices_mm: FloatArray, shell: IntArray
) -> manifold3d.Manifold | None:
    """The solid between the sheet with the faces `shell` (k, 3) of `vertices_mm`, and one end of the block.

    The first points of the sheet are the vertices `seam` of `vertices_mm`. None where that is no closed solid, or one
    that runs through itself because the sheet meets the part elsewhere than at its seam.
    """
    n = len(vertices_mm)
    number = np.concatenate([seam, n + np.arange(len(sheet.points_mm) - len(seam))])
    rim = number[sheet.rim]
    foot = n + len(sheet.points_mm) - len(seam) + np.arange(len(rim) + 1)
    ends = np.concatenate([sheet.points_mm[sheet.rim], 0.5 * (block.low_mm + block.high_mm)[None]])
    ends[:, 2] = block.high_mm[2] if side is Side.UPPER else block.low_mm[2]
    vertices = np.concatenate([vertices_mm, sheet.points_mm[len(seam) :], ends])
    closing = np.concatenate([number[sheet.tri], _skirt(rim, foot[:-1]), _fan(foot[:-1], int(foot[-1]))])
    faces = np.concatenate([shell[:, ::-1], closing[:, ::-1] if side is Side.UPPER else closing])
    used = np.zeros(len(vertices), bool)
    used[faces] = True
    place = np.cumsum(used) - 1
    mesh = Mesh(vertices_mm=vertices[used], faces=place[faces])
    try:
        return None if overlap_mm3(mesh, ALONG) > SPECK_MM3 else to_solid(mesh)
    except (MouldFailed, UnreadablePart):
        return None


def _skirt(rim: IntArray, floor: IntArray) -> IntArray:
    """Walls from the rim down to the floor, facing out; both chains run counter-clockwise."""
    rim_next, floor_next = np.roll(rim, -1), np.roll(floor, -1)
    return np.concatenate([np.stack([floor, floor_next, rim_next], axis=1), np.stack([floor, rim_next, rim], axis=1)])


def _fan(chain: IntArray, middle: int) -> IntArray:
    """The floor, facing down."""
    return np.stack([np.roll(chain, -1), chain, np.full(len(chain), middle)], axis=1)
