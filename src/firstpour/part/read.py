"""Read a part file into one closed solid in mm, repaired openly."""

import io
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from firstpour.errors import OutOfMemory, UnreadablePart
from firstpour.part.heap import Heap, refuse_too_many_faces
from firstpour.part.lighter import lighter
from firstpour.part.obj_file import obj_heap
from firstpour.part.part import Part
from firstpour.part.ply_file import ply_heap
from firstpour.part.repair import repair_mesh
from firstpour.part.step_file import facets_finding, step_glb
from firstpour.part.stl_file import stl_corners
from firstpour.part.threemf_file import threemf_heap
from firstpour.units import MM_PER_UNIT, LengthUnit
from firstpour.values import Finding, FloatArray, Severity

MOST_BYTES = 1 << 30
LIKELY_MM = (5.0, 600.0)
"""Longest side of the parts that are usually cast at a bench (our own limits)."""
POSSIBLE_MM = (1.0, 2000.0)
"""Outside these a mould cannot be printed and poured at all: an error finding (our own limits)."""
GLTF_MM_PER_UNIT = 1000.0
"""glTF 2.0 (ISO/IEC 12113), 3.4: the unit of all linear distances is the metre."""
_OTHER_UNITS = (
    ("mm", 1.0),
    ("inches", 25.4),
    ("cm", 10.0),
    ("metres", 1000.0),
    ("thousandths of an inch", 0.0254),
    ("micrometres", 0.001),
)


def read_part(path: Path, *, unit: LengthUnit = LengthUnit.MM) -> Part:
    """Read STL, OBJ, PLY, 3MF, GLB or STEP; `unit` is taken for files that do not say their own.

    Raises
    ------
    UnreadablePart
        If the file is missing, empty, damaged, of another kind, or holds no solid.
    OpenMesh
        If its surface is not closed and the gaps are not small.
    """
    path = Path(path)
    data = _bytes_of(path)
    try:
        heap = _READERS[path.suffix.lower()](data)
        del data
        refuse_too_many_faces(len(heap.faces))
        mm_per_unit = MM_PER_UNIT[unit] if heap.mm_per_unit is None else heap.mm_per_unit
        with np.errstate(invalid="ignore", over="ignore"):
            repaired = repair_mesh(heap.vertices * mm_per_unit, heap.faces)
    except MemoryError as error:
        raise OutOfMemory(
            f"the machine has too little memory to read {path.name}",
            remedy="close other programs, or reduce the faces of the part",
        ) from error
    findings = (
        *heap.findings,
        *_unit_findings(heap, path),
        *size_findings(repaired.mesh.vertices_mm, heap=heap, mm_per_unit=mm_per_unit),
        *repaired.findings,
    )
    return Part(
        name=path.stem,
        mesh=repaired.mesh,
        marks=np.zeros(len(repaired.mesh.faces), np.uint8),
        bodies=repaired.bodies,
        findings=findings,
        source=path,
        source_face=repaired.source_face,
        faces_read=len(heap.faces),
    )


def read_likely_part(path: Path, *, unit: LengthUnit = LengthUnit.MM) -> Part:
    """Read a part to work on: as `read_part`, but a size that nobody casts is refused, not only noticed.

    Very many faces become fewer, openly (`lighter`).

    Raises
    ------
    UnreadablePart, OpenMesh
        As `read_part`; also if the part is below 1 mm or above 2 m long.
    """
    part = read_part(path, unit=unit)
    for finding in part.findings:
        if finding.code == "unlikely-size" and finding.severity is Severity.ERROR:
            raise UnreadablePart(finding.what, remedy=finding.remedy)
    return lighter(part)


def _bytes_of(path: Path) -> bytes:
    kinds = ", ".join(_READERS)
    try:
        there = path.is_file()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no file can have this name"
        raise UnreadablePart(
            f"the part file {str(path)[:80]!r} cannot be opened ({why})",
            remedy=f"give the path of a part file ({kinds}) that you may read",
        ) from error
    if not there:
        what = "is a folder" if path.is_dir() else "is not there"
        raise UnreadablePart(f"the part file {path} {what}", remedy=f"give the path of a part file ({kinds})")
    if path.suffix.lower() not in _READERS:
        raise UnreadablePart(
            f"part files of the kind '{path.suffix or path.name}' cannot be read",
            remedy=f"export it as one of: {kinds}",
        )
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        raise UnreadablePart(
            f"the part file {path} cannot be opened ({error.strerror})", remedy="check its permissions"
        ) from error
    if size > MOST_BYTES:
        raise UnreadablePart(
            f"the part file {path} has {size >> 20} MiB, over {MOST_BYTES >> 20} MiB",
            remedy="reduce its faces in the program that made it",
        )
    if not data.strip():
        raise UnreadablePart(f"the part file {path} is empty", remedy="export the part again")
    return data


def _stl_heap(data: bytes) -> Heap:
    corners = stl_corners(data)
    return Heap(vertices=corners.reshape(-1, 3), faces=np.arange(3 * len(corners)).reshape(-1, 3))


def _glb_heap(data: bytes) -> Heap:
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        heap = _loaded_glb(data)
    note = Finding(
        severity=Severity.INFO,
        code="axes-kept",
        what="a GLB stands on its y axis; the axes were kept as they are in the file",
        remedy="nothing to do, unless you give directions: z is not up there",
    )
    return replace(heap, mm_per_unit=GLTF_MM_PER_UNIT, findings=(note,))


def _step_heap(data: bytes) -> Heap:
    heap = _loaded_glb(step_glb(data))
    if len(heap.faces) == 0:
        raise UnreadablePart(
            "the STEP file holds no solid", remedy="export the part as a closed solid, not as curves or open surfaces"
        )
    return replace(heap, vertices=GLTF_MM_PER_UNIT * heap.vertices, mm_per_unit=1.0, findings=(facets_finding(),))


def _loaded_glb(data: bytes) -> Heap:
    """All meshes of a file in their places, in the order of the file."""
    import trimesh

    try:
        scene = trimesh.load_scene(io.BytesIO(data), file_type="glb", process=False, skip_materials=True)
        order = {name: n for n, name in enumerate(scene.geometry)}
        placed = [(*scene.graph[node][::-1], node) for node in scene.graph.nodes_geometry]
        placed.sort(key=lambda item: (order[item[0]], item[2]))
        meshes = [(scene.geometry[name], transform) for name, transform, _ in placed]
        parts = [
            (
                np.asarray(mesh.vertices, np.float64) @ transform[:3, :3].T + transform[:3, 3],
                np.asarray(mesh.faces, np.int64)[:, :: -1 if np.linalg.det(transform[:3, :3]) < 0 else 1],
            )
            for mesh, transform in meshes
            if hasattr(mesh, "faces")
        ]
    except MemoryError:
        raise
    except Exception as error:  # whatever a damaged file makes the reader raise
        raise UnreadablePart(
            "the GLB is damaged or cut short and cannot be read",
            remedy="export the part again as GLB or STL",
        ) from error
    offsets = np.cumsum([0] + [len(vertices) for vertices, _ in parts])
    return Heap(
        vertices=np.concatenate([np.zeros((0, 3))] + [vertices for vertices, _ in parts]),
        faces=np.concatenate(
            [np.zeros((0, 3), np.int64)] + [faces + offsets[n] for n, (_, faces) in enumerate(parts)]
        ),
    )


_READERS: dict[str, Callable[[bytes], Heap]] = {
    ".stl": _stl_heap,
    ".obj": obj_heap,
    ".ply": ply_heap,
    ".3mf": threemf_heap,
    ".glb": _glb_heap,
    ".step": _step_heap,
    ".stp": _step_heap,
}
STEP_KINDS = (".step", ".stp")
PART_KINDS = tuple(_READERS)
"""Endings of the part files that are read."""


def _unit_findings(heap: Heap, path: Path) -> tuple[Finding, ...]:
    if heap.mm_per_unit is None or path.suffix.lower() in STEP_KINDS:
        return ()
    name = next((name for name, mm in _OTHER_UNITS if mm == heap.mm_per_unit), f"{heap.mm_per_unit:g} mm")
    return (
        Finding(
            severity=Severity.INFO,
            code="unit-from-file",
            what=f"{path.suffix[1:].upper()} says its own unit: the file is in {name}; no other unit was applied",
            remedy="nothing to do if the size is right",
        ),
    )


def size_findings(vertices_mm: FloatArray, *, heap: Heap, mm_per_unit: float) -> tuple[Finding, ...]:
    """A finding when the part's size looks like another unit, with the units that would give a likely size."""
    longest_mm = float(np.ptp(vertices_mm, axis=0).max())
    if LIKELY_MM[0] <= longest_mm <= LIKELY_MM[1]:
        return ()
    longest = longest_mm / mm_per_unit
    sizes_mm = {name: longest * mm for name, mm in _OTHER_UNITS}
    guesses = [
        f"in {name} {_rounded(size)} mm" for name, size in sizes_mm.items() if LIKELY_MM[0] <= size <= LIKELY_MM[1]
    ]
    possible = POSSIBLE_MM[0] <= longest_mm <= POSSIBLE_MM[1]
    scale = "scale it in the program that made it"
    return (
        Finding(
            severity=Severity.WARNING if possible else Severity.ERROR,
            code="unlikely-size",
            what=f"the part is {_rounded(longest_mm)} mm long"
            + (f"; its numbers would make {', '.join(guesses)}" if guesses else "; no usual unit would fit"),
            remedy=f"say its unit (mm, cm or in), or {scale}" if heap.mm_per_unit is None else scale,
        ),
    )


def _rounded(length_mm: float) -> str:
    """A length to three digits, without an exponent.

    >>> _rounded(0.3), _rounded(76.2), _rounded(12000.0)
    ('0.3', '76.2', '12000')
    """
    return f"{length_mm:.3g}" if length_mm < 1000 else f"{length_mm:.0f}"
