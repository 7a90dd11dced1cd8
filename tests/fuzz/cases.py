"""What is mutated and who reads it; one case under a limit of time."""

import random
import signal
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

import part_files
from firstpour.errors import WorkshopError
from firstpour.files.job_toml import job_from_text
from firstpour.files.material_toml import read_material
from firstpour.files.workshop_toml import equipment_from_text
from firstpour.part.read import read_part
from firstpour.values import Mesh
from fuzz.mutate import mutated
from fuzz.solids import a_solid, read_solid
from sample_shapes import box, together, torus

MOST_S = 10
"""A case that takes longer has failed."""
JOB = """\
[job]
name = "a job"
due = 2027-04-16
prefer = "cheapest"
[workshop.room]
temperature_c = 21
[mould]
wall_mm = 8
[[part]]
name = "peg"
sample = "bollard"
copies = 4
moulds = 2
draw = [0, 0, 1]
hardness = "D 75"
colourant_ratio = 0.02
[[part.show]]
facing = [0, 0, 1]
within_deg = 30
[[part.gate]]
at_mm = [0, 0, 10]
[[part.fit]]
kind = "hole"
nominal_mm = 5
tolerance_mm = 0.1
"""
WORKSHOP = """\
[room]
temperature_c = 21
[hours]
monday = ["09:00-12:00", "13:00-17:00"]
[[printer]]
name = "small printer"
process = "filament"
size_mm = [120, 120, 120]
layer_heights_mm = [0.1, 0.2]
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of file: sound ones, whether they are text, and their reader; or how to make a case of it."""

    name: str
    read: Callable[[bytes], object]
    sound: tuple[bytes, ...] = ()
    text: bool = False
    make: Callable[[random.Random], bytes] | None = None

    def case(self, chance: random.Random) -> bytes:
        """The file of one case."""
        if self.make is not None:
            return self.make(chance)
        return mutated(chance.choice(self.sound), text=self.text, chance=chance)


def _part_reader(ending: str) -> Callable[[bytes], object]:
    def read(data: bytes) -> object:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, f"part.{ending}")
            path.write_bytes(data)
            return read_part(path)

    return read


def _text_reader(read: Callable[[str], object]) -> Callable[[bytes], object]:
    return lambda data: read(data.decode("utf-8", errors="replace"))


def _meshes() -> tuple[Mesh, ...]:
    """A cube, two bodies, a cube with a void, and a round part of some hundred faces."""
    void = box(4, 4, 4, at=(3, 3, 3))
    hollow = together(box(10, 10, 10), Mesh(vertices_mm=void.vertices_mm, faces=void.faces[:, ::-1]))
    return box(10, 10, 10), together(box(9, 9, 9), box(5, 6, 7, at=(12, 0, 0))), hollow, torus(8, 3, segments=14)


def _models(meshes: tuple[Mesh, ...]) -> Iterator[bytes]:
    """3MF packages: one mesh each, and one of two components that are moved and turned."""
    for mesh in meshes:
        yield part_files.threemf(part_files.model_xml(mesh))
    moves = ("1 0 0 0 1 0 0 0 1 0 0 0", "0 1 0 -1 0 0 0 0 1 40 0 0")
    placed = "".join(f'<component objectid="1" transform="{move}"/>' for move in moves)
    more = f'<object id="2" type="model"><components>{placed}</components></object>'
    yield part_files.threemf(part_files.model_xml(meshes[0], build='<item objectid="2"/>', more=more))


@cache
def kinds() -> tuple[Kind, ...]:
    """Every reader with sound files of its kind."""
    meshes = _meshes()
    records = files("firstpour.materials") / "data" / "materials"
    materials = tuple(one.read_bytes() for one in sorted(records.iterdir(), key=str) if one.name.endswith(".toml"))
    return (
        Kind(name="stl", sound=tuple(map(part_files.binary_stl, meshes)), read=_part_reader("stl")),
        Kind(name="text stl", sound=tuple(map(part_files.text_stl, meshes)), text=True, read=_part_reader("stl")),
        Kind(
            name="obj", sound=(*map(part_files.obj, meshes), part_files.l_block("obj")), text=True,
            read=_part_reader("obj"),
        ),
        Kind(
            name="ply", sound=(*map(part_files.ply, meshes), part_files.l_block("ascii")), text=True,
            read=_part_reader("ply"),
        ),
        Kind(
            name="binary ply", sound=tuple(map(part_files.l_block, ("binary_little_endian", "binary_big_endian"))),
            read=_part_reader("ply"),
        ),
        Kind(name="3mf", sound=tuple(_models(meshes)), text=True, read=_part_reader("3mf")),
        Kind(name="glb", sound=tuple(map(part_files.glb, meshes)), read=_part_reader("glb")),
        Kind(name="solid", make=a_solid, read=read_solid),
        Kind(
            name="job", sound=(JOB.encode(),), text=True,
            read=_text_reader(lambda text: job_from_text(text, folder=Path())),
        ),
        Kind(name="workshop", sound=(WORKSHOP.encode(),), text=True, read=_text_reader(equipment_from_text)),
        Kind(
            name="material", sound=materials, text=True,
            read=_text_reader(lambda text: read_material(text, source="material.toml")),
        ),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A case that is neither read nor refused in words."""

    kind: str
    seed: int
    data: bytes
    what: str


def try_case(kind: Kind, seed: int) -> Failure | None:
    """The case of that seed: None where it is read, or refused with a problem and a remedy."""
    chance = random.Random(f"{kind.name} {seed}")
    return tried(kind, kind.case(chance), seed)


def tried(kind: Kind, data: bytes, seed: int = 0) -> Failure | None:
    """The file read under the limit of time."""
    try:
        with _limited():
            kind.read(data)
    except WorkshopError as error:
        if error.problem and error.remedy:
            return None
        return Failure(kind=kind.name, seed=seed, data=data, what=f"refused without words: {error!r}")
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return Failure(kind=kind.name, seed=seed, data=data, what=f"{type(error).__name__}: {error}")
    return None


class _TooLongError(Exception):
    """The limit of time is over."""


@contextmanager
def _limited() -> Iterator[None]:
    def stop(*_: object) -> None:
        raise _TooLongError(f"over {MOST_S} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(MOST_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
