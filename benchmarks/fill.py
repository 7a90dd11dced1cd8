"""Trapped air and pour directions, beside the stock way: label the air at 256 levels of a voxel grid.

Run with `python -m benchmarks fill`. Times are medians in one run on one machine; read the ratios.
"""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from benchmarks.rows import Row, anew, once_ms, timed
from firstpour.fill.pockets import find_pockets
from firstpour.fill.pour import rank_pours
from firstpour.kernels import pour_sweep
from firstpour.part.part import Part
from firstpour.samples.samples import sample_part
from firstpour.surface.dexels import cut_dexels, voxels_of
from firstpour.values import FloatArray, frame_along

UP = np.array([0.3, 0.5, 0.6])
LEVELS = 256
SIDE = 200


def labelled_mm3(part: Part, up: FloatArray) -> float:
    """The stock way: label the air above each of 256 levels; a region apart from the gate's is cut off."""
    dexels = cut_dexels(part.mesh, up, resolution=SIDE)
    floor, high = float(dexels.z_mm.min()), float(dexels.z_mm.max())
    cavity = voxels_of(dexels, z0_mm=floor, layers=int(np.ceil((high - floor) / dexels.pitch_mm))) > 0
    gate = np.unravel_index(int(np.argmax(cavity[-1])) if cavity[-1].any() else 0, cavity[-1].shape)
    trapped = np.zeros_like(cavity)
    for level in np.linspace(0, len(cavity) - 1, LEVELS).astype(int):
        labels, _ = ndimage.label(cavity[level:])
        trapped[level:] |= (labels > 0) & (labels != labels[-1][gate])
    return float(trapped.sum()) * dexels.pitch_mm**3


def rows_of(part: Part) -> list[Row]:
    """One direction beside the stock labelling, its error on a coarse grid, and the sweep of pour directions."""
    faces = f"{part.name}, {len(part.mesh.faces)} faces"
    one = timed(lambda: find_pockets(replace(part, mesh=anew(part.mesh)), up=UP), 15)
    stock = once_ms(lambda: labelled_mm3(part, UP))
    coarse, fine = (find_pockets(part, up=UP, resolution=r).trapped_mm3 for r in (128, 512))
    found = labelled_mm3(part, UP)
    assert abs(found - fine) < 0.15 * fine, "a voxel of 256 levels is coarse: they agree to some way"
    ups = np.random.default_rng(0).normal(size=(500, 3))
    frames = np.stack([frame_along(up) for up in ups])
    mesh = part.mesh
    sweep = timed(lambda: pour_sweep.sweep_pours(mesh.vertices_mm, mesh.faces, part.marks, frames, 128, 0.1, 24), 3)
    return [
        Row(
            what=f"trapped air, one pour direction 128², {faces}",
            ours=one,
            peer=f"scipy label, {LEVELS} levels at {SIDE}³; once",
            peers=stock,
            at_most=5.0,
            at_least_ratio=500.0,
        ),
        Row(what="the same: 128² against 512²", ours=100 * abs(coarse / fine - 1), unit="%", at_most=1.0),
        Row(what=f"500 pour directions 128², {faces}", ours=sweep, at_most=1500.0),
        Row(what=f"500 pour directions ranked, 12 again, {faces}", ours=timed(lambda: rank_pours(part), 3)),
    ]


def run() -> list[Row]:
    """The sea star and the bollard at about 100,000 faces."""
    return [row for name in ("sea-star", "bollard") for row in rows_of(sample_part(name, faces=100_000))]
