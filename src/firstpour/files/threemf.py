"""3MF: one zip with all pieces, each with its name and place (3MF Core Specification 1.x; names from memory)."""

import io
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np

from firstpour.errors import CannotWrite
from firstpour.values import FloatArray, Mesh
from firstpour.writing.whole import Over, write_whole

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
MODEL_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
MODEL = "3D/3dmodel.model"
HEADER = '<?xml version="1.0" encoding="UTF-8"?>\n'
LONG_AGO = (1980, 1, 1, 0, 0, 0)
"""The earliest date a zip can hold: the same pieces give the same bytes on every day."""

_TYPES = (
    f'{HEADER}<Types xmlns="{CONTENT_TYPES}">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
_ROOT = (
    f'{HEADER}<Relationships xmlns="{RELATIONS}">'
    f'<Relationship Target="/{MODEL}" Id="rel0" Type="{MODEL_RELATION}"/></Relationships>'
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid3mf:
    """A solid in a 3MF: its name, its mesh in mm and where its origin goes (3,)."""

    name: str
    mesh: Mesh
    place_mm: FloatArray


def model_of(solids: Sequence[Solid3mf]) -> str:
    """The model part of the package: each solid an object, placed by an item of the build."""
    objects = "".join(_object(number, solid) for number, solid in enumerate(solids, start=1))
    items = "".join(_item(number, solid) for number, solid in enumerate(solids, start=1))
    return (
        f'{HEADER}<model unit="millimeter" xml:lang="en" xmlns="{CORE}">'
        f"<resources>{objects}</resources><build>{items}</build></model>"
    )


def write_3mf(path: Path, model: str) -> None:
    """Write the package round a model part; the same model gives the same bytes."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as package:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _ROOT), (MODEL, model)):
            entry = zipfile.ZipInfo(name, date_time=LONG_AGO)
            entry.external_attr = 0o644 << 16
            package.writestr(entry, text, compress_type=zipfile.ZIP_DEFLATED, compresslevel=4)
    write_whole(path, content.getvalue(), over=Over.NOTHING)


def read_model(path: Path) -> str:
    """The model part as the file holds it.

    Raises
    ------
    CannotWrite
        If the package is damaged: the disk did not keep all of it.
    """
    try:
        with zipfile.ZipFile(path) as package:
            return package.read(MODEL).decode()
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError) as error:
        raise CannotWrite(
            f"{path.name} cannot be read back: {error}", remedy="check the disk (is it full?) and run again"
        ) from error


def _object(number: int, solid: Solid3mf) -> str:
    vertices_mm = solid.mesh.vertices_mm.astype(np.float32).astype(np.float64)
    # one format for all of it takes half the time of one a line
    points = '<vertex x="%.9g" y="%.9g" z="%.9g"/>' * len(vertices_mm) % tuple(vertices_mm.ravel().tolist())
    faces = solid.mesh.faces
    triangles = '<triangle v1="%d" v2="%d" v3="%d"/>' * len(faces) % tuple(faces.ravel().tolist())
    return (
        f'<object id="{number}" type="model" name={quoteattr(solid.name)}><mesh><vertices>{points}</vertices>'
        f"<triangles>{triangles}</triangles></mesh></object>"
    )


def _item(number: int, solid: Solid3mf) -> str:
    x, y, z = (f"{float(value):.9g}" for value in solid.place_mm)
    return f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {x} {y} {z}"/>'
