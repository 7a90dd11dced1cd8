"""Trapped air and pour directions, beside the stock way: label the air at 256 levels of a voxel grid.

Run with `python -m benchmarks.fill`. Times are medians in one run on one machine; read the ratios.
"""

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy import ndimage

from firstpour.fill.pockets import find_pockets
from firstpour.fill.pour import rank_pours
from firstpour.kernels import pour_sweep
from firstpour.part.dexels import cut_dexels, voxels_of
from firstpour.part.part import Part
from firstpour.part.samples import sample_part
from firstpour.values import FloatArray, frame_along

UP = np.array([0.3, 0.5, 0.6])
LEVELS = 256
SIDE = 200


def median_s(run: Callable[[], object], *, times: int) -> float:
    """Median time of a call, s, after one to warm up."""
    run()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


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


def report(part: Part) -> None:
    """Print the figures and ratios for one part."""
    print(f"{part.name}, {len(part.mesh.faces)} faces")
    ours = median_s(lambda: find_pockets(part, up=UP), times=15)
    theirs = median_s(lambda: labelled_mm3(part, UP), times=1)
    stock = labelled_mm3(part, UP)
    coarse, fine = (find_pockets(part, up=UP, resolution=r).trapped_mm3 for r in (128, 512))
    print(f"  one pour direction, 128²        {ours * 1e3:8.2f} ms")
    print(f"  stock labelling, {LEVELS} levels {SIDE}³ {theirs * 1e3:8.0f} ms   ratio {theirs / ours:6.0f}")
    print(f"  air: 128² {coarse:.2f}, 512² {fine:.2f} ({100 * (coarse / fine - 1):+.2f} %), labelled {stock:.2f} mm³")
    ups = np.random.default_rng(0).normal(size=(500, 3))
    frames = np.stack([frame_along(up) for up in ups])
    mesh = part.mesh
    sweep = median_s(
        lambda: pour_sweep.sweep_pours(mesh.vertices_mm, mesh.faces, part.marks, frames, 128, 0.1, 24), times=3
    )
    ranked = median_s(lambda: rank_pours(part), times=3)
    print(f"  500 directions swept            {sweep * 1e3:8.0f} ms   {sweep / 500 * 1e3:.2f} ms each")
    print(f"  500 directions ranked, 12 again {ranked * 1e3:8.0f} ms")


def main() -> None:
    """Run on the sea star and the bollard at about 100,000 faces."""
    for name in ("sea-star", "bollard"):
        report(sample_part(name, faces=100_000))


if __name__ == "__main__":
    main()
