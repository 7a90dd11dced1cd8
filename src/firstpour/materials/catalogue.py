"""Every material there is: those that ship with Firstpour and the user's own records, which come first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

from firstpour.errors import BadRequest, UnknownMaterial
from firstpour.materials.folder import write_whole
from firstpour.materials.material import Kind, Material
from firstpour.materials.material_checks import check_material
from firstpour.materials.material_file import material_text, read_material

RECORDS = "materials"


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Materials by id."""

    materials: Mapping[str, Material]

    def get(self, material_id: str) -> Material:
        """The material of that id.

        Raises
        ------
        UnknownMaterial
            If there is none; the remedy names the nearest.
        """
        material = self.materials.get(material_id)
        if material is None:
            close = get_close_matches(material_id, list(self.materials), n=3, cutoff=0.5)
            hint = f"Did you mean {' or '.join(close)}? " if close else ""
            raise UnknownMaterial(
                f"no material “{material_id}” is known.", remedy=f"{hint}See: firstpour shelf list --all."
            )
        return material

    def of_kinds(self, kinds: Iterable[Kind]) -> tuple[Material, ...]:
        """The materials of these kinds, by id."""
        wanted = set(kinds)
        return tuple(self.materials[key] for key in sorted(self.materials) if self.materials[key].kind in wanted)


@cache
def shipped_materials() -> tuple[Material, ...]:
    """The materials that ship with Firstpour: typical for their class, marked so, without a brand."""
    folder = files("firstpour.materials") / "data" / "materials"
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return tuple(
        replace(read_material((folder / name).read_text(encoding="utf-8"), source=name), shipped=True)
        for name in names
    )


def load_catalogue(shelf: Path | None) -> Catalogue:
    """The shipped materials and, where a folder is given, the user's own records over them.

    Raises
    ------
    BadRequest
        If a record of the user's cannot be used.
    """
    materials = {material.id: material for material in shipped_materials()}
    folder = None if shelf is None else shelf / RECORDS
    for path in () if folder is None else _records(folder):
        materials[path.stem] = _own_record(path)
    return Catalogue(materials=MappingProxyType(materials))


def save_record(shelf: Path, material: Material, *, replacing: bool) -> Path:
    """Write the user's own record of `material`, over an older one only when `replacing`.

    Raises
    ------
    BadRequest
        If there is such a record already and it may not be replaced.
    CannotWrite
        If the folder cannot be written.
    """
    check_material(material, source=material.id)
    path = shelf / RECORDS / f"{material.id}.toml"
    if path.exists() and not replacing:
        raise BadRequest(
            f"you already have a record of {material.id}.", remedy="Choose another id, or give --replace to renew it."
        )
    write_whole(path, material_text(material))
    return path


def _records(folder: Path) -> list[Path]:
    try:
        return sorted(folder.glob("*.toml")) if folder.is_dir() else []
    except OSError as error:
        raise BadRequest(
            f"the shelf folder {folder} cannot be read: {error.strerror}.",
            remedy="Choose another with --shelf DIR or FIRSTPOUR_SHELF, or ask for the right to read it.",
        ) from error


def _own_record(path: Path) -> Material:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadRequest(f"{path} cannot be read: {error}.", remedy="Repair the file, or move it away.") from error
    material = read_material(text, source=str(path))
    if material.id != path.stem:
        raise BadRequest(
            f"{path} holds the id “{material.id}”.",
            remedy=f"Rename the file to {material.id}.toml, or change the id.",
        )
    return material
