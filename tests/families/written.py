"""A plan's folder read back: plan.json and the pieces as a general-purpose library reads them, put where they sit.

Nothing here uses the code that made the mould. All lies in one frame: z along the draw, x and y along the sides of
the least rectangle around the silicone, so that a block turned about the draw reads the same.
"""

import json
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import shapely
import trimesh

from families.solids import Solid, joined
from firstpour.values import FloatArray

UPPER, LOWER = 1.0, -1.0
SINK_MM = 0.3
"""A channel is taken to start so far inside the part: what it opens behind a wall is then seen as a gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What a check holds against a mould: which check, and what it saw, with figures."""

    check: str
    what: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Piece:
    """One piece as its file holds it, where it sits in the mould; `solid` is None where it is not closed."""

    name: str
    role: str
    file: Path
    mesh: trimesh.Trimesh

    @cached_property
    def solid(self) -> Solid | None:
        return solid_of(self.mesh)


@dataclass(frozen=True, kw_only=True, eq=False)
class Rod:
    """A gate or a vent: its path (k, 3) and radii, and the solid cone along it, flat at its start.

    A fan opens along the part at `feet_mm` (k, 3), a slot 2 × `foot_mm` wide, and narrows to the path's second point.
    """

    use: str
    path_mm: FloatArray
    start_mm: float
    end_mm: float
    feet_mm: FloatArray = field(default_factory=lambda: np.empty((0, 3)))
    foot_mm: float = 0.0

    @cached_property
    def radii_mm(self) -> FloatArray:
        way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.path_mm, axis=0), axis=1))])
        radii: FloatArray = self.start_mm + way / way[-1] * (self.end_mm - self.start_mm)
        return radii

    @cached_property
    def solid(self) -> Solid:
        return self.grown(0.0)

    def grown(self, by_mm: float, *, skip_mm: float = 0.0) -> Solid:
        """The channel grown by `by_mm`, without the first `skip_mm` of its way: cut off square there."""
        path, radii = _later(self.path_mm, self.radii_mm, skip_mm)
        balls = [_ball(p, float(r) + by_mm) for p, r in zip(path, radii, strict=True)]
        if len(self.feet_mm) and skip_mm <= 0.0:
            neck = _ball(path[1], float(self.start_mm) + by_mm)
            way = (path[1] - path[0]) / np.linalg.norm(path[1] - path[0])
            feet = [
                _ball(foot, self.foot_mm + by_mm).trim_by_plane(tuple(way), float(foot @ way) - SINK_MM - by_mm)
                for foot in self.feet_mm
            ]
            fan = [Solid.batch_hull([a, b, neck]) for a, b in pairwise(feet)]
            return joined([*fan, *(Solid.batch_hull([a, b]) for a, b in pairwise(balls[1:]))])
        whole = joined([Solid.batch_hull([a, b]) for a, b in pairwise(balls)])
        if skip_mm > 0.0:
            way = (path[1] - path[0]) / np.linalg.norm(path[1] - path[0])
            ball = Solid.sphere(float(radii[0]) + by_mm + 1e-3, 24).translate(tuple(path[0]))
            return whole - ball.trim_by_plane(tuple(-way), float(-way @ path[0]))
        along = (self.path_mm[1] - self.path_mm[0]) / np.linalg.norm(self.path_mm[1] - self.path_mm[0])
        behind = Solid.sphere(2.0 * float(radii[0]) + by_mm, 24).translate(tuple(path[0]))
        return whole - behind.trim_by_plane(tuple(-along), float(-along @ path[0]) + SINK_MM)


def _ball(at: FloatArray, radius_mm: float) -> Solid:
    return Solid.sphere(radius_mm, 24).translate(tuple(float(value) for value in at))


def _later(path: FloatArray, radii: FloatArray, skip_mm: float) -> tuple[FloatArray, FloatArray]:
    """Path and radii without the first `skip_mm`; at least the last millimetre stays."""
    steps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    at = min(skip_mm, way[-1] - 1.0)
    if at <= 0.0:
        return path, radii
    first = np.array([np.interp(at, way, path[:, k]) for k in range(3)])
    later = way > at + 1e-9
    return np.concatenate([first[None], path[later]]), np.concatenate([[np.interp(at, way, radii)], radii[later]])


@dataclass(frozen=True, kw_only=True, eq=False)
class WrittenMould:
    """One part of a plan as written: its pieces, channels and what was said of it."""

    name: str
    entry: dict[str, Any]
    part: Solid
    part_mesh: trimesh.Trimesh
    pieces: tuple[Piece, ...]
    rods: tuple[Rod, ...]
    frame: FloatArray
    scale: float

    @property
    def kind(self) -> str:
        return str(self.entry["mould"]["kind"])

    @property
    def codes(self) -> set[str]:
        """Codes of all findings on the part."""
        return {finding["code"] for finding in self.entry["findings"]}

    def told(self, word: str, *, but: tuple[str, ...] = ()) -> bool:
        """Whether some finding's code holds the word, those of `but` aside."""
        return any(word in code for code in self.codes - set(but))

    def of(self, role: str, words: str = "") -> list[Piece]:
        """The pieces of a role whose name holds `words`."""
        return [piece for piece in self.pieces if piece.role == role and words in piece.name]

    @cached_property
    def halves(self) -> list[tuple[Piece, float]]:
        """The silicone pieces with the way along z in which each comes off."""
        silicone = sorted(self.of("silicone"), key=lambda piece: float(piece.mesh.bounds.mean(axis=0)[2]))
        if len(silicone) == 1:
            return [(silicone[0], UPPER)]
        return [(piece, UPPER if piece is silicone[-1] or "upper" in piece.name else LOWER) for piece in silicone]

    @cached_property
    def block_mm(self) -> FloatArray:
        """Lowest and highest corner (2, 3) of the box around all silicone."""
        bounds = np.array([piece.mesh.bounds for piece in self.of("silicone")])
        return np.stack([bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0)])

    def joined_of(self, role: str, words: str = "") -> Solid:
        """The pieces of a role as one solid."""
        return joined([piece.solid for piece in self.of(role, words) if piece.solid is not None])

    @cached_property
    def undercut_mm3(self) -> float:
        """What the plan itself says of the undercut along its draw, at the mould's scale."""
        return float(self.entry["chosen_draw"]["undercut_mm3"]) * self.scale**3


def solid_of(mesh: trimesh.Trimesh) -> Solid | None:
    """The closed mesh as a solid; None if it is not one."""
    raw = manifold3d.Mesh64(np.asarray(mesh.vertices, np.float64), np.asarray(mesh.faces, np.uint64))
    solid = Solid(raw)
    return solid if solid.status() == manifold3d.Error.NoError and solid.volume() > 0.0 else None


def read_moulds(folder: Path, part_files: dict[str, Path]) -> list[WrittenMould]:
    """The moulds of the plan in `folder`; `part_files` gives the part of each name as its file."""
    plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    moulds = []
    for entry in plan["parts"]:
        mine = [f for f in plan["findings"] if f["where"] is None or entry["name"] in f["where"]]
        moulds.append(_read_mould(folder, {**entry, "findings": mine}, part_files[entry["name"]]))
    return moulds


def _read_mould(folder: Path, entry: dict[str, Any], part_file: Path) -> WrittenMould:
    mould = entry["mould"]
    placed = []
    for piece in mould["pieces"]:
        mesh = trimesh.load_mesh(folder / piece["file"])
        way = np.array(piece["in_mould"])
        placed.append((piece, mesh, mesh.vertices @ way[:, :3].T + way[:, 3]))
    draw = np.array(mould["draw"]) / np.linalg.norm(mould["draw"])
    silicone = np.concatenate([points for piece, _, points in placed if piece["role"] == "silicone"])
    frame = _frame(draw, silicone)
    pieces = tuple(
        Piece(
            name=piece["name"],
            role=piece["role"],
            file=folder / piece["file"],
            mesh=trimesh.Trimesh(points @ frame.T, mesh.faces, process=False),
        )
        for piece, mesh, points in placed
    )
    part_mesh = trimesh.load_mesh(part_file)
    part_mesh = trimesh.Trimesh(mould["scale"] * part_mesh.vertices @ frame.T, part_mesh.faces, process=False)
    part = solid_of(part_mesh)
    assert part is not None, "families are closed solids"
    rods = tuple(
        Rod(
            use=channel["use"],
            path_mm=mould["scale"] * np.array(channel["path_mm"]) @ frame.T,
            start_mm=channel["radius_start_mm"],
            end_mm=channel["radius_end_mm"],
            feet_mm=mould["scale"] * np.array(channel["feet_mm"]).reshape(-1, 3) @ frame.T,
            foot_mm=channel["foot_radius_mm"],
        )
        for channel in mould["channels"]
    )
    return WrittenMould(
        name=entry["name"], entry=entry, part=part, part_mesh=part_mesh, pieces=pieces, rods=rods, frame=frame,
        scale=float(mould["scale"]),
    )  # fmt: skip


def _frame(draw: FloatArray, points: FloatArray) -> FloatArray:
    """Rows x, y, z (3, 3): z along the draw, x along the longer side of the least rectangle around the points."""
    side = np.cross(draw, np.eye(3)[np.argmin(np.abs(draw))])
    side /= np.linalg.norm(side)
    other = np.cross(draw, side)
    flat = np.stack([points @ side, points @ other], axis=1)
    corners = np.asarray(shapely.MultiPoint(flat).convex_hull.minimum_rotated_rectangle.exterior.coords)
    edges = np.diff(corners, axis=0)
    along = edges[np.argmax(np.linalg.norm(edges, axis=1))]
    along /= np.linalg.norm(along)
    x = along[0] * side + along[1] * other
    return np.stack([x, np.cross(draw, x), draw])
