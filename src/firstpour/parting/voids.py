"""Voids between solids along the draw, joined into regions, with where they open into free space."""

from dataclasses import dataclass

import numpy as np

from firstpour.kernels import voids as kernel
from firstpour.parting.values import Half
from firstpour.surface.dexels import Dexels
from firstpour.values import FloatArray, IntArray, frozen_array

WAYS = {Half.UPPER: 1, Half.LOWER: 2}
"""The bit of each half in the ways that `list_exits` gives."""
BOTH = 3
SMALLEST_REGION_PIXELS = 8.0
"""A region below 8 pitch³ is noise of the raster; it stays in the total, and is not listed."""
SLAB_PITCHES = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exits:
    """Where regions open into free space: the region, the line of its void and the free line beside it.

    (k,) each, sorted by region; those of region n are `starts[n]:starts[n + 1]`. The line beside is −1 at the border.
    """

    region: IntArray
    line: IntArray
    beside: IntArray
    starts: IntArray

    def of(self, number: int) -> slice:
        """Where the exits of region `number` stand."""
        return slice(int(self.starts[number]), int(self.starts[number + 1]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Voids:
    """Voids on the lines of `dexels`: (v,) line, lower and upper end, region, and the first void of each line.

    `volumes_mm3` (r,) by region. `order` and `starts` list the voids of region n as `order[starts[n]:starts[n + 1]]`.
    """

    dexels: Dexels
    first: IntArray
    line: IntArray
    low_mm: FloatArray
    high_mm: FloatArray
    region: IntArray
    volumes_mm3: FloatArray
    order: IntArray
    starts: IntArray

    @property
    def volume_mm3(self) -> float:
        """All void that blocks the draw."""
        return float((self.high_mm - self.low_mm).sum()) * self.dexels.pitch_mm**2

    def of(self, number: int) -> IntArray:
        """The voids of region `number`."""
        return self.order[self.starts[number] : self.starts[number + 1]]

    def listed(self, *, most: int) -> list[int]:
        """The regions that are more than noise of the raster, largest first."""
        numbers = np.argsort(-self.volumes_mm3, kind="stable")[:most]
        least_mm3 = SMALLEST_REGION_PIXELS * self.dexels.pitch_mm**3
        return [int(number) for number in numbers if self.volumes_mm3[number] >= least_mm3]


def find_voids(dexels: Dexels) -> Voids:
    """The voids of the dexels, voids of neighbouring lines joined where they overlap in height."""
    first = kernel.first_void(dexels.offsets)
    line, low_mm, high_mm = kernel.list_voids(dexels.offsets, dexels.z_mm, first)
    region = kernel.join_voids(dexels.offsets, dexels.z_mm, first, dexels.nx, dexels.ny)
    count = int(region.max()) + 1 if len(region) else 0
    order, starts = _sorted_by(region, count)
    return Voids(
        dexels=dexels,
        first=first,
        line=line,
        low_mm=low_mm,
        high_mm=high_mm,
        region=region,
        volumes_mm3=np.asarray(np.bincount(region, weights=high_mm - low_mm, minlength=count), np.float64)
        * dexels.pitch_mm**2,
        order=order,
        starts=starts,
    )


def exits_of(voids: Voids) -> dict[Half, Exits]:
    """Where the regions open, for each half."""
    dexels = voids.dexels
    region, line, beside, way = kernel.list_exits(
        dexels.offsets, dexels.z_mm, voids.first, voids.region, dexels.nx, dexels.ny
    )
    found = {}
    for half, bit in WAYS.items():
        open_here = way & bit > 0
        order, starts = _sorted_by(region[open_here], len(voids.volumes_mm3))
        found[half] = Exits(
            region=region[open_here][order],
            line=line[open_here][order],
            beside=beside[open_here][order],
            starts=starts,
        )
    return found


def on_plane(dexels: Dexels) -> Dexels:
    """The dexels with a slab under the lowest point of the solid: what an open-face mould is poured on."""
    low_mm = float(dexels.z_mm.min())
    offsets, z_mm, face = kernel.stand_on_plane(
        dexels.offsets, dexels.z_mm, dexels.face, low_mm, 0.05 * dexels.pitch_mm, SLAB_PITCHES * dexels.pitch_mm
    )
    return Dexels(
        frame=dexels.frame,
        origin_mm=dexels.origin_mm,
        pitch_mm=dexels.pitch_mm,
        nx=dexels.nx,
        ny=dexels.ny,
        offsets=frozen_array(offsets, np.int64),
        z_mm=frozen_array(z_mm, np.float64),
        face=frozen_array(face, np.int32),
    )


def _sorted_by(region: IntArray, count: int) -> tuple[IntArray, IntArray]:
    """The entries in the order of their regions, and where each of `count` regions starts."""
    starts = np.zeros(count + 1, np.int64)
    np.cumsum(np.bincount(region, minlength=count), out=starts[1:])
    return np.argsort(region, kind="stable"), starts
