"""Write meshes as part files, for the tests of reading."""

import io
import json
import struct
import zipfile
from pathlib import Path

import numpy as np

from firstpour.values import Mesh


def binary_stl(mesh: Mesh) -> bytes:
    """Binary STL: 80 bytes of anything, the count, 50 bytes a face."""
    corners = mesh.vertices_mm[mesh.faces].astype("<f4")
    body = b"".join(b"\0" * 12 + face.tobytes() + b"\0\0" for face in corners)
    return b"solid although binary".ljust(80) + struct.pack("<I", len(corners)) + body


def text_stl(mesh: Mesh) -> bytes:
    """ASCII STL."""
    lines = ["solid part"]
    for face in mesh.vertices_mm[mesh.faces]:
        lines += [" facet normal 0 0 0", "  outer loop"]
        lines += [f"   vertex {x!r} {y!r} {z!r}" for x, y, z in face.tolist()]
        lines += ["  endloop", " endfacet"]
    return "\n".join([*lines, "endsolid part", ""]).encode()


def obj(mesh: Mesh) -> bytes:
    """OBJ with normals and texture numbers that are to be passed over."""
    lines = ["mtllib none.mtl", "o part", *(f"v {x!r} {y!r} {z!r}" for x, y, z in mesh.vertices_mm.tolist())]
    lines += ["vn 0 0 1", "vt 0 0", *(f"f {a + 1}/1/1 {b + 1}//1 {c + 1}" for a, b, c in mesh.faces.tolist())]
    return "\n".join(lines).encode()


def ply(mesh: Mesh) -> bytes:
    """ASCII PLY."""
    head = [
        "ply",
        "format ascii 1.0",
        f"element vertex {len(mesh.vertices_mm)}",
        *(f"property double {axis}" for axis in "xyz"),
        f"element face {len(mesh.faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    ]
    rows = [f"{x!r} {y!r} {z!r}" for x, y, z in mesh.vertices_mm.tolist()]
    rows += [f"3 {a} {b} {c}" for a, b, c in mesh.faces.tolist()]
    return "\n".join([*head, *rows, ""]).encode()


def glb(mesh: Mesh) -> bytes:
    """GLB after glTF 2.0: one JSON chunk, one binary chunk."""
    points, indices = mesh.vertices_mm.astype("<f4").tobytes(), mesh.faces.astype("<u4").tobytes()
    low, high = mesh.vertices_mm.min(axis=0).tolist(), mesh.vertices_mm.max(axis=0).tolist()
    content = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "buffers": [{"byteLength": len(points) + len(indices)}],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": len(points)},
            {"buffer": 0, "byteOffset": len(points), "byteLength": len(indices)},
        ],
        "accessors": [
            {
                "bufferView": 0,
                "componentType": 5126,
                "count": len(mesh.vertices_mm),
                "type": "VEC3",
                "min": low,
                "max": high,
            },
            {"bufferView": 1, "componentType": 5125, "count": mesh.faces.size, "type": "SCALAR"},
        ],
    }
    text = json.dumps(content).encode()
    text += b" " * (-len(text) % 4)
    binary = points + indices
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(binary), 0x004E4942) + binary
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def model_xml(
    mesh: Mesh, *, unit: str = "millimeter", build: str = '<item objectid="1"/>', more: str = "", doctype: str = ""
) -> str:
    """The model part of a 3MF with the mesh as object 1."""
    vertices = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in mesh.vertices_mm.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{doctype}'
        f'<model unit="{unit}" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>'
        f'<object id="1" type="model"><mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>'
        f"</object>{more}</resources><build>{build}</build></model>"
    )


def threemf(model: str, *, name: str = "3D/3dmodel.model") -> bytes:
    """The package around a model, with its relations."""
    relations = (
        '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f'<Relationship Target="/{name}" Id="r0" '
        'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("_rels/.rels", relations)
        archive.writestr(name, model)
    return packed.getvalue()


L_SHAPE = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)]
"""Area 500 mm²; a fan from its second corner would cover the notch."""


def l_block(form: str, *, turn: int = 0) -> bytes:
    """An L 10 mm high whose ends are faces of six corners, beginning at corner `turn`."""
    points = [(x, y, z) for z in (0, 10) for x, y in L_SHAPE]
    ring = [(n + turn) % 6 for n in range(6)]
    faces = [ring[::-1], [n + 6 for n in ring], *[[n, (n + 1) % 6, (n + 1) % 6 + 6, n + 6] for n in range(6)]]
    if form == "obj":
        lines = [f"v {x} {y} {z}" for x, y, z in points] + [
            "f " + " ".join(str(n + 1) for n in face) for face in faces
        ]
        return "\n".join(lines).encode()
    head = (
        f"ply\nformat {form} 1.0\ncomment an L\nelement vertex 12\nproperty float x\nproperty float y\n"
        "property float z\nproperty uchar red\nelement face 8\nproperty list uchar int vertex_indices\nend_header\n"
    )
    if form == "ascii":
        rows = [f"{x} {y} {z} 7" for x, y, z in points]
        rows += [" ".join(str(n) for n in (len(face), *face)) for face in faces]
        return (head + "\n".join(rows) + "\n").encode()
    order = "<" if "little" in form else ">"
    body = b"".join(struct.pack(order + "3fB", *point, 7) for point in points)
    body += b"".join(struct.pack(f"{order}B{len(face)}i", len(face), *face) for face in faces)
    return head.encode() + body


def written(folder: Path, name: str, data: bytes) -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(data)
    return path


def soup(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    """Three points of its own for each face."""
    return mesh.vertices_mm[mesh.faces].reshape(-1, 3), np.arange(3 * len(mesh.faces)).reshape(-1, 3)
