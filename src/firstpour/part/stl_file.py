"""STL, both kinds: three points a face, no unit, no shared points."""

import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.values import FloatArray

HEADER_BYTES, FACE_BYTES = 84, 50
_FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_corners(data: bytes) -> FloatArray:
    """Corners (m, 3, 3) of the faces, as the file gives them.

    A file is binary if its length fits the count of faces in its head; many binary files begin with `solid` too.

    Raises
    ------
    UnreadablePart
        If the file is cut short, is text of another kind, or holds no faces.
    """
    if len(data) >= HEADER_BYTES and _fits(data):
        return _binary_corners(data)
    if data[:400].lstrip().lower().startswith(b"solid") and b"\x00" not in data[:HEADER_BYTES]:
        return _text_corners(data)
    if len(data) >= HEADER_BYTES and b"\x00" in data:
        raise UnreadablePart(
            f"the STL is cut short or damaged: its head promises {_promised(data)} faces, which take "
            f"{HEADER_BYTES + FACE_BYTES * _promised(data)} bytes, but the file has {len(data)}",
            remedy="export or copy the file again",
        )
    raise UnreadablePart(
        "the file is named .stl but is not one: it is neither binary STL nor text that begins with 'solid'",
        remedy="export the part again as STL, OBJ, PLY, 3MF or GLB",
    )


def _promised(data: bytes) -> int:
    return int.from_bytes(data[80:84], "little")


def _fits(data: bytes) -> bool:
    return len(data) == HEADER_BYTES + FACE_BYTES * _promised(data)


def _binary_corners(data: bytes) -> FloatArray:
    faces = np.frombuffer(data, _FACE, offset=HEADER_BYTES)
    with np.errstate(invalid="ignore"):  # a number that is none is told of later
        return faces["corners"].astype(np.float64)


def _text_corners(data: bytes) -> FloatArray:
    """Three numbers after each word `vertex`; `endsolid` must close the text."""
    words = data.split()
    places = [n for n, word in enumerate(words) if word == b"vertex" or word.lower() == b"vertex"]
    ended = any(word.lower() == b"endsolid" for word in words[-40:])
    if not ended or len(places) % 3 or (places and places[-1] + 3 >= len(words)):
        raise UnreadablePart(
            f"the STL text is cut short: {len(places)} corners and {'an' if ended else 'no'} end",
            remedy="export or copy the file again",
        )
    try:
        numbers = np.array([words[n + 1 : n + 4] for n in places], dtype=object).astype(np.float64)
    except ValueError as error:
        raise UnreadablePart(
            "the STL text has a corner that is not three numbers", remedy="export the part again"
        ) from error
    return numbers.reshape(-1, 3, 3)
