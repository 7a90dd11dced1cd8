"""The mould: draw ranking, two halves, all pieces of a tray mould, and the cost of it all against faces.

The peer of the halves is the least that any two-part mould costs: the same block less the same part, split by one
flat plane, all by manifold3d. It finds no seam, so its halves do not come off; ours do.
"""

from collections.abc import Callable
from dataclasses import dataclass

import manifold3d
import numpy as np

from benchmarks.dexels import STOCK, Rays, lumps
from benchmarks.rows import Row, once_ms, paired
from firstpour.mould.mould import make_mould
from firstpour.mould.values import Mould
from firstpour.part.part import Part
from firstpour.parting.block import Block, block_around, block_solid
from firstpour.parting.draw import choose_draw, draw_along, rank_draws
from firstpour.parting.halves import seam_halves
from firstpour.parting.parting import lay_parting
from firstpour.parting.seam import cut_seam
from firstpour.parting.values import Draw, MouldKind
from firstpour.surface.solids import from_solid, to_solid
from firstpour.values import FloatArray, Mesh, frame_along

UP = np.array([0.0, 0.0, 1.0])
DRAWS, FEW = 1000, 4
RIM_MM, WALL_MM = 3.0, 8.0


def warped_ring(segments: int) -> Mesh:
    """A torus whose height waves: two seam loops, neither flat, no undercut; about 2 · segments² / 2 faces."""
    tube = segments // 2
    angles = 2 * np.pi * np.arange(tube) / tube
    profile = manifold3d.CrossSection([np.column_stack([20 + 6 * np.cos(angles), 6 * np.sin(angles)])])

    def wave(xyz: FloatArray) -> FloatArray:
        turn = np.arctan2(xyz[:, 1], xyz[:, 0])
        return np.column_stack([xyz[:, :2], xyz[:, 2] + 2.0 * np.cos(2 * turn)])

    return from_solid(manifold3d.Manifold.revolve(profile, segments).warp_batch(wave))


def as_part(mesh: Mesh) -> Part:
    return Part(name="part", mesh=mesh, marks=np.zeros(len(mesh.faces), np.uint8))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bench:
    """One part with its draw worked out, and its block."""

    part: Part
    draw: Draw
    block: Block


def bench(mesh: Mesh) -> Bench:
    part = as_part(mesh)
    block = block_around(mesh.vertices_mm, wall_mm=WALL_MM, side_mm=WALL_MM)
    return Bench(part=part, draw=draw_along(part, UP), block=block)


def ranking() -> Row:
    """A thousand draws swept, the best twenty again at 512², ranked; the peer only casts the rays of the sweep."""
    part = as_part(lumps(450))
    rays = Rays(part.mesh)
    frames = [frame_along(direction) for direction in np.random.default_rng(0).normal(size=(FEW, 3))]
    ours, peers = paired(
        lambda: rank_draws(part, directions=DRAWS), lambda: [rays.by_trimesh(frame, 128) for frame in frames], 3
    )
    return Row(
        what=f"rank {DRAWS:,} draws, {len(part.mesh.faces)} faces, the best refined",
        ours=ours,
        peer=f"{STOCK}, {FEW} × {DRAWS // FEW}, no ranking",
        peers=peers * DRAWS / FEW,
    )


def two_halves(at: Bench) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """Seam and halves of a part that stands in the frame of its draw already."""
    seamed = cut_seam(at.part.mesh, reach=at.draw.reach, marks=at.part.marks)
    halves = seam_halves(seamed, at.block, rim_band_mm=RIM_MM)
    assert halves is not None, "the ring has a clean seam"
    return halves.upper, halves.lower


def flat_halves(at: Bench) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """The block less the part, split by one plane."""
    rest = block_solid(at.block) - to_solid(at.part.mesh)
    upper, lower = rest.split_by_plane((0.0, 0.0, 1.0), 0.0)
    upper.num_tri(), lower.num_tri()  # booleans wait until they are asked
    return upper, lower


def trays(at: Bench) -> Mould:
    return make_mould(lay_parting(at.part, at.draw, kind=MouldKind.TRAYS))


def halves_and_trays(at: Bench) -> list[Row]:
    ours, peers = two_halves(at), flat_halves(at)
    volumes = [sum(half.volume() for half in pair) for pair in (ours, peers)]
    assert abs(volumes[0] - volumes[1]) < 1e-6 * volumes[1], "both leave the block less the part"
    flat = "block − part, one flat cut (manifold3d)"
    faces = len(at.part.mesh.faces)
    rows = []
    work: list[tuple[str, Callable[[Bench], object], float | None]] = [
        (f"seam and two halves, warped ring, {faces} faces", two_halves, 300.0),
        (f"all pieces of a tray mould, warped ring, {faces} faces", trays, None),
    ]
    for what, make, at_most in work:
        mine, theirs = paired(lambda make=make: make(at), lambda: flat_halves(at), 7)  # type: ignore[misc]
        rows.append(Row(what=what, ours=mine, peer=flat, peers=theirs, at_most=at_most))
    return rows


def whole(part: Part) -> Mould:
    """From the part to its pieces: rank, choose, mould."""
    return make_mould(lay_parting(part, choose_draw(part, rank_draws(part)), kind=MouldKind.TRAYS))


def against_faces() -> list[Row]:
    """Draw and tray mould against the number of faces, and the slope of the log-log line."""
    whole(as_part(warped_ring(100)))  # compiles
    faces, took, rows = [], [], []
    for segments in (100, 176, 316, 500, 708):
        part = as_part(warped_ring(segments))
        faces.append(len(part.mesh.faces))
        took.append(once_ms(lambda part=part: whole(part)))  # type: ignore[misc]
        rows.append(Row(what=f"draw and tray mould, warped ring, {faces[-1]} faces", ours=took[-1]))
    slope = float(np.polyfit(np.log(faces), np.log(took), 1)[0])
    rows.append(Row(what="the same: slope of log time on log faces (1: linear)", ours=slope, unit="", at_most=1.1))
    return rows


def run() -> list[Row]:
    return [ranking(), *halves_and_trays(bench(warped_ring(316))), *against_faces()]
