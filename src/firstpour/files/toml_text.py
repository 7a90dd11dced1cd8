"""TOML of the maker's own: read from a file or a text into plain tables, or refused in words."""

import tomllib
from pathlib import Path
from typing import Any

from firstpour.errors import WorkshopError

LARGEST_BYTES = 4_000_000
"""No job or record that a person wrote is longer (a limit of our own)."""
BYTE_ORDER_MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"


def read_text(path: Path, *, refused: type[WorkshopError], what: str) -> str:
    """The text of a file that should be there; a byte-order mark at its start is passed over.

    Raises
    ------
    refused
        If it is missing, too long, or no UTF-8 text; `what` names it.
    """
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError as error:
        raise refused(f"there is no {what} {path}", remedy=f"name the {what} that you mean") from error
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or error
        raise refused(
            f"the {what} {path} cannot be read: {said}", remedy=f"name a {what} that you may read"
        ) from error
    if len(content) > LARGEST_BYTES:
        raise refused(
            f"the {what} {path} is longer than {LARGEST_BYTES / 1e6:g} MB",
            remedy=f"name a {what}, not a part or picture",
        )
    try:
        return content.decode("utf-8").removeprefix(BYTE_ORDER_MARK)
    except UnicodeDecodeError as error:
        raise refused(
            f"the {what} {path} cannot be read: byte {error.start} is no UTF-8", remedy="save it as UTF-8 text"
        ) from error


def tables_from(text: str, *, called: str, refused: type[WorkshopError]) -> dict[str, Any]:
    """The tables that a TOML text holds.

    Raises
    ------
    refused
        If it is not valid TOML, or holds what no reader can take: numbers of thousands of digits, endless nesting.
    """
    try:
        return tomllib.loads(text.removeprefix(BYTE_ORDER_MARK))
    except RecursionError as error:
        raise refused(f"{called} is nested too deeply", remedy="take out the brackets within brackets") from error
    except ValueError as error:
        said = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "a number in it has too many digits"
        raise refused(
            f"{called} is not valid TOML: {said}",
            remedy="mend that line: text in double quotes, numbers with a point, lists in square brackets",
        ) from error


def value_of_word(word: str) -> Any:
    """The value of a `key=value` word of a command line: as TOML where it is some, else text as it stands.

    >>> value_of_word(" 12.5 "), value_of_word("steady"), value_of_word("[1, 2]"), value_of_word("1 kg")
    (12.5, 'steady', [1, 2], '1 kg')
    """
    try:
        return tomllib.loads(f"value = {word.strip()}\n")["value"]
    except (ValueError, RecursionError, KeyError):
        return word.strip()
