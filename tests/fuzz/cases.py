"""What is mutated and who reads it; one case under a limit of time."""

import random
import signal
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import part_files
from firstpour.errors import WorkshopError
from firstpour.files.job_toml import job_from_text
from firstpour.files.material_toml import read_material
from firstpour.files.workshop_toml import equipment_from_text
from firstpour.part.read import read_part
from fuzz.mutate import mutated
from sample_shapes import box

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
    """One kind of file: sound ones, whether they are text, and their reader."""

    name: str
    sound: tuple[bytes, ...]
    text: bool
    read: Callable[[bytes], object]


def _part_reader(ending: str) -> Callable[[bytes], object]:
    def read(data: bytes) -> object:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, f"part.{ending}")
            path.write_bytes(data)
            return read_part(path)

    return read


def _text_reader(read: Callable[[str], object]) -> Callable[[bytes], object]:
    return lambda data: read(data.decode("utf-8", errors="replace"))


def kinds() -> tuple[Kind, ...]:
    """Every reader with sound files of its kind."""
    mesh = box(10, 10, 10)
    records = files("firstpour.materials") / "data" / "materials"
    materials = tuple(one.read_bytes() for one in sorted(records.iterdir(), key=str) if one.name.endswith(".toml"))
    model = part_files.model_xml(mesh)
    return (
        Kind(name="stl", sound=(part_files.binary_stl(mesh),), text=False, read=_part_reader("stl")),
        Kind(name="text stl", sound=(part_files.text_stl(mesh),), text=True, read=_part_reader("stl")),
        Kind(name="obj", sound=(part_files.obj(mesh),), text=True, read=_part_reader("obj")),
        Kind(name="ply", sound=(part_files.ply(mesh),), text=True, read=_part_reader("ply")),
        Kind(name="3mf", sound=(part_files.threemf(model),), text=True, read=_part_reader("3mf")),
        Kind(name="glb", sound=(part_files.glb(mesh),), text=False, read=_part_reader("glb")),
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
    data = mutated(chance.choice(kind.sound), text=kind.text, chance=chance)
    return tried(kind, data, seed)


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
