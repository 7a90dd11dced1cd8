"""PLY, text and binary of either byte order: points and faces of any number of corners; the rest is passed over."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import UnreadablePart
from firstpour.part.heap import Heap
from firstpour.part.polygons import triangles_of
from firstpour.values import FloatArray, IntArray

MOST_HEADER_BYTES = 1 << 20
MOST_CORNERS = 10_000
"""Most corners of one face."""
_KINDS = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
_ORDERS = {b"ascii": "", b"binary_little_endian": "<", b"binary_big_endian": ">"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Property:
    """A property: its name, its kind, and for a list the kind of its count."""

    name: str
    kind: str
    count_kind: str | None = None


@dataclass(slots=True, kw_only=True)
class Element:
    """An element of the header: `count` rows of its properties."""

    name: str
    count: int
    properties: list[Property] = field(default_factory=list)

    @property
    def plain(self) -> bool:
        """Whether every row is alike: no list among its properties."""
        return all(one.count_kind is None for one in self.properties)


@dataclass(slots=True, kw_only=True, eq=False)
class Body:
    """What follows the header and how far it is read: bytes, or words of a text."""

    order: str
    data: bytes
    words: list[bytes]
    at: int = 0


def ply_heap(data: bytes) -> Heap:
    """Points and triangles in file order.

    Raises
    ------
    UnreadablePart
        If the header cannot be understood or the file is cut short.
    """
    try:
        order, elements, body = _header(data)
        text = order == ""
        left = Body(order=order, data=b"" if text else body, words=body.split() if text else [])
        points, faces = np.zeros((0, 3)), np.zeros((0, 3), np.int64)
        for element in elements:
            if element.name == "vertex":
                points = _points(element, left)
            elif element.name == "face":
                faces = triangles_of(points, *_rings(element, left))
            else:
                _rows(element, left, wanted="")
    except (ValueError, OverflowError, IndexError) as error:
        raise _damaged(str(error) if type(error) is _Broken else "a number in it cannot be read") from error
    return Heap(vertices=points, faces=faces)


class _Broken(ValueError):
    """Said in our own words, never in the file's bytes."""


def _damaged(why: str) -> UnreadablePart:
    return UnreadablePart(
        f"the PLY is damaged or cut short and cannot be read ({why})", remedy="export the part again as PLY or STL"
    )


def _header(data: bytes) -> tuple[str, list[Element], bytes]:
    end = data.find(b"end_header", 0, MOST_HEADER_BYTES)
    stop = data.find(b"\n", end) if end >= 0 else -1
    if not data.startswith(b"ply") or end < 0:
        raise _Broken("it has no header")
    order, elements = None, []
    for line in data[:end].replace(b"\r", b"\n").split(b"\n"):
        words = line.split()
        if not words or words[0] in (b"comment", b"obj_info", b"ply"):
            continue
        if words[0] == b"format" and len(words) >= 2:
            order = _ORDERS.get(words[1])
        elif words[0] == b"element" and len(words) == 3:
            elements.append(Element(name=words[1].decode("latin-1"), count=int(words[2])))
        elif words[0] == b"property" and elements:
            elements[-1].properties.append(_property(words[1:]))
        else:
            raise _Broken("a line of its header cannot be understood")
    if order is None:
        raise _Broken("its header says no known format")
    if any(element.count < 0 for element in elements):
        raise _Broken("a count in its header is below zero")
    return order, elements, data[stop + 1 :] if stop >= 0 else b""


def _property(words: list[bytes]) -> Property:
    names = [word.decode("latin-1") for word in words]
    kinds = [_KINDS.get(name) for name in names[1:-1] if names[0] == "list"] or [_KINDS.get(names[0])]
    if len(names) != (4 if names[0] == "list" else 2) or None in kinds:
        raise _Broken("a property in its header is of no known kind")
    count_kind = kinds[0] if names[0] == "list" else None
    if count_kind and count_kind[0] == "f":
        raise _Broken("a list in its header is counted in fractions")
    return Property(name=names[-1], kind=str(kinds[-1]), count_kind=count_kind)


def _points(element: Element, body: Body) -> FloatArray:
    names = [one.name for one in element.properties]
    if not element.plain or not {"x", "y", "z"} <= set(names):
        raise _Broken("its points have no x, y and z")
    if len(set(names)) < len(names):
        raise _Broken("its points name a property twice")
    if body.order:
        rows = _plain_rows(element, body)
        return np.stack([rows[f"p{names.index(axis)}"].astype(np.float64) for axis in "xyz"], axis=1)
    words = _taken(body, element.count * len(names))
    table = np.array(words, dtype=object).reshape(element.count, len(names))
    return table[:, [names.index(axis) for axis in "xyz"]].astype(np.float64)


def _rings(element: Element, body: Body) -> tuple[IntArray, IntArray]:
    """Corners one face after the other, and how many each has."""
    wanted = next((one.name for one in element.properties if one.name in ("vertex_indices", "vertex_index")), None)
    if wanted is None or next(one for one in element.properties if one.name == wanted).count_kind is None:
        raise _Broken("its faces have no list of points")
    return _rows(element, body, wanted=wanted)


def _rows(element: Element, body: Body, *, wanted: str) -> tuple[IntArray, IntArray]:
    """The lists called `wanted` of all rows; the rest is passed over."""
    none = np.zeros(0, np.int64), np.zeros(0, np.int64)
    if element.plain:
        if body.order:
            _plain_rows(element, body)
        else:
            _taken(body, element.count * len(element.properties))
        return none
    if element.count == 0:
        return none
    alike = _rows_alike(element, body, wanted=wanted)
    return alike if alike is not None else _rows_by_row(element, body, wanted=wanted)


def _rows_alike(element: Element, body: Body, *, wanted: str) -> tuple[IntArray, IntArray] | None:
    """All rows at once, where their lists are as long as those of the first; None where they are not."""
    at = body.at
    sizes = _first_sizes(element, body)
    body.at = at
    if body.order:
        fields: list[Any] = []
        for n, one in enumerate(element.properties):
            if one.count_kind is not None:
                fields.append((f"count{n}", body.order + one.count_kind))
                fields.append((f"list{n}", body.order + one.kind, (sizes[n],)))
            else:
                fields.append((f"plain{n}", body.order + one.kind))
        kind = np.dtype(fields)
        if at + element.count * kind.itemsize > len(body.data):
            return None
        rows = np.frombuffer(body.data, kind, count=element.count, offset=at)
        lists = [n for n, one in enumerate(element.properties) if one.count_kind is not None]
        if any((rows[f"count{n}"] != sizes[n]).any() for n in lists):
            return None
        body.at = at + element.count * kind.itemsize
        for n in lists:
            if element.properties[n].name == wanted:
                return rows[f"list{n}"].astype(np.int64).ravel(), np.full(element.count, sizes[n])
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    if len(element.properties) > 1 or at + element.count * (sizes[0] + 1) > len(body.words):
        return None
    words = np.array(body.words[at : at + element.count * (sizes[0] + 1)]).reshape(element.count, -1)
    if (words[:, 0] != words[0, 0]).any():
        return None
    body.at = at + words.size
    return words[:, 1:].astype(np.int64).ravel(), np.full(element.count, sizes[0])


def _first_sizes(element: Element, body: Body) -> list[int]:
    """How long the lists of the next row are, 0 for what is none."""
    sizes = []
    for one in element.properties:
        sizes.append(_size(_number(body, one.count_kind)) if one.count_kind is not None else 0)
        for _ in range(sizes[-1] if one.count_kind is not None else 1):
            _number(body, one.kind)
    return sizes


def _rows_by_row(element: Element, body: Body, *, wanted: str) -> tuple[IntArray, IntArray]:
    corners: list[int] = []
    sizes: list[int] = []
    for _ in range(element.count):
        for one in element.properties:
            size = _size(_number(body, one.count_kind)) if one.count_kind is not None else 1
            row = [_number(body, one.kind) for _ in range(size)]
            if one.name == wanted:
                corners += [int(number) for number in row]
                sizes.append(size)
    return np.array(corners, np.int64), np.array(sizes, np.int64)


def _size(number: float) -> int:
    if not 0 <= number <= MOST_CORNERS:
        raise _Broken(f"a face has more than {MOST_CORNERS} corners, or fewer than none")
    return int(number)


def _number(body: Body, kind: str) -> float:
    if not body.order:
        return float(_taken(body, 1)[0])
    value = np.frombuffer(_bytes(body, int(kind[1])), body.order + kind)[0]
    return float(value)


def _plain_rows(element: Element, body: Body) -> NDArray[Any]:
    """The rows of an element without lists: property n is the field `pn`."""
    fields = [(f"p{n}", body.order + one.kind) for n, one in enumerate(element.properties)]
    size = sum(int(one.kind[1]) for one in element.properties)
    taken = _bytes(body, element.count * size)
    return np.frombuffer(taken, np.dtype(fields), count=element.count) if size else np.zeros(element.count)


def _bytes(body: Body, many: int) -> bytes:
    if body.at + many > len(body.data):
        raise _Broken("it ends too early")
    taken = body.data[body.at : body.at + many]
    body.at += many
    return taken


def _taken(body: Body, many: int) -> list[bytes]:
    if body.at + many > len(body.words):
        raise _Broken("it ends too early")
    taken = body.words[body.at : body.at + many]
    body.at += many
    return taken
