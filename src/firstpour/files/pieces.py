"""The pieces of a mould as files: an STL each, one 3MF with all that is printed; read back and checked."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from firstpour.errors import CannotWrite, MouldFailed
from firstpour.files.rounding import Rounded, rounded
from firstpour.files.stl import read_stl, stl_bytes
from firstpour.files.threemf import Solid3mf, model_of, read_model, write_3mf
from firstpour.mould.bed import on_the_bed, places_side_by_side_mm
from firstpour.mould.values import Piece, Role
from firstpour.values import FloatArray, Mesh, turned
from firstpour.writing.whole import Over, write_whole

ALL_IN_ONE = "to-print.3mf"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
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
    in_mould: FloatArray
    """Turn and shift (3, 4) that bring the file's points to where the piece sits, in the part's coordinates."""


def write_pieces(folder: Path, pieces: Sequence[Piece], *, below: Path = Path()) -> tuple[WrittenPiece, ...]:
    """Write `pieces` into `folder / below` and check each file by reading it back.

    What is printed stands as it is printed, its lowest corner at the origin; silicone keeps the part's coordinates.

    Raises
    ------
    MouldFailed
        If a piece is not closed at the precision of the file, or not as many bodies as it should be.
    CannotWrite
        If a file, read back, is not what was written.
    """
    (folder / below).mkdir(parents=True, exist_ok=True)
    written, solids = [], []
    for piece, stem in zip(pieces, file_stems([piece.name for piece in pieces]), strict=True):
        solid = rounded(piece.mesh if piece.role is Role.SILICONE else on_the_bed(piece))
        file = below / f"{stem}.stl"
        write_whole(folder / file, stl_bytes(solid.mesh), over=Over.NOTHING)
        corners = solid.mesh.vertices_mm[solid.mesh.faces]
        _refuse_changed(piece.name, file, same=np.array_equal(read_stl(folder / file), corners))
        written.append(_as_written(piece, solid, file))
        if piece.role is not Role.SILICONE:
            solids.append((piece, solid.mesh))
    if solids:
        _write_all_in_one(folder / below / ALL_IN_ONE, solids)
    return tuple(written)


def _write_all_in_one(path: Path, solids: Sequence[tuple[Piece, Mesh]]) -> None:
    places = places_side_by_side_mm([mesh.vertices_mm.max(axis=0) for _, mesh in solids])
    sent = [
        Solid3mf(name=piece.name, mesh=mesh, place_mm=place)
        for (piece, mesh), place in zip(solids, places, strict=True)
    ]
    model = model_of(sent)
    write_3mf(path, model)
    _refuse_changed("all printed pieces", path, same=read_model(path) == model)


def _refuse_changed(name: str, file: Path, *, same: bool) -> None:
    if not same:
        raise CannotWrite(
            f"{name}, read back from {file.name}, is not what was written",
            remedy="check the disk (is it full?) and run again",
        )


def _as_written(piece: Piece, solid: Rounded, file: Path) -> WrittenPiece:
    """What the file holds, refused unless it is the solid that the piece should be."""
    closure = solid.closure
    if closure.volume_mm3 <= 0.0 or closure.bodies != piece.bodies:
        raise MouldFailed(
            f"the piece {piece.name!r} is {closure.bodies} bodies of {closure.volume_mm3:.3f} mm³; "
            f"it should be {piece.bodies}",
            remedy="simplify or repair the part and run again; please report it with the part if it stays",
        )
    width, depth, height = (float(value) for value in np.ptp(solid.mesh.vertices_mm, axis=0))
    return WrittenPiece(
        name=piece.name,
        role=piece.role,
        file=file,
        faces=len(solid.mesh.faces),
        bodies=closure.bodies,
        volume_mm3=closure.volume_mm3,
        watertight=closure.closed,
        size_mm=(width, depth, height),
        in_mould=_in_mould(piece),
    )


def _in_mould(piece: Piece) -> FloatArray:
    """The way back (3, 4) from how the piece stands in its file to where it sits in the mould."""
    if piece.role is Role.SILICONE:
        return np.eye(3, 4)
    lowest_mm = turned(piece.mesh, rotation=piece.print_turn).vertices_mm.min(axis=0)
    return np.column_stack([piece.print_turn.T, piece.print_turn.T @ lowest_mm])


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
