"""Silicone walls by rays from the written surfaces inwards: no fin but the feather at the seam, the stated wall."""

import igl
import numpy as np
import trimesh

from families.written import Fault, Piece, WrittenMould
from firstpour.values import FloatArray

LEAST_WALL_MM = 1.5
FEATHER_MM = 2.6
"""Beside the seam silicone may run out within this: an edge of 30° is as thick as the least wall by then."""
SAMPLES = 6_000
ON_MM = 0.02
OPPOSED = -np.cos(np.radians(30.0))
STATED_WALL_MM = 8.0
"""The silicone around the part that the settings state."""


def no_fins(mould: WrittenMould) -> list[Fault]:
    """Nowhere but at the seam is silicone thinner than the least wall between two opposed faces."""
    faults = []
    for piece, _ in mould.halves:
        others = [half for half, _ in mould.halves if half is not piece]
        thin, each_mm2 = _thin_places(piece, mould, others)
        narrow = thin[:, 4] > 0
        faults += _thin_faults("wall", f"{piece.name}, a fin", thin[~narrow], each_mm2)
        if not mould.told("thin", but=("thin-wall",)):
            faults += _thin_faults("groove", f"{piece.name}, in a groove of the part", thin[narrow], each_mm2)
    return faults


def _thin_faults(check: str, where: str, thin: FloatArray, each_mm2: float) -> list[Fault]:
    area_mm2 = len(thin) * each_mm2
    if area_mm2 < 4.0 or len(thin) < 3:
        return []
    least = thin[np.argmin(thin[:, 3])]
    at = np.round(least[:3], 1).tolist()
    what = f"{where}: {area_mm2:.0f} mm² thinner than {LEAST_WALL_MM} mm, least {least[3]:.2f} mm at {at}"
    return [Fault(check=check, what=what)]


def _thin_places(piece: Piece, mould: WrittenMould, others: list[Piece]) -> tuple[FloatArray, float]:
    """Places, thickness and whether both sides are the part's own (k, 5) of thin silicone; the area of each."""
    points, faces = trimesh.sample.sample_surface(piece.mesh, SAMPLES, seed=1)
    normals = piece.mesh.face_normals[faces]
    starts = points - 1e-3 * normals
    hits, rays, struck = piece.mesh.ray.intersects_location(starts, -normals, multiple_hits=False)
    away = np.linalg.norm(hits - points[rays], axis=1)
    facing = np.einsum("ij,ij->i", normals[rays], piece.mesh.face_normals[struck])
    thin = (away < LEAST_WALL_MM) & (facing < OPPOSED)
    entry, leave, away = points[rays][thin], hits[thin], away[thin]
    if not len(entry):
        return np.zeros((0, 5)), float(piece.mesh.area) / SAMPLES
    keep = ~_beside_seam(entry, leave, mould, others)
    own = (distance_mm(entry, mould.part_mesh) < ON_MM) & (distance_mm(leave, mould.part_mesh) < ON_MM)
    return np.column_stack([entry, away, own])[keep], float(piece.mesh.area) / SAMPLES


def _beside_seam(entry: FloatArray, leave: FloatArray, mould: WrittenMould, others: list[Piece]) -> np.ndarray:
    """Whether both ends lie near the part and near the other half, one on each: the feather at the seam."""
    if not others:
        return np.zeros(len(entry), bool)
    from_part = [distance_mm(points, mould.part_mesh) for points in (entry, leave)]
    from_half = [np.min([distance_mm(points, o.mesh) for o in others], axis=0) for points in (entry, leave)]
    across = ((from_part[0] < ON_MM) & (from_half[1] < ON_MM)) | ((from_half[0] < ON_MM) & (from_part[1] < ON_MM))
    near = np.max([*from_part, *from_half], axis=0) < FEATHER_MM
    return across & near


def distance_mm(points: FloatArray, mesh: trimesh.Trimesh) -> FloatArray:
    """Distance of points (k, 3) from the surface of a mesh."""
    squared = igl.point_mesh_squared_distance(
        np.ascontiguousarray(points), np.ascontiguousarray(mesh.vertices), np.ascontiguousarray(mesh.faces, np.int64)
    )[0]
    return np.sqrt(squared)


def stated_wall(mould: WrittenMould) -> list[Fault]:
    """From the part to the outside of the silicone lies the wall that the settings state."""
    faults = []
    for piece, _ in mould.halves:
        points, _ = trimesh.sample.sample_surface(piece.mesh, SAMPLES, seed=2)
        others = [half.mesh for half, _ in mould.halves if half is not piece]
        outside = np.ones(len(points), bool)
        for mesh in (mould.part_mesh, *others):
            outside &= distance_mm(points, mesh) > 0.5
        for rod in mould.rods:
            shell = rod.grown(0.3).to_mesh64()
            rod_mesh = trimesh.Trimesh(
                np.array(shell.vert_properties)[:, :3], np.array(shell.tri_verts), process=False
            )
            outside &= ~rod_mesh.contains(points)
        outside &= _on_hull(points, piece)
        if not outside.any():
            continue
        wall = distance_mm(points[outside], mould.part_mesh)
        if wall.min() < STATED_WALL_MM - 0.3:
            at = np.round(points[outside][np.argmin(wall)], 1).tolist()
            faults.append(
                Fault(
                    check="wall",
                    what=f"{piece.name}: {wall.min():.1f} mm of silicone at {at}, not {STATED_WALL_MM:g}",
                )
            )
    return faults


def _on_hull(points: FloatArray, piece: Piece) -> np.ndarray:
    """Which points (k, 3) lie on one of the six sides of the box around the piece."""
    low, high = piece.mesh.bounds
    on: np.ndarray = ((points < low + 0.05) | (points > high - 0.05)).any(axis=1)
    return on
