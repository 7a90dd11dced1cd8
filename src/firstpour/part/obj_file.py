"""OBJ: points and faces of three or more corners, as text; materials, textures and normals are passed over."""

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.heap import Heap
from firstpour.part.polygons import triangles_of
from firstpour.values import FloatArray

MOST_POINTS = 1 << 40


def obj_heap(data: bytes) -> Heap:
    """Points and triangles in file order.

    Raises
    ------
    UnreadablePart
        If a line cannot be read, with its number.
    """
    points: list[list[float]] = []
    corners: list[int] = []
    sizes: list[int] = []
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
                corners += [_index(word, len(points)) for word in words[1:]]
                sizes.append(len(words) - 1)
    except ValueError as error:
        why = str(error) if type(error) is _Broken else "a number is expected there"
        raise UnreadablePart(
            f"line {number} of the OBJ cannot be read ({why})", remedy="export the part again"
        ) from error
    vertices: FloatArray = np.array(points, np.float64).reshape(-1, 3)
    faces = triangles_of(vertices, np.array(corners, np.int64), np.array(sizes, np.int64))
    return Heap(vertices=vertices, faces=faces)


class _Broken(ValueError):
    """Said in our own words, never in the file's bytes."""


def _point(words: list[bytes]) -> list[float]:
    if len(words) < 4:
        raise _Broken("a point needs three numbers")
    return [float(word) for word in words[1:4]]


def _index(word: bytes, points: int) -> int:
    """Number of a corner's point from 0; the file counts from 1, or back from the last with −1.

    >>> _index(b"3/1/2", 10), _index(b"-1", 10)
    (2, 9)
    """
    number = int(word.split(b"/", 1)[0])
    if abs(number) > MOST_POINTS:
        raise _Broken("it names a point that no file has")
    return number - 1 if number > 0 else points + number
