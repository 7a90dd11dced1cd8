"""Everything of a workshop as one zip, and back: tables, photos, materials of one's own, the workshop file."""

import hashlib
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select

from firstpour.errors import BadRequest
from firstpour.store.opening import HEAD, changing, reading
from firstpour.store.place import StorePlace
from firstpour.store.tables import METADATA
from firstpour.writing.whole import Over, may_write, whole_file, write_whole

ROWS, MATERIALS, PHOTOS, WORKSHOP = "store.json", "materials", "photos", "workshop.toml"
LARGEST_BYTES = 4 * 1024**3
SAME_DAY = (1980, 1, 1, 0, 0, 0)
"""Every file in the zip has this date, so that the same workshop gives the same bytes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Belongings:
    """What belongs to a workshop: its store, the folder of its shelf, its workshop file."""

    store: StorePlace
    shelf: Path
    workshop: Path

    @property
    def materials(self) -> Path:
        """The folder of the materials of one's own."""
        return self.shelf / MATERIALS


def export_all(own: Belongings, target: Path) -> dict[str, int]:
    """Write everything into one zip, whole or not at all, and return how many rows of each table it holds.

    Raises
    ------
    BadRequest
        If there is no store yet.
    CannotWrite
        If something is there under that name, or it cannot be written.
    """
    may_write(target, over=Over.NOTHING)
    with reading(own.store) as connection:
        if connection is None:
            raise BadRequest("there is no store yet.", remedy="put a pack on the shelf, or keep a plan, first")
        rows = _rows(connection)
    with (
        whole_file(target, over=Over.NOTHING) as partial,
        zipfile.ZipFile(partial, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        _add(packed, ROWS, json.dumps({"version": HEAD, "tables": rows}, indent=1).encode())
        for name, file in _files(own):
            _add(packed, name, file.read_bytes())
    return {name: len(found) for name, found in rows.items()}


def import_all(own: Belongings, source: Path) -> dict[str, int]:
    """Take everything of a zip into an empty store, and return how many rows of each table that was.

    The rows are one transaction, written last: killed before, the store is still empty, and it can be done again.

    Raises
    ------
    BadRequest
        If the store is not empty, or the zip is none of ours, broken, or of another version.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            if sum(one.file_size for one in packed.infolist()) > LARGEST_BYTES:
                raise BadRequest(f"{source} is larger than 4 GB.", remedy="Take the one that was exported.")
            content = json.loads(packed.read(ROWS))
            files = {one: packed.read(one) for one in packed.namelist() if one != ROWS}
    except (OSError, KeyError, ValueError, zipfile.BadZipFile) as error:
        raise BadRequest(
            f"{source} is no zip that Firstpour wrote.", remedy="Name the one that was exported."
        ) from error
    if content.get("version") != HEAD:
        raise BadRequest(
            f"{source} holds a store of version {content.get('version')}; this one knows {HEAD}.",
            remedy="Bring the store that it came from to this version of Firstpour, and export it anew.",
        )
    _refuse_others(own, source, files)
    rows: dict[str, list[dict[str, Any]]] = content["tables"]
    with changing(own.store) as connection:
        for table in METADATA.sorted_tables:
            if connection.execute(select(func.count()).select_from(table)).scalar_one():
                raise BadRequest(
                    f"the store {own.store.name} is not empty.", remedy="name another folder of your own shelf"
                )
        for name, data in files.items():
            write_whole(_place_of(own, name), data, over=Over.NOTHING)
        for table in METADATA.sorted_tables:
            if rows.get(table.name):
                connection.execute(insert(table), rows[table.name])
    return {name: len(found) for name, found in rows.items()}


def _rows(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    return {
        table.name: [dict(row) for row in connection.execute(select(table).order_by(*table.primary_key)).mappings()]
        for table in METADATA.sorted_tables
    }


def _files(own: Belongings) -> Iterator[tuple[str, Path]]:
    for folder, name, pattern in ((own.materials, MATERIALS, "*.toml"), (own.store.photos, PHOTOS, "*.*")):
        for file in sorted(folder.glob(pattern)):
            if file.is_file() and not file.name.startswith("."):
                yield f"{name}/{file.name}", file
    if own.workshop.is_file():
        yield WORKSHOP, own.workshop


def _add(packed: zipfile.ZipFile, name: str, data: bytes) -> None:
    entry = zipfile.ZipInfo(name, SAME_DAY)
    entry.compress_type = zipfile.ZIP_DEFLATED
    packed.writestr(entry, data)


def _refuse_others(own: Belongings, source: Path, files: dict[str, bytes]) -> None:
    """Only what an export holds is taken: no other place, no file put over another, no photo that was changed."""
    for name, data in files.items():
        folder, _, plain = name.rpartition("/")
        known = name == WORKSHOP or (folder in (MATERIALS, PHOTOS) and plain not in ("", ".", ".."))
        if not known or "\\" in plain:
            raise BadRequest(
                f"{source} holds {name}, which no export does.", remedy="Name the one that was exported."
            )
        if folder == PHOTOS and hashlib.sha256(data).hexdigest() != plain.partition(".")[0]:
            raise BadRequest(f"{name} in {source} is not as it was.", remedy="Take another copy of the export.")
        there = _place_of(own, name)
        if there.exists() and there.read_bytes() != data:
            raise BadRequest(
                f"{there} is there already, and is another.", remedy="name another folder of your own shelf"
            )


def _place_of(own: Belongings, name: str) -> Path:
    if name == WORKSHOP:
        return own.workshop
    folder, _, plain = name.rpartition("/")
    return (own.materials if folder == MATERIALS else own.store.photos) / plain
