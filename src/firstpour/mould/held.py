"""Whether rigid pieces come apart: what overhangs in a bed, and what is in the way of a piece that is moved out."""

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation, distance_transform_edt, label, minimum_filter

from firstpour.kernels import dexels as dexel_kernel
from firstpour.surface.dexels import Dexels, cut_dexels
from firstpour.surface.solids import from_solid, to_solid
from firstpour.values import Finding, FloatArray, IntArray, Mesh, Severity

STEPS_MM = (1.0, 4.0, 12.0)
"""How far a piece has been moved when its overlap is looked at."""
CUBES = 256
"""Cubes along the longest side, by which silicone and its tray are held against each other."""
RIGID_MM3 = 1.0
"""Rigid pieces may share no more on their way: rounding along walls that slide on each other."""
SOFT_RATIO = 2e-4
"""Soft silicone slips past ridges of this height in mm, over all its surface (our own estimate)."""
LINES = 400
"""Lines a side by which overhangs are found; a bed is opened to the width of one of them."""
THIN_MM = 0.01
"""Voids and material thinner than this are rounding."""
FEWEST_LINES = 4
"""Overhangs under fewer lines than this, side by side, are rounding of a wall."""
UP = np.array([0.0, 0.0, 1.0])
AROUND = np.ones((3, 3), bool)


def over_voids(solid: manifold3d.Manifold) -> manifold3d.Manifold | None:
    """What of the space over the solid's own voids must be free so that what lies in them can be lifted straight out.

    The solid to take away: over each place where the solid overhangs, all from the middle of the lowest void up, one
    line of `LINES` wider than the overhang. None where nothing overhangs.
    """
    dexels = cut_dexels(from_solid(solid), UP, resolution=LINES, margin=2)
    middle = _middle_of_lowest_void(dexels)
    lumps, _ = label(np.isfinite(middle), structure=AROUND)
    kept = (np.bincount(lumps.ravel()) >= FEWEST_LINES)[lumps] & (lumps > 0)
    if not kept.any():
        return None
    foot = minimum_filter(np.where(kept, middle, np.inf), footprint=AROUND)
    nearest = distance_transform_edt(~np.isfinite(foot), return_distances=False, return_indices=True)
    wide = binary_dilation(kept, structure=AROUND)
    top_mm = float(dexels.z_mm.max()) + 1.0
    return to_solid(_stood(_squares(wide), foot[tuple(nearest)], dexels, top_mm=top_mm))


def _middle_of_lowest_void(dexels: Dexels) -> FloatArray:
    """Height (ny, nx) of the middle of the lowest void that has material over it; not finite where there is none."""
    first, count = dexels.offsets[:-1], np.diff(dexels.offsets)
    middle = np.full(dexels.nx * dexels.ny, np.inf)
    for void in range(int(count.max(initial=0)) // 2 - 1):
        line = np.flatnonzero((count >= 2 * void + 4) & ~np.isfinite(middle))
        at = first[line] + 2 * void + 1
        low, high, end = dexels.z_mm[at], dexels.z_mm[at + 1], dexels.z_mm[at + 2]
        real = (high - low > THIN_MM) & (end - high > THIN_MM)
        middle[line[real]] = 0.5 * (low + high)[real]
    return middle.reshape(dexels.ny, dexels.nx)


def _squares(nodes: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The squares (ny − 1, nx − 1) at the nodes (ny, nx), filled until no two meet in a corner alone."""
    squares = nodes[:-1, :-1] | nodes[1:, :-1] | nodes[:-1, 1:] | nodes[1:, 1:]
    while True:
        a, b, c, d = squares[:-1, :-1], squares[:-1, 1:], squares[1:, :-1], squares[1:, 1:]
        falling, rising = a & d & ~b & ~c, b & c & ~a & ~d
        if not (falling.any() or rising.any()):
            return squares
        squares = squares.copy()
        squares[:-1, 1:] |= falling
        squares[:-1, :-1] |= rising


def _stood(squares: NDArray[np.bool_], foot_mm: FloatArray, dexels: Dexels, *, top_mm: float) -> Mesh:
    """The solid over the squares, from the heights `foot_mm` (ny, nx) at their corners to a flat top."""
    ny, nx = foot_mm.shape
    number = np.arange(ny * nx).reshape(ny, nx)
    a, b, c, d = (n[squares] for n in (number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]))
    floor = np.concatenate([np.stack([a, c, b], axis=1), np.stack([a, d, c], axis=1)])
    roof = floor[:, ::-1] + ny * nx
    j, i = np.divmod(np.arange(ny * nx), nx)
    flat = dexels.origin_mm + dexels.pitch_mm * np.stack([i, j], axis=1)
    heights = np.concatenate([foot_mm.ravel(), np.full(ny * nx, top_mm)])
    vertices = np.column_stack([np.concatenate([flat, flat]), heights])
    faces = np.concatenate([floor, roof, _walls(floor, ny * nx)])
    used, faces = np.unique(faces, return_inverse=True)
    return Mesh(vertices_mm=vertices[used] @ dexels.frame, faces=faces.reshape(-1, 3))


def _walls(floor: IntArray, over: int) -> IntArray:
    """Upright faces from the border edges of the floor (m, 3) to the same vertices, numbered `over` higher."""
    edges = np.concatenate([floor[:, [0, 1]], floor[:, [1, 2]], floor[:, [2, 0]]])
    key = edges.max(axis=1) * over + edges.min(axis=1)
    _, place, count = np.unique(key, return_inverse=True, return_counts=True)
    u, v = edges[(count == 1)[place]].T
    return np.concatenate([np.stack([v, u, u + over], axis=1), np.stack([v, u + over, v + over], axis=1)])


def held_mm3(moving: manifold3d.Manifold, fixed: manifold3d.Manifold, *, way: FloatArray) -> float:
    """The most volume that `moving` shares with `fixed` while it is moved along `way` (3,), unit."""
    low, high = np.array(moving.bounding_box()).reshape(2, 3)
    reach_mm = float(np.abs((high - low) @ way))
    steps = [step for step in STEPS_MM if step < reach_mm] or [0.5 * reach_mm]
    return max(
        float((moving.translate(tuple(float(value) for value in step * way)) ^ fixed).volume()) for step in steps
    )


def held_soft_mm3(moving: Mesh, fixed: Mesh, *, aside: Mesh, way: int) -> float:
    """The most volume that `moving` shares with `fixed` outside `aside` while it is moved up (1) or down (−1) z.

    Counted on cubes of 1/`CUBES` of the longest side: what is smaller slips past, as silicone does.
    """
    together = np.concatenate([mesh.vertices_mm for mesh in (moving, fixed)])
    low, pitch_mm = together.min(axis=0), float(np.ptp(together, axis=0).max()) / CUBES
    count = np.ceil(np.ptp(together, axis=0) / pitch_mm).astype(int) + 1
    inside, solid, part = (_cubes(mesh, low, pitch_mm, count) for mesh in (moving, fixed, aside))
    solid &= ~part
    reach_mm = float(np.ptp(moving.vertices_mm[:, 2]))
    shared = []
    for step_mm in [step for step in STEPS_MM if step < reach_mm] or [0.5 * reach_mm]:
        shift = min(max(1, round(step_mm / pitch_mm)), len(solid) - 1)
        pair = (inside[:-shift], solid[shift:]) if way > 0 else (inside[shift:], solid[:-shift])
        shared.append(int(np.count_nonzero(pair[0] & pair[1])) * pitch_mm**3)
    return float(max(shared))


def _cubes(mesh: Mesh, low_mm: FloatArray, pitch_mm: float, count: IntArray) -> NDArray[np.bool_]:
    """Cubes (nz, ny, nx) whose middle lies inside the mesh."""
    nx, ny, nz = (int(n) for n in count)
    pix = mesh.vertices_mm - low_mm
    pix[:, :2] = pix[:, :2] / pitch_mm - 0.5
    offsets, z_mm, _ = dexel_kernel.dexel_lines(pix, mesh.faces, nx, ny)
    cubes = dexel_kernel.fill_columns(offsets, z_mm, nx, ny, nz, 0.0, pitch_mm)
    return np.asarray(cubes, dtype=np.bool_)


def stuck_finding(moving: str, fixed: str, held: float) -> Finding:
    """Say that one rigid piece cannot leave another."""
    return Finding(
        severity=Severity.ERROR,
        code="pieces-stuck",
        what=f"the {moving} cannot leave the {fixed}: {held:.0f} mm³ are in its way",
        remedy='take kind = "trays", or another draw direction',
    )


def locked_finding(silicone: str, tray: str, held: float) -> Finding:
    """Say that cured silicone is held in its tray by more than the part's own undercut."""
    return Finding(
        severity=Severity.WARNING,
        code="locked-in-tray",
        what=f"{silicone} is held in the {tray} by {held:.0f} mm³ besides the part's own undercut",
        remedy="ease it out over one side, with release in the tray; or fix gate and vents on the parting line",
    )
