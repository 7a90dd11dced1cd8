"""A mould of several cavities as written, with all its copies as one part, so that the checks of one apply to it."""

from dataclasses import replace

import numpy as np
import trimesh

from families.solids import Solid, joined
from families.written import WrittenMould, solid_of
from firstpour.values import FloatArray

SAME_MM = 0.05


def with_all_copies(mould: WrittenMould) -> WrittenMould:
    """The mould with its part at each cavity, and what was said of one cavity said of all.

    Where the cavities lie is read off the written channels: each cavity's are the first one's, moved across the draw,
    turned by half or not. Where both would do (one straight gate), that with less silicone in the part is taken.
    """
    count = mould.entry["mould"]["cavities"]
    meshes = [_moved(mould.part_mesh, way) for way in _ways(mould, count)]
    part_mesh = trimesh.util.concatenate(meshes)
    solids = [solid_of(mesh) for mesh in meshes]
    part = joined([solid for solid in solids if solid is not None])
    fill = mould.entry["fill"]
    if fill is not None:
        fill = {**fill, "trapped_vented_mm3": count * fill["trapped_vented_mm3"]}
    draw = mould.entry["chosen_draw"]
    draw = {**draw, "undercut_mm3": count * draw["undercut_mm3"]}
    made = {**mould.entry["mould"], "casting_ml": count * mould.entry["mould"]["casting_ml"]}
    entry = {**mould.entry, "fill": fill, "chosen_draw": draw, "mould": made}
    return replace(mould, entry=entry, part=part, part_mesh=part_mesh)


def _ways(mould: WrittenMould, count: int) -> list[FloatArray]:
    """For each cavity how the first one is moved there, (4, 4)."""
    each = len(mould.rods) // count
    assert each > 0, "without channels nothing tells where the cavities lie"
    first = np.array([rod.path_mm[0] for rod in mould.rods[:each]])
    halves = joined([piece.solid for piece, _ in mould.halves if piece.solid is not None])
    found = []
    for k in range(count):
        starts = np.array([rod.path_mm[0] for rod in mould.rods[k * each : (k + 1) * each]])
        fits = [way for way in _tried(first, starts) if _off_mm(way, first, starts) < SAME_MM]
        assert fits, f"the channels of cavity {k + 1} are not those of the first"
        found.append(min(fits, key=lambda way: _in_silicone_mm3(mould, way, halves)))
    return found


def _tried(first: FloatArray, starts: FloatArray) -> list[FloatArray]:
    """Not turned and turned by half, moved across the draw so that the first channels meet."""
    ways = []
    for turned in (1.0, -1.0):
        way = np.eye(4)
        way[:2, :2] *= turned
        way[:2, 3] = starts[0, :2] - turned * first[0, :2]
        ways.append(way)
    return ways


def _off_mm(way: FloatArray, first: FloatArray, starts: FloatArray) -> float:
    moved = first @ way[:3, :3].T + way[:3, 3]
    return float(np.abs(moved - starts)[:, :2].max())


def _in_silicone_mm3(mould: WrittenMould, way: FloatArray, halves: Solid) -> float:
    return float((mould.part.transform(way[:3]) ^ halves).volume())


def _moved(mesh: trimesh.Trimesh, way: FloatArray) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices @ way[:3, :3].T + way[:3, 3], mesh.faces, process=False)


def least_gap_mm(one: WrittenMould) -> float:
    """The least distance between any two copies, by manifold's own search."""
    bodies = one.part.decompose()
    pairs = [(a, b) for k, a in enumerate(bodies) for b in bodies[:k]]
    return float(min((a.min_gap(b, 100.0) for a, b in pairs), default=np.inf))
