"""Every material there is, from its files: those that ship with Firstpour and the user's own records over them."""

from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

from firstpour.errors import BadRequest
from firstpour.files.material_toml import material_text, read_material
from firstpour.files.toml_text import read_text
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.material import Material
from firstpour.materials.material_checks import check_material
from firstpour.writing.whole import Over, write_whole

RECORDS = "materials"


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
        If there is such a record already and it may not be replaced, or it would not be read again.
    CannotWrite
        If the folder cannot be written.
    """
    check_material(material, source=material.id)
    path = shelf / RECORDS / f"{material.id}.toml"
    if path.exists() and not replacing:
        raise BadRequest(
            f"you already have a record of {material.id}.", remedy="choose another id, or renew the record"
        )
    text = material_text(material)
    read_material(text, source=material.id)
    write_whole(path, text.encode(), over=Over.ANYTHING if replacing else Over.NOTHING)
    return path


def read_record(path: Path) -> Material:
    """The material of a file of the user's.

    Raises
    ------
    BadRequest
        If it cannot be read or used.
    """
    return read_material(read_text(path, refused=BadRequest, what="material file"), source=path.name)


def _records(folder: Path) -> list[Path]:
    try:
        return sorted(one for one in folder.iterdir() if one.suffix == ".toml")
    except FileNotFoundError:
        return []
    except (OSError, ValueError) as error:
        raise BadRequest(
            f"the records of the shelf, {folder}, cannot be read: {getattr(error, 'strerror', None) or error}",
            remedy="name another folder of your own shelf, or ask for the right to read this one",
        ) from error


def _own_record(path: Path) -> Material:
    material = read_material(read_text(path, refused=BadRequest, what="material record"), source=str(path))
    if material.id != path.stem:
        raise BadRequest(
            f"{path} holds the id “{material.id}”.",
            remedy=f"Rename the file to {material.id}.toml, or change the id.",
        )
    return material
