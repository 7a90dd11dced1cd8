"""The page that tells plan.json key by key, made from its models."""

from enum import EnumMeta
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from firstpour.files.plan_json import PlanEntry

HEAD = """\
# plan.json, key by key

Made by `python tools/publish.py` from the models that write it; the same as a JSON Schema:
[plan.schema.json](plan.schema.json).

Every place and direction is in the part's own coordinates, as in its file, in mm and before the allowance; only a
piece in `pieces/` stands as it is printed, its lowest corner at the origin (`in_mould` turns it back into the mould,
which is the part's coordinates times `scale`). Units are in the keys. A key that may be null says when.
"""


def page() -> str:
    """The whole page."""
    tables = [_table(model) for model in _models(PlanEntry)]
    return "\n".join([HEAD, *tables]).rstrip() + "\n"


def _models(top: type[BaseModel]) -> list[type[BaseModel]]:
    """The model and all below it, each once, in the order in which they are met."""
    found = [top]
    for model in found:
        for field in model.model_fields.values():
            found += [one for one in _models_in(field.annotation) if one not in found]
    return found


def _models_in(kind: Any) -> list[type[BaseModel]]:
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return [kind]
    return [model for part in get_args(kind) for model in _models_in(part)]


def _table(model: type[BaseModel]) -> str:
    lines = [f"## {_title(model)}", "", (model.__doc__ or "").strip().replace("\n", " "), ""]
    lines += ["| key | holds | means |", "|---|---|---|"]
    for name, field in model.model_fields.items():
        lines.append(f"| `{name}` | {_kind_words(field.annotation)} | {field.description or ''} |")
    return "\n".join([*lines, ""])


def _title(model: type[BaseModel]) -> str:
    words = "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in model.__name__)
    return words.replace(" entry", "").strip()


def _kind_words(kind: Any) -> str:
    """What a key holds, in words."""
    origin, parts = get_origin(kind), get_args(kind)
    if kind is type(None):
        return "null"
    if isinstance(kind, EnumMeta):
        return " or ".join(f"`{one.value}`" for one in kind)  # type: ignore[attr-defined]
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        title = _title(kind)
        return f"[{title}](#{title.replace(' ', '-')})"
    if origin is list:
        return f"list of {_kind_words(parts[0])}"
    if origin is dict:
        return f"{_kind_words(parts[1])} by name"
    if origin is tuple:
        return f"{len(parts)} numbers"
    if parts and origin is not None and str(origin) == "typing.Literal":
        return " or ".join(f"`{part}`" for part in parts)
    if parts:
        return " or ".join(_kind_words(part) for part in parts)
    return {"str": "text", "float": "number", "int": "whole number", "bool": "true or false"}.get(
        getattr(kind, "__name__", ""), getattr(kind, "__name__", str(kind))
    )
