"""Meshes for the viewer as raw typed arrays.

Little-endian, all of it on steps of four bytes::

    4 bytes   the letters FPME
    uint32    version, 1
    uint32    n, vertices
    uint32    m, faces
    uint32    k, attributes
    k × 32    their names, ASCII filled up with zeros
    float32   n × 3, x y z in mm
    uint32    m × 3, vertices of each face, counter-clockwise from outside
    k ×       float32, m: one figure a face, in the order of the names
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstpour.values import Mesh

MAGIC = b"FPME"
VERSION = 1
NAME_BYTES = 32
HEAD = np.dtype("<u4")
MEDIA_TYPE = "application/octet-stream"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SentMesh:
    """A mesh as it is sent: `vertices_mm` (n, 3), `faces` (m, 3), and figures (m,) by name."""

    vertices_mm: NDArray[np.float32]
    faces: NDArray[np.uint32]
    attributes: Mapping[str, NDArray[np.float32]]


def mesh_bytes(mesh: Mesh, attributes: Mapping[str, NDArray[Any]]) -> bytes:
    """The mesh and a figure for each face under each name.

    Raises
    ------
    ValueError
        If a name is too long, or an attribute has not one figure a face.
    """
    n, m = len(mesh.vertices_mm), len(mesh.faces)
    pieces = [MAGIC, np.array([VERSION, n, m, len(attributes)], HEAD).tobytes()]
    for name, values in attributes.items():
        if len(name.encode("ascii")) > NAME_BYTES or values.shape != (m,):
            raise ValueError(f"{name}: {values.shape} figures for {m} faces")
        pieces.append(name.encode("ascii").ljust(NAME_BYTES, b"\0"))
    pieces.append(mesh.vertices_mm.astype("<f4").tobytes())
    pieces.append(mesh.faces.astype("<u4").tobytes())
    pieces += [values.astype("<f4").tobytes() for values in attributes.values()]
    return b"".join(pieces)


def mesh_from_bytes(data: bytes) -> SentMesh:
    """What `mesh_bytes` wrote.

    Raises
    ------
    ValueError
        If it is something else, or cut short.
    """
    if data[:4] != MAGIC:
        raise ValueError("no mesh of ours")
    version, n, m, k = (int(one) for one in np.frombuffer(data, HEAD, 4, 4))
    names_at, xyz_at = 20, 20 + NAME_BYTES * k
    faces_at, figures_at = xyz_at + 12 * n, xyz_at + 12 * n + 12 * m
    if version != VERSION or len(data) != figures_at + 4 * m * k:
        raise ValueError("a mesh of another version, or cut short")
    names = [data[names_at + NAME_BYTES * i :][:NAME_BYTES].rstrip(b"\0").decode("ascii") for i in range(k)]
    return SentMesh(
        vertices_mm=np.frombuffer(data, "<f4", 3 * n, xyz_at).reshape(n, 3),
        faces=np.frombuffer(data, "<u4", 3 * m, faces_at).reshape(m, 3),
        attributes={name: np.frombuffer(data, "<f4", m, figures_at + 4 * m * i) for i, name in enumerate(names)},
    )
