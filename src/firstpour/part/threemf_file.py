"""3MF: a zip of XML. Written after the open 3MF Core Specification 1.3, chapters 2 (package), 3 (model), 4 (objects).

A zip can promise little and unpack to gigabytes, so both what it declares and what comes out are held to a limit. XML
entities are not resolved and nothing is fetched.
"""

import io
import zipfile
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO

import numpy as np
from lxml import etree

from firstpour.errors import UnreadablePart
from firstpour.part.heap import MOST_FACES, Heap, refuse_too_many_faces
from firstpour.values import FloatArray, IntArray

MOST_BYTES = 1 << 30
"""Most that the package may unpack to."""
MOST_RATIO = 200
"""Most that one byte of the package may unpack to, above `ALWAYS_BYTES`; meshes in XML come to 5–20."""
ALWAYS_BYTES = 1 << 26
MOST_DEPTH = 16
"""Most levels of components within components."""
MOST_COMPONENTS = 10_000
MOST_DIGITS = 12
"""Most digits of the number of a point."""
MM_PER_UNIT = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
"""The unit attribute of a model (core specification, 3.4 Model); millimetre where it is missing."""
_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """An object put in place: its key (file in the package, number) and a (4, 3) row-vector transform."""

    key: tuple[str, str]
    transform: FloatArray


@dataclass(slots=True, kw_only=True, eq=False)
class Object3mf:
    """One object of the package: a mesh or components."""

    vertices: "array[float]" = field(default_factory=lambda: array("d"))
    triangles: "array[int]" = field(default_factory=lambda: array("q"))
    components: list[Placed] = field(default_factory=list)


@dataclass(slots=True, kw_only=True, eq=False)
class Package:
    """What has been read of the package so far."""

    unit: str = "millimeter"
    objects: dict[tuple[str, str], Object3mf] = field(default_factory=dict)
    build: list[Placed] = field(default_factory=list)


class _Metered(io.RawIOBase):
    """A stream out of the zip that stops once too much has come out of it."""

    def __init__(self, stream: IO[bytes], limit: int) -> None:
        self._stream, self._left = stream, limit

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1, /) -> bytes:
        data = self._stream.read(min(size, 1 << 20) if size >= 0 else 1 << 20)
        self._left -= len(data)
        if self._left < 0:
            raise _too_large()
        return data


def _too_large() -> UnreadablePart:
    return UnreadablePart(
        f"the 3MF unpacks to more than {MOST_BYTES >> 20} MiB or to more than {MOST_RATIO} times its size",
        remedy="do not trust this file; if it is yours, reduce its faces or export an STL",
    )


def threemf_heap(data: bytes) -> Heap:
    """Triangles of everything in the package's build, in place, in its own unit.

    Raises
    ------
    UnreadablePart
        If it is not a 3MF, unpacks to too much, or its XML is broken.
    """
    package = Package()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            limit = _checked_limit(archive, len(data))
            root = _root_model(archive)
            names = [name for name in archive.namelist() if name.lower().endswith(".model")]
            for name in sorted(names, key=lambda name: (name != root, name)):
                with archive.open(name) as stream:
                    _read_model(_Metered(stream, limit), "/" + name, package, is_root=name == root)
        parts = list(_meshes(package))
        mm_per_unit = _mm_per_unit(package.unit)
    except (UnreadablePart, MemoryError):
        raise
    except Exception as error:  # whatever a damaged package makes the zip, the inflating or the XML reader raise
        raise UnreadablePart(
            f"the 3MF cannot be read ({_why(error)})", remedy="export the part again as 3MF or STL"
        ) from error
    offsets = np.cumsum([0] + [len(vertices) for vertices, _ in parts])
    return Heap(
        vertices=np.concatenate([np.zeros((0, 3))] + [vertices for vertices, _ in parts]),
        faces=np.concatenate(
            [np.zeros((0, 3), np.int64)] + [faces + offsets[n] for n, (_, faces) in enumerate(parts)]
        ),
        mm_per_unit=mm_per_unit,
    )


class _Broken(ValueError):
    """Said in our own words, never in the file's bytes."""


def _why(error: Exception) -> str:
    """What is wrong, in words that quote nothing of the file."""
    if isinstance(error, _Broken):
        return str(error)
    if isinstance(error, etree.XMLSyntaxError):
        return f"its XML is broken near line {error.lineno or 1}"
    if isinstance(error, KeyError):
        return "it holds no model where its relations point"
    return "the package is damaged, cut short, or packed in a way that cannot be unpacked"


def _mm_per_unit(unit: str) -> float:
    if unit not in MM_PER_UNIT:
        raise _Broken(f"its unit is none of {', '.join(MM_PER_UNIT)}")
    return MM_PER_UNIT[unit]


def _number(element: etree._Element, name: str) -> float:
    """An attribute that must be a number."""
    try:
        return float(element.get(name, ""))
    except ValueError as error:
        raise _Broken(f"a {etree.QName(element).localname} has no number {name}") from error


def _index(element: etree._Element, name: str) -> int:
    """An attribute that must be the number of a point."""
    text = element.get(name, "")
    if not (text.isascii() and text.strip().isdigit() and len(text) <= MOST_DIGITS):
        raise _Broken(f"a {etree.QName(element).localname} has no whole number {name}")
    return int(text)


def _checked_limit(archive: zipfile.ZipFile, packed_bytes: int) -> int:
    limit = min(MOST_BYTES, max(ALWAYS_BYTES, MOST_RATIO * packed_bytes))
    if sum(entry.file_size for entry in archive.infolist()) > limit:
        raise _too_large()
    return limit


def _parser_events(stream: io.RawIOBase, tags: tuple[str, ...]) -> Iterator[etree._Element]:
    """Elements as they close, each emptied afterwards so that memory stays low."""
    events = etree.iterparse(
        stream,
        events=("end",),
        tag=[f"{{*}}{tag}" for tag in tags],
        resolve_entities=False,
        load_dtd=False,
        no_network=True,
        huge_tree=True,
        remove_comments=True,
        remove_pis=True,
    )
    for _, element in events:
        yield element
        element.clear(keep_tail=False)
        while element.getprevious() is not None:
            del element.getparent()[0]


def _root_model(archive: zipfile.ZipFile) -> str:
    """The model that the package's relations name; without relations, the usual place."""
    if "_rels/.rels" in archive.namelist():
        with archive.open("_rels/.rels") as stream:
            for relation in _parser_events(_Metered(stream, ALWAYS_BYTES), ("Relationship",)):
                if relation.get("Type") == _RELATION:
                    return str(relation.get("Target")).lstrip("/")
    return "3D/3dmodel.model"


def _refuse_too_many(number: int) -> None:
    if number > MOST_FACES:
        refuse_too_many_faces(number)


def _read_model(stream: io.RawIOBase, path: str, package: Package, *, is_root: bool) -> None:
    """Take the objects of one model file; the build and the unit count in the root alone."""
    current = Object3mf()
    tags = ("vertex", "triangle", "component", "object", "item", "model")
    for element in _parser_events(stream, tags):
        tag = etree.QName(element).localname
        if tag == "vertex":
            current.vertices.extend(_number(element, axis) for axis in "xyz")
            _refuse_too_many(len(current.vertices) // 3)
        elif tag == "triangle":
            current.triangles.extend(_index(element, corner) for corner in ("v1", "v2", "v3"))
            _refuse_too_many(len(current.triangles) // 3)
        elif tag == "component":
            current.components.append(_placed(element, path))
        elif tag == "object":
            if element.get("type", "model") in ("model", "solidsupport"):
                package.objects[path, element.get("id", "")] = current
            current = Object3mf()
        elif tag == "item" and is_root:
            package.build.append(_placed(element, path))
        elif tag == "model" and is_root:
            package.unit = element.get("unit", "millimeter")


def _placed(element: etree._Element, path: str) -> Placed:
    """Where a component or an item goes; the path attribute points into another model of the package."""
    other = next((value for key, value in element.attrib.items() if etree.QName(key).localname == "path"), path)
    return Placed(key=(str(other), str(element.get("objectid"))), transform=_transform(element.get("transform")))


def _transform(text: str | None) -> FloatArray:
    """Twelve numbers, row after row, as a (4, 3) matrix: p' = (x, y, z, 1) · M (core specification, 3.3).

    >>> _transform(None).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 0.0]]
    """
    if text is None:
        return np.eye(4, 3)
    try:
        return np.array([float(word) for word in text.split()]).reshape(4, 3)
    except ValueError as error:
        raise _Broken("a transform is not twelve numbers") from error


def _meshes(package: Package) -> Iterator[tuple[FloatArray, IntArray]]:
    """Vertices and faces of each mesh in the build, moved into place."""
    arrays = {
        key: (
            np.frombuffer(each.vertices, np.float64).reshape(-1, 3),
            np.frombuffer(each.triangles, np.int64).reshape(-1, 3),
        )
        for key, each in package.objects.items()
    }
    waiting = [(item, item.transform, 0) for item in reversed(package.build)]
    used, total = 0, 0
    while waiting:
        placed, transform, depth = waiting.pop()
        used += 1
        if depth > MOST_DEPTH or used > MOST_COMPONENTS:
            raise _Broken(f"components nest deeper than {MOST_DEPTH} or number more than {MOST_COMPONENTS}")
        if placed.key not in package.objects:
            continue
        vertices, faces = arrays[placed.key]
        if len(faces):
            if faces.min() < 0 or faces.max() >= len(vertices):
                raise _Broken("a triangle names a vertex that is not there")
            total += len(faces)
            _refuse_too_many(total)
            mirrored = np.linalg.det(transform[:3]) < 0
            yield vertices @ transform[:3] + transform[3], faces[:, ::-1] if mirrored else faces
        for component in reversed(package.objects[placed.key].components):
            inner = component.transform
            both = np.concatenate([inner[:3] @ transform[:3], inner[3:] @ transform[:3] + transform[3]])
            waiting.append((component, both, depth + 1))
