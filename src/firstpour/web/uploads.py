"""What is sent as a new job: part files with wishes, or a folder as zip. Names and sizes are not trusted."""

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

import tomlkit

from firstpour.errors import BadRequest
from firstpour.files.job_toml import plain_name
from firstpour.files.pieces import file_stems
from firstpour.part.read import PART_KINDS
from firstpour.web.job_folders import JOB_FILE
from firstpour.web.refusals import TooLarge

LARGEST_UPLOAD_BYTES = 512 * 1024**2
MOST_PARTS = 50
MOST_IN_ZIP = 200
MOST_RATIO = 200
"""A zip that unpacks to more than so many times its size is taken for a trap (a limit of our own)."""
CHUNK_BYTES = 1 << 20


def name_from(file_name: str) -> str:
    """A name for a job, from that of a file.

    >>> name_from("C:\\\\parts\\\\Knob.v2.STL"), name_from("")
    ('Knob.v2', 'job')
    """
    plain = _last_of(file_name)
    return plain_name(plain.rpartition(".")[0] or plain or "job").strip() or "job"


def job_of_parts(sent: Sequence[tuple[str, bytes]], *, name: str) -> dict[Path, bytes]:
    """The files of a job of that name of these part files, (name, content) each, one copy of every part.

    Raises
    ------
    BadRequest
        If there are none or too many, or one is of a kind that is not read.
    """
    if not sent:
        raise BadRequest("no part file was sent", remedy=f"send at least one ({', '.join(PART_KINDS)})")
    if len(sent) > MOST_PARTS:
        raise BadRequest(f"{len(sent)} part files were sent", remedy=f"send at most {MOST_PARTS} at a time")
    names = [_plain_file_name(name) for name, _ in sent]
    stems = file_stems([Path(name).stem for name in names])
    files: dict[Path, bytes] = {}
    job = tomlkit.document()
    head = tomlkit.table()
    head.add("name", name)
    job.add("job", head)
    rows = tomlkit.aot()
    for typed, stem, (_, content) in zip(names, stems, sent, strict=True):
        path = Path(stem + Path(typed).suffix.lower())
        files[path] = content
        table = tomlkit.table()
        table.add("name", _own_name(Path(typed).stem, stem))
        table.add("file", path.as_posix())
        rows.append(table)
    job.add("part", rows)
    files[Path(JOB_FILE)] = tomlkit.dumps(job).encode()
    return files


def job_of_zip(content: bytes) -> dict[Path, bytes]:
    """The files of a job's folder: job.toml and the part files beside or below it; all else is left out.

    Raises
    ------
    BadRequest
        If it is no zip, a path leads out of the folder, or there is no job.toml.
    TooLarge
        If it holds or unpacks to too much.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return _unpacked(archive, packed_bytes=len(content))
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        raise BadRequest(
            "the zip cannot be read: it is damaged, locked, or no zip", remedy="pack the job's folder again"
        ) from error


def _unpacked(archive: zipfile.ZipFile, *, packed_bytes: int) -> dict[Path, bytes]:
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > MOST_IN_ZIP:
        raise TooLarge(f"the zip holds {len(entries)} files", remedy=f"pack at most {MOST_IN_ZIP}")
    places = {entry: _inside(entry.filename) for entry in entries}
    head = next((place.parent for place in places.values() if place.name == JOB_FILE), None)
    if head is None:
        raise BadRequest(f"the zip holds no {JOB_FILE}", remedy="pack the folder that holds it, or send part files")
    room = min(LARGEST_UPLOAD_BYTES, max(CHUNK_BYTES, MOST_RATIO * packed_bytes))
    files: dict[Path, bytes] = {}
    for entry, place in places.items():
        wanted = place.name == JOB_FILE or place.suffix.lower() in PART_KINDS
        if not wanted or not place.is_relative_to(head) or (entry.external_attr >> 16) & 0o170000 == 0o120000:
            continue
        below = Path(place.relative_to(head))
        if below in files:
            raise BadRequest(f"the zip holds {below} twice", remedy="pack the job's folder again")
        files[below] = _content(archive, entry, room=room)
        room -= len(files[below])
    return files


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, *, room: int) -> bytes:
    """What the entry really holds, whatever it says of its size."""
    content = bytearray()
    with archive.open(entry) as file:
        while chunk := file.read(CHUNK_BYTES):
            content += chunk
            if len(content) > room:
                raise TooLarge("the zip unpacks to more than is taken", remedy="send the part files by themselves")
    return bytes(content)


def _inside(name: str) -> PurePosixPath:
    """A path that stays where it is unpacked."""
    place = PurePosixPath(name)
    odd = not name.isprintable() or "\\" in name or ":" in name or len(name) > 400
    if odd or place.is_absolute() or ".." in place.parts or not place.parts:
        raise BadRequest(
            f"the zip holds the path {name[:80]!r}", remedy="pack only job.toml and the part files beside it"
        )
    return place


def _plain_file_name(name: str) -> str:
    """The last part of a name, whatever system it came from."""
    plain = _last_of(name)
    if Path(plain).suffix.lower() not in PART_KINDS:
        raise BadRequest(
            f"{plain_name(plain)!r} is no part file that is read", remedy=f"send one of: {', '.join(PART_KINDS)}"
        )
    return plain


def _last_of(name: str) -> str:
    return name.replace("\\", "/").rsplit("/", 1)[-1]


def _own_name(typed: str, stem: str) -> str:
    """The name of a part: as its file is called, where two are not called alike."""
    number = stem.rsplit("-", 1)[-1]
    name = plain_name(typed).strip() or "part"
    first = file_stems([name])[0]
    return name if stem == first else f"{name[:70]} {number}"
