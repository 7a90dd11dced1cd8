"""The pieces of a mould as files: an STL each, one 3MF with all that is printed; read back and checked."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstpour.errors import MouldFailed
from firstpour.files.rounding import closure_of, rounded, same_volume
from firstpour.files.stl import read_stl, write_stl
from firstpour.files.threemf import Solid3mf, read_3mf, write_3mf
from firstpour.mould.bed import on_the_bed, places_side_by_side_mm
from firstpour.mould.values import Piece, Role
from firstpour.values import Mesh

ALL_IN_ONE = "to-print.3mf"


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenPiece:
    """What the file of a piece holds, as read back from it."""

    name: str
    role: Role
    file: Path
    """Relative to the folder given."""
    faces: int
    bodies: int
    volume_mm3: float
    watertight: bool
    size_mm: tuple[float, float, float]


def write_pieces(folder: Path, pieces: Sequence[Piece], *, below: Path = Path()) -> tuple[WrittenPiece, ...]:
    """Write `pieces` into `folder / below` and check each file by reading it back.

    What is printed stands as it is printed, its lowest corner at the origin; silicone keeps the part's coordinates.

    Raises
    ------
    MouldFailed
        If a piece read back is not closed, is not as many bodies as it should be or has another volume.
    CannotWrite
        If the disk did not keep all of a file.
    """
    (folder / below).mkdir(parents=True, exist_ok=True)
    written, solids = [], []
    for piece, stem in zip(pieces, file_stems([piece.name for piece in pieces]), strict=True):
        mesh = rounded(piece.mesh if piece.role is Role.SILICONE else on_the_bed(piece))
        file = below / f"{stem}.stl"
        write_stl(folder / file, mesh)
        written.append(_checked(piece, mesh, read_stl(folder / file), file))
        if piece.role is not Role.SILICONE:
            solids.append((piece, mesh))
    if solids:
        _write_all_in_one(folder / below / ALL_IN_ONE, solids)
    return tuple(written)


def _write_all_in_one(path: Path, solids: Sequence[tuple[Piece, Mesh]]) -> None:
    places = places_side_by_side_mm([mesh.vertices_mm.max(axis=0) for _, mesh in solids])
    sent = [
        Solid3mf(name=piece.name, mesh=mesh, place_mm=place)
        for (piece, mesh), place in zip(solids, places, strict=True)
    ]
    write_3mf(path, sent)
    for (piece, mesh), back in zip(solids, read_3mf(path), strict=True):
        _checked(piece, mesh, back.mesh, path)


def _checked(piece: Piece, sent: Mesh, back: Mesh, file: Path) -> WrittenPiece:
    """What came back, refused unless it is the solid that was sent."""
    closure = closure_of(back)
    wrong = [
        words
        for words, is_wrong in (
            ("is not closed", not closure.closed),
            (f"has a volume of {closure.volume_mm3:.3f} mm³", closure.volume_mm3 <= 0.0),
            (f"is {closure.bodies} bodies instead of {piece.bodies}", closure.bodies != piece.bodies),
            ("has another volume than the piece", not same_volume(sent, closure.volume_mm3)),
        )
        if is_wrong
    ]
    if wrong:
        raise MouldFailed(
            f"the piece {piece.name!r}, read back from {file.name}, {' and '.join(wrong)}",
            remedy="simplify or repair the part and run again; please report it with the part if it stays",
        )
    width, depth, height = (float(value) for value in np.ptp(back.vertices_mm, axis=0))
    return WrittenPiece(
        name=piece.name,
        role=piece.role,
        file=file,
        faces=len(back.faces),
        bodies=closure.bodies,
        volume_mm3=closure.volume_mm3,
        watertight=closure.closed,
        size_mm=(width, depth, height),
    )


def file_stems(names: Sequence[str]) -> tuple[str, ...]:
    """File names for the given names: plain letters, none twice.

    >>> file_stems(["Sea star", "séa / star", "…"])
    ('sea-star', 'sea-star-2', 'piece')
    """
    stems: list[str] = []
    for name in names:
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
        stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "piece"
        number, unique = 2, stem
        while unique in stems:
            unique, number = f"{stem}-{number}", number + 1
        stems.append(unique)
    return tuple(stems)
