"""Changes to workshop.toml that keep what the maker wrote there: comments, order, other keys."""

import difflib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from firstpour.errors import BadRequest
from firstpour.files.checked import keys_of
from firstpour.files.toml_text import read_text, value_of_word
from firstpour.files.workshop_tables import WorkshopTable
from firstpour.files.workshop_toml import equipment_from_text, file_is_there
from firstpour.printing.printers import TYPICAL_PRINTERS, Printer
from firstpour.units import quantity
from firstpour.workshop.equipment import Equipment
from firstpour.workshop.hours import Weekday
from firstpour.writing.whole import Over, write_whole

HEAD = "The workshop as Firstpour plans for it: what is not here is typical. See docs/workshop.md."
YES_OR_NO = {"yes": True, "true": True, "no": False, "none": False, "false": False}
MEASURES = {"_mm": "mm", "_ml": "ml", "_g": "g", "_c": "°C", "_pa": "Pa", "_min": "min", "_ratio": "ratio"}
"""Ends of keys whose value may be typed with a unit."""
PRINTER = "printer"


class WorkshopFile:
    """The text of a workshop file while it is changed; only `save` writes, and only what can be read again."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._kept = ""
        if file_is_there(path):
            self._kept = read_text(path, refused=BadRequest, what="workshop file")
            equipment_from_text(self._kept, called=str(path))
        try:
            self._tables = tomlkit.parse(self._kept) if self._kept else _new_file()
        except TOMLKitError as error:
            raise BadRequest(f"{path} cannot be changed: {error}", remedy="change it by hand") from error

    @property
    def equipment(self) -> Equipment:
        """What the file says now.

        Raises
        ------
        BadRequest
            If something in it cannot be meant.
        """
        return equipment_from_text(tomlkit.dumps(self._tables), called=self.path.name)

    def set_words(self, words: Sequence[str]) -> None:
        """Set each `key=value`: `room.temperature_c=19`, `vacuum=no`, `printer.NAME.pixel_mm=0.05`.

        Raises
        ------
        BadRequest
            If a word is no `key=value`, or there is no such key or printer.
        """
        for word in words:
            key, equals, value = word.partition("=")
            if not equals:
                raise BadRequest(f"“{word}” sets nothing", remedy="write key=value, such as room.temperature_c=19")
            self._set(key.strip(), value.strip())

    def add_printer(self, name: str, words: Sequence[str]) -> None:
        """Enter a printer with `key=value` words, `process` among them; with the first the typical ones go.

        Raises
        ------
        BadRequest
            If there is one of that name.
        """
        if any(one.get("name") == name for one in self._listed()):
            raise BadRequest(
                f"there is a printer {name!r} already",
                remedy=f"change it in the workshop: “printer.{name}.KEY=VALUE”",
            )
        table = tomlkit.table()
        table.add("name", name)
        self._rows().append(table)
        self.set_words([f"{PRINTER}.{name}.{word}" for word in words])

    def remove_printer(self, name: str) -> None:
        """Take a printer out; without any left in the file the typical ones stand in again.

        Raises
        ------
        BadRequest
            If there is none of that name.
        """
        rows = self._listed()
        kept = [row for row in rows if row.get("name") != name]
        if len(kept) == len(rows):
            raise self._no_printer(name)
        del self._tables[PRINTER]
        for row in kept:
            self._rows().append(row)

    def save(self) -> Equipment:
        """Write the file whole, once all of it can be read; give what it says.

        Raises
        ------
        BadRequest
            If something in it cannot be meant; the file is then as it was.
        CannotWrite
            If it cannot be written.
        """
        equipment = self.equipment
        write_whole(self.path, tomlkit.dumps(self._tables).encode(), over=Over.ANYTHING)
        return equipment

    def _set(self, key: str, value: str) -> None:
        first, _, rest = key.partition(".")
        if first == PRINTER and rest:
            name, _, last = rest.rpartition(".")
            self._of_printer(name or rest)[last] = value_in_unit(last, value)
            return
        if not rest and value.lower() in YES_OR_NO and "available" in keys_of(WorkshopTable, [first]):
            rest, value = "available", str(YES_OR_NO[value.lower()]).lower()
        if first not in WorkshopTable.model_fields or first == PRINTER or not rest:
            raise BadRequest(f"“{key}” is no key of a workshop", remedy=_nearest_key(key))
        table = self._tables.setdefault(first, tomlkit.table())
        table[rest] = value_in_unit(rest, value)

    def _listed(self) -> list[Any]:
        return list(self._tables.get(PRINTER, ()))

    def _rows(self) -> Any:
        if PRINTER not in self._tables:
            self._tables.add(PRINTER, tomlkit.aot())
        return self._tables[PRINTER]

    def _of_printer(self, name: str) -> Any:
        """The table of that printer; a typical one is first entered with the others, so that none gets lost."""
        typical = [one.name for one in TYPICAL_PRINTERS]
        if not self._listed() and name in typical:
            for one in typical:
                self.add_printer(one, [])
        found = next((row for row in self._rows() if row.get("name") == name), None)
        if found is None:
            raise self._no_printer(name)
        return found

    def _no_printer(self, name: str) -> BadRequest:
        names: list[str] = [printer.name for printer in self._printers()]
        return BadRequest(f"there is no printer {name!r} in the file", remedy=f"there are: {', '.join(names)}")

    def _printers(self) -> tuple[Printer, ...]:
        return equipment_from_text(self._kept, called=self.path.name).printers


def value_in_unit(key: str, words: str) -> Any:
    """The value that the words mean for that key: with a unit turned into ours, hours and yes or no as they are said.

    >>> value_in_unit("used_pa", "40 psi"), value_in_unit("monday", "9:00-12:00, 13:00-17:00")
    (275790.292, ['9:00-12:00', '13:00-17:00'])
    """
    if key in list(Weekday) and not words.startswith("["):
        return [] if words.lower() in ("", "closed") else [one.strip() for one in words.split(",")]
    value = value_of_word(words)
    if isinstance(value, str) and value.lower() in YES_OR_NO:
        return YES_OR_NO[value.lower()]
    end = next((end for end in MEASURES if key.endswith(end)), None)
    if end is not None and isinstance(value, str) and value[:1] in "+-.0123456789" and value:
        return round(quantity(value, to=MEASURES[end]), 9)
    return value


def _new_file() -> tomlkit.TOMLDocument:
    new = tomlkit.document()
    new.add(tomlkit.comment(HEAD))
    return new


def _nearest_key(key: str) -> str:
    known = [f"{part}.{one}" for part in WorkshopTable.model_fields for one in keys_of(WorkshopTable, [part])]
    known = [one for one in known if not one.startswith(f"{PRINTER}.")]
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.55)
    return f"did you mean {near[0]}?" if near else f"use one of: {', '.join(known)}; or printer.NAME.key"
