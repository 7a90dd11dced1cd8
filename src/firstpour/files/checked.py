"""The one validator: tables against a model, and every mistake told with its key and remedy."""

import dataclasses
import difflib
import sys
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Annotated, Any, TypeVar, get_args, get_type_hints

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    Strict,
    StringConstraints,
    ValidationError,
    create_model,
)
from pydantic_core import ErrorDetails

from firstpour.errors import WorkshopError
from firstpour.values import FIRST_DAY, LAST_DAY

SHOWN_CHARACTERS = 40
MOST_TOLD = 12
"""More mistakes than these are counted, not told."""


def _one_line(text: str) -> str:
    if not text.isprintable():
        raise ValueError("one line of plain text")
    return text


Day = Annotated[date, Field(ge=FIRST_DAY, le=LAST_DAY)]
Flag = Annotated[bool, Strict()]
Whole = Annotated[int, Strict()]
Number = Annotated[float, Strict(), Field(allow_inf_nan=False)]
Length = Annotated[float, Strict(), Field(ge=0.001, le=10_000, allow_inf_nan=False)]
Share = Annotated[float, Strict(), Field(ge=0, le=1, allow_inf_nan=False)]
Coordinate = Annotated[float, Strict(), Field(ge=-1e5, le=1e5, allow_inf_nan=False)]
"""Of a place (mm) or a way: no part is larger than 100 m."""
Vector = tuple[Coordinate, Coordinate, Coordinate]
Line = Annotated[str, StringConstraints(max_length=2000), AfterValidator(_one_line)]
Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80), AfterValidator(_one_line)
]


class Table(BaseModel):
    """What every table is: known keys only."""

    model_config = ConfigDict(extra="forbid", frozen=True)


AnyTable = TypeVar("AnyTable", bound=BaseModel)


def table_of(
    values: type, *, name: str, limits: Mapping[str, Any], defaults: object = None, left_out: Sequence[str] = ()
) -> type[Table]:
    """A table with a key, not needed, for each field of a dataclass; numbers within the limits of their unit.

    `limits` gives for the end of a key (its unit) the type of its number; the longest end that fits counts.
    """
    hints = get_type_hints(values)
    fields: dict[str, Any] = {}
    for entry in dataclasses.fields(values):
        ends = sorted((end for end in limits if entry.name.endswith(end)), key=len)
        kind = limits[ends[-1]] if ends else hints[entry.name]
        if entry.name not in left_out:
            fields[entry.name] = (kind | None, None) if defaults is None else (kind, getattr(defaults, entry.name))
    return create_model(name, __base__=Table, **fields)


def checked(
    model: type[AnyTable], tables: Mapping[str, Any], *, called: str, refused: type[WorkshopError]
) -> AnyTable:
    """The tables as the model, or all that is wrong with them.

    Raises
    ------
    refused
        If a key is unknown or missing, or a value cannot be meant.
    """
    try:
        return model.model_validate(tables)
    except ValidationError as error:
        raise _told(error, model, tables, called, refused) from error
    except (RecursionError, OverflowError) as error:
        raise refused(
            f"{called}: it is nested too deeply, or holds a number too large", remedy="write plain tables and numbers"
        ) from error


def keys_of(model: type[BaseModel], path: Sequence[str] = ()) -> list[str]:
    """The keys that the table at `path` may have, in declared order; those of the last table known on the way."""
    for step in path:
        field = model.model_fields.get(step)
        model = model if field is None else next(iter(tables_in(field.annotation)), model)
    return list(model.model_fields)


def tables_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """The tables that a type is made of: itself, or what it is a list or a choice of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from tables_in(inner)


def _told(
    error: ValidationError,
    model: type[BaseModel],
    tables: Mapping[str, Any],
    called: str,
    refused: type[WorkshopError],
) -> WorkshopError:
    """All that is wrong, each with its key; the remedies in the same order."""
    details = error.errors(include_url=False)
    told = [_one(one, model, tables) for one in details[:MOST_TOLD]]
    problems, remedies = dict.fromkeys(problem for problem, _ in told), dict.fromkeys(remedy for _, remedy in told)
    more = f"; and {len(details) - MOST_TOLD} more" if len(details) > MOST_TOLD else ""
    return refused(f"{called}: {'; '.join(problems)}{more}", remedy="; ".join(remedies))


def _one(details: ErrorDetails, model: type[BaseModel], tables: Mapping[str, Any]) -> tuple[str, str]:
    loc, kind = details["loc"], details["type"]
    key = _key_words(loc, tables)
    if not loc:
        return details["msg"].removeprefix("Value error, "), "mend that table"
    if kind == "extra_forbidden":
        known = keys_of(model, tuple(step for step in loc[:-1] if isinstance(step, str)))
        near = difflib.get_close_matches(str(loc[-1]), known, n=1, cutoff=0.55)
        return f"{key} is not a key", f"did you mean {near[0]}?" if near else f"use one of: {', '.join(known)}"
    if isinstance(loc[-1], int) and kind == "missing":
        return f"{_key_words(loc[:-1], tables)} has too few numbers", f"{loc[-2]}: give three, [x, y, z]"
    if kind == "missing":
        return f"{key} is missing", f"add {loc[-1]} to that table"
    named = loc[-1] if isinstance(loc[-1], str) else key
    return f"{key} is {_given(details['input'])}", f"{named}: {_plain(details)}"


def _given(value: Any) -> str:
    """What stands there, cut short."""
    try:
        given = str(value).lower() if isinstance(value, bool) else repr(value)
    except (ValueError, RecursionError):
        return f"a number of more than {sys.get_int_max_str_digits()} digits"
    return given if len(given) <= SHOWN_CHARACTERS else given[: SHOWN_CHARACTERS - 3] + "…"


_PLAINER = {
    "a valid integer": "an integer",
    "a valid boolean": "true or false",
    "a valid string": "text in double quotes",
    "a valid tuple": "a list",
    "a valid array": "a list",
    "a valid dictionary or instance of": "the keys of",
    "a valid ": "a ",
}
_BY_KIND = {
    "string_too_short": "some text",
    "model_type": "a table of keys",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "a table of keys",
}


def _plain(details: ErrorDetails) -> str:
    """What pydantic says, in plainer words where it is too terse."""
    kind, context = details["type"], details.get("ctx", {})
    message = details["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    if kind in _BY_KIND:
        message = _BY_KIND[kind]
    elif kind.startswith("date"):
        message = "a date such as 2027-04-16"
    elif kind == "string_too_long":
        message = f"at most {context.get('max_length')} characters"
    elif kind == "string_pattern_mismatch":
        message = PATTERNS.get(str(context.get("pattern")), message)
    elif kind in ("too_long", "too_short"):
        bounds = {"too_long": ("at most", "max_length"), "too_short": ("at least", "min_length")}
        words, bound = bounds[kind]
        message = f"{words} {context.get(bound)} in that list"
    for stiff, plain in _PLAINER.items():
        message = message.replace(stiff, plain)
    return f"give a number {message}" if message.startswith(("greater", "less")) else f"give {message}"


ID = "^[a-z0-9][a-z0-9-]{0,63}$"
PATTERNS = {ID: "small letters, digits and hyphens, at most 64"}
"""What a pattern asks for, in words."""


def _key_words(loc: Sequence[str | int], tables: Mapping[str, Any]) -> str:
    """Where a key stands, as a reader of the file would say it: `part 2 (limpet), show 1, facing`."""
    words: list[str] = []
    node: Any = tables
    for step in loc:
        node = _below(node, step)
        if isinstance(step, int) and words:
            name = node.get("name") if isinstance(node, Mapping) else None
            words[-1] += f" {step + 1}" + (
                f" ({name})" if isinstance(name, str) and name.isprintable() and len(name) <= 80 else ""
            )
        else:
            words.append(str(step))
    return ", ".join(words)


def _name_in(node: Any) -> str:
    """The name in a table, in brackets, where it has one that can be shown."""
    name = node.get("name") if isinstance(node, Mapping) else None
    return f" ({name})" if isinstance(name, str) and name.isprintable() and 0 < len(name) <= 80 else ""


def _below(node: Any, step: str | int) -> Any:
    if isinstance(node, Mapping):
        return node.get(step)
    if isinstance(node, list) and isinstance(step, int) and step < len(node):
        return node[step]
    return None
