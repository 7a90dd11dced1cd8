"""Valid solids written as badly as exporters do: the volume read is right, or the file is refused in words.

Boxes on a grid, so that the volume is known by counting cells; the cells of the arrangement and how it is spoilt are
drawn from the seed, and the right volume stands in the head of the STL file.
"""

import random
import struct
import tempfile
from pathlib import Path

import numpy as np

from box_arrangements import CELLS, Box, box_corners, cells_of, volume_mm3
from firstpour.part.read import read_part
from firstpour.values import FloatArray, mesh_volume_mm3

HAIR_MM3 = 5.0
"""What drawing touching edges a hair back may take from a part 60 mm long."""
HEAD = b"right volume in mm3: "


def a_solid(chance: random.Random) -> bytes:
    """One to five boxes, or voids in a block, with faces repeated, turned, split or in any order."""
    rng = np.random.default_rng(chance.randrange(2**32))
    boxes = [_box(chance) for _ in range(chance.randint(1, 5))]
    fine, hollow = chance.random() < 0.3, chance.random() < 0.3
    if hollow:
        boxes = [tuple(min(max(side, 1), CELLS - 1) for side in one) for one in boxes]  # type: ignore[misc]
        boxes = [one for one in boxes if all(one[k] < one[k + 3] for k in range(3))]
    right_mm3 = volume_mm3(cells_of(boxes))
    shells = [(one, hollow) for one in boxes]
    if hollow:
        right_mm3 = float(CELLS**3) * 1000.0 - right_mm3
        shells = [((0, 0, 0, CELLS, CELLS, CELLS), False), *shells]
    corners = [box_corners(one, fine=fine, inward=inward, rng=rng) for one, inward in shells]
    if not hollow and len(corners) == 1 and chance.random() < 0.5:
        corners[0] = corners[0][:, ::-1]  # a single body may be inside out
    if chance.random() < 0.3:
        # A shell twice; not the block around voids, whose second copy fills them by the winding number of the whole.
        corners.append(corners[chance.randrange(int(hollow and len(corners) > 1), len(corners))])
    heap = np.concatenate(corners)
    for way in (_repeated, _split, _shuffled, _turned_points):
        if chance.random() < 0.4:
            heap = way(heap, rng)
    return _stl(heap, right_mm3)


def read_solid(data: bytes) -> None:
    """Read it; a volume that is not the one in its head is an error."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "solid.stl")
        path.write_bytes(data)
        found_mm3 = mesh_volume_mm3(read_part(path).mesh)
    right_mm3 = float(data[len(HEAD) : 80])
    if abs(found_mm3 - right_mm3) > HAIR_MM3:
        raise ValueError(f"{found_mm3} mm³ were read, {right_mm3} are right")


def _box(chance: random.Random) -> Box:
    sides = [sorted(chance.sample(range(CELLS + 1), 2)) for _ in range(3)]
    (x, u), (y, v), (z, w) = sides
    return (x, y, z, u, v, w)


def _stl(corners: FloatArray, right_mm3: float) -> bytes:
    body = b"".join(b"\0" * 12 + face.astype("<f4").tobytes() + b"\0\0" for face in corners)
    return (HEAD + b"%.1f" % right_mm3).ljust(80) + struct.pack("<I", len(corners)) + body


def _repeated(corners: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Some faces stand twice."""
    return np.concatenate([corners, corners[rng.integers(len(corners), size=rng.integers(1, 4))]])


def _split(corners: FloatArray, rng: np.random.Generator) -> FloatArray:
    """A face is three about a point within it."""
    at = int(rng.integers(len(corners)))
    a, b, c = corners[at]
    middle = np.round((a + b + c) / 3.0, 3)
    return np.concatenate([np.delete(corners, at, axis=0), [[a, b, middle], [b, c, middle], [c, a, middle]]])


def _shuffled(corners: FloatArray, rng: np.random.Generator) -> FloatArray:
    """The faces in any order."""
    mixed: FloatArray = rng.permutation(corners)
    return mixed


def _turned_points(corners: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Each face begins at another of its points."""
    turns = rng.integers(3, size=len(corners))
    return np.stack([np.roll(face, int(turn), axis=0) for face, turn in zip(corners, turns, strict=True)])
