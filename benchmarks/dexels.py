"""Dexels and the sweep of draw directions against a ray caster that finds all hits, and against stock voxels.

The ray caster is embreex, first through trimesh (`intersects_location` with all hits), as the targets were set, then
driven directly without trimesh's checks, which is the harder peer. Building its tree is not counted.
"""

import numpy as np
import trimesh
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene
from manifold3d import Manifold
from trimesh.ray.ray_pyembree import RayMeshIntersector

from benchmarks.rows import Row, anew, once_ms, paired, timed
from firstpour.kernels.dexels import sweep_voids
from firstpour.surface.dexels import Dexels, cut_dexels, grid_along, voxels_of
from firstpour.surface.solids import from_solid
from firstpour.values import FloatArray, Mesh, frame_along

DIRECTION = np.array([0.3, 0.5, 0.8])
STOCK = "trimesh + embreex, all hits"
DIRECT = "embreex alone, all hits"


def ball(segments: int) -> Mesh:
    """A sphere of radius 20 mm: 450 segments give 102,152 faces."""
    return from_solid(Manifold.sphere(20.0, segments))


def lumps(segments: int) -> Mesh:
    """A closed lumpy body with undercuts; faces, corners and vertices in no order at all."""
    mesh, rng = ball(segments), np.random.default_rng(1)
    unit = mesh.vertices_mm / 20.0
    x, y, z = unit.T
    radius = 20 + 2.5 * np.sin(7 * x + 1) * np.cos(6 * y) + 1.2 * np.sin(17 * z) * np.sin(13 * x)
    order = rng.permutation(len(unit))
    faces = rng.permutation(np.argsort(order)[mesh.faces])
    turns = rng.integers(0, 3, (len(faces), 1))
    return Mesh(
        vertices_mm=(unit * radius[:, None])[order],
        faces=np.take_along_axis(faces, (turns + np.arange(3)) % 3, axis=1),
    )


def hemisphere(count: int) -> FloatArray:
    """Frames (count, 3, 3) of directions spread over a hemisphere."""
    directions = np.random.default_rng(0).normal(size=(count, 3))
    directions[:, 2] = np.abs(directions[:, 2])
    return np.stack([frame_along(direction) for direction in directions])


class Rays:
    """All hits of parallel rays with one mesh: the lines that `cut_dexels` uses."""

    def __init__(self, mesh: Mesh) -> None:
        self.mesh, self.scene = mesh, EmbreeScene()
        self.keep = TriangleMesh(self.scene, mesh.vertices_mm[mesh.faces].astype(np.float32))
        self.size_mm = float(np.ptp(mesh.vertices_mm, axis=0).max())
        self.stock = RayMeshIntersector(trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False))

    def starts(self, frame: FloatArray, resolution: int) -> FloatArray:
        """Where the lines begin, 1 mm below the mesh."""
        turned = self.mesh.vertices_mm @ frame.T
        low, size = turned.min(axis=0), np.ptp(turned, axis=0)
        pitch = size[:2].max() / resolution
        nx, ny = np.ceil(size[:2] / pitch - 1e-6).astype(int)
        u, v = low[0] + (np.arange(nx) + 0.5) * pitch, low[1] + (np.arange(ny) + 0.5) * pitch
        corners = np.stack([np.tile(u, ny), np.repeat(v, nx), np.full(nx * ny, low[2] - 1.0)], axis=1)
        starts: FloatArray = corners @ frame
        return starts

    def by_trimesh(self, frame: FloatArray, resolution: int) -> int:
        """The number of hits, by trimesh's own loop."""
        starts = self.starts(frame, resolution)
        along = np.tile(frame[2], (len(starts), 1))
        return len(self.stock.intersects_location(starts, along, multiple_hits=True)[0])

    def directly(self, frame: FloatArray, resolution: int) -> int:
        """The number of hits: each is stepped past and cast again, until none is left."""
        origins = self.starts(frame, resolution).astype(np.float32)
        along = frame[2].astype(np.float32)
        total, step = 0, np.float32(1e-5 * self.size_mm)
        while len(origins):
            found = self.scene.run(origins, np.tile(along, (len(origins), 1)), output=True)
            hit = found["primID"] >= 0
            total += int(hit.sum())
            origins = origins[hit] + (found["tfar"][hit] + step)[:, None] * along
        return total


def cut_rows(name: str, mesh: Mesh) -> list[Row]:
    """One direction at 512²."""
    rays, frame = Rays(mesh), frame_along(DIRECTION)
    ours_found = len(cut_dexels(mesh, DIRECTION, resolution=512).z_mm)
    rows = []
    for peer, hits, ratio in ((STOCK, rays.by_trimesh, 20), (DIRECT, rays.directly, None)):
        assert abs(ours_found - hits(frame, 512)) < 2e-3 * ours_found, "stepping past a hit loses only grazing ones"
        ours, peers = paired(
            lambda: cut_dexels(anew(mesh), DIRECTION, resolution=512),
            lambda hits=hits: hits(frame, 512),  # type: ignore[misc]
            9,
        )
        what = f"dexels 512², one direction, {name}, {len(mesh.faces)} faces"
        rows.append(Row(what=what, ours=ours, peer=peer, peers=peers, at_most=4.0, at_least_ratio=ratio))
    return rows


def sweep_rows(name: str, mesh: Mesh) -> list[Row]:
    """A thousand directions at 128²; the peer does a few of them."""
    rays, frames, few = Rays(mesh), hemisphere(1000), 4
    rows = []
    for peer, hits, ratio in ((STOCK, rays.by_trimesh, 50), (DIRECT, rays.directly, None)):
        ours, peers = paired(
            lambda: sweep_voids(mesh.vertices_mm, mesh.faces, frames, 128),
            lambda hits=hits: [hits(frame, 128) for frame in frames[:few]],  # type: ignore[misc]
            5,
        )
        rows.append(
            Row(
                what=f"1,000 draw directions 128², {name}, {len(mesh.faces)} faces",
                ours=ours,
                peer=f"{peer}, {few} × {1000 // few}",
                peers=peers * 1000 / few,
                at_most=500.0,
                at_least_ratio=ratio,
            )
        )
    return rows


def against_faces() -> list[Row]:
    """The cost of a sweep of 20 directions against the number of faces, and the slope of the log-log line."""
    frames, rows = hemisphere(20), []
    for segments in (140, 312, 450, 700, 1000):
        mesh = lumps(segments)
        took = timed(lambda mesh=mesh: sweep_voids(mesh.vertices_mm, mesh.faces, frames, 128), 7)  # type: ignore[misc]
        rows.append(Row(what=f"20 draw directions 128², lumps, {len(mesh.faces)} faces", ours=took))
    faces = [int(row.what.split()[-2]) for row in rows]
    slope = np.polyfit(np.log(faces), np.log([row.ours for row in rows]), 1)[0]
    rows.append(Row(what="the same: slope of log time on log faces (1: linear)", ours=slope, unit="", at_most=1.1))
    return rows


def voxel_fill(mesh: Mesh) -> Row:
    pitch = grid_along(mesh, np.array([0.0, 0.0, 1.0]), resolution=300).pitch_mm
    peer_mesh = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    low = float(mesh.vertices_mm[:, 2].min())

    def ours() -> int:
        dexels: Dexels = cut_dexels(anew(mesh), np.array([0.0, 0.0, 1.0]), resolution=300)
        return int(voxels_of(dexels, z0_mm=low, layers=300).sum())

    def peer() -> int:
        return int(peer_mesh.voxelized(pitch).fill().filled_count)

    inside, filled = ours(), 0

    def peer_once() -> None:
        nonlocal filled
        filled = peer()

    peers = once_ms(peer_once)
    assert inside < filled < 1.05 * inside, "theirs keeps every voxel that the surface touches: a shell more"
    return Row(
        what="voxels 300³, filled, ball", ours=timed(ours, 7), peer="trimesh voxelized, fill; once", peers=peers
    )


def run() -> list[Row]:
    shapes = {"ball": ball(450), "lumps": lumps(450)}
    return [
        *(row for name, mesh in shapes.items() for row in cut_rows(name, mesh)),
        *(row for name, mesh in shapes.items() for row in sweep_rows(name, mesh)),
        *against_faces(),
        voxel_fill(shapes["ball"]),
    ]
