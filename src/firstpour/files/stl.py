"""Binary STL: a header of eighty bytes, a count of four, fifty bytes a face (format from memory)."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firstpour.errors import CannotWrite
from firstpour.values import Mesh, face_normals

FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
HEADER_BYTES = 80


def stl_bytes(mesh: Mesh) -> bytes:
    """The file for a mesh in mm; the same mesh gives the same bytes."""
    faces = np.zeros(len(mesh.faces), FACE)
    faces["normal"] = face_normals(mesh)
    faces["corners"] = mesh.vertices_mm[mesh.faces]
    header = b"Firstpour, binary STL, lengths in mm".ljust(HEADER_BYTES)
    return header + len(faces).to_bytes(4, "little") + faces.tobytes()


def read_stl(path: Path) -> NDArray[np.float32]:
    """Corners of the faces (m, 3, 3) in mm, as the file holds them.

    Raises
    ------
    CannotWrite
        If the file is not as long as its count of faces says: the disk did not keep all of it.
    """
    content = path.read_bytes()
    count = int(np.frombuffer(content, "<u4", count=1, offset=HEADER_BYTES)[0]) if len(content) >= 84 else -1
    if len(content) != HEADER_BYTES + 4 + count * FACE.itemsize:
        raise CannotWrite(
            f"{path.name} holds {len(content)} bytes, which is not what was written",
            remedy="check the disk (is it full?) and run again",
        )
    corners: NDArray[np.float32] = np.frombuffer(content, FACE, offset=HEADER_BYTES + 4)["corners"].astype(np.float32)
    return corners
