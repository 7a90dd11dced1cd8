"""OBJ: points and faces of three or more corners, as text; materials, textures and normals are passed over."""

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.heap import Heap
from firstpour.values import FloatArray, IntArray


def obj_heap(data: bytes) -> Heap:
    """Points and triangles in file order; a face of more than three corners becomes a fan.

    Raises
    ------
    UnreadablePart
        If a line cannot be read, with its number.
    """
    points: list[list[float]] = []
    corners: list[int] = []
    number = 0
    try:
        for line in data.splitlines():
            number += 1
            words = line.split()
            if not words:
                continue
            if words[0] == b"v":
                points.append(_point(words))
            elif words[0] == b"f":
                ring = [_index(word, len(points)) for word in words[1:]]
                for k in range(1, len(ring) - 1):
                    corners += (ring[0], ring[k], ring[k + 1])
        vertices: FloatArray = np.array(points, np.float64).reshape(-1, 3)
    except ValueError as error:
        raise UnreadablePart(
            f"line {number} of the OBJ cannot be read ({error})", remedy="export the part again"
        ) from error
    faces: IntArray = np.array(corners, np.int64).reshape(-1, 3)
    return Heap(vertices=vertices, faces=faces)


def _point(words: list[bytes]) -> list[float]:
    if len(words) < 4:
        raise ValueError("a point needs three numbers")
    return [float(word) for word in words[1:4]]


def _index(word: bytes, points: int) -> int:
    """Number of a corner's point from 0; the file counts from 1, or back from the last with −1.

    >>> _index(b"3/1/2", 10), _index(b"-1", 10)
    (2, 9)
    """
    number = int(word.split(b"/", 1)[0])
    return number - 1 if number > 0 else points + number
