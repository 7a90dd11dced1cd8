"""A material as a TOML text: read with every figure's unit turned into ours, and written back."""

import tomllib
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, TypeVar

from firstpour.errors import BadRequest
from firstpour.formulas.mixing import b_by_weight
from firstpour.materials.figures import AT_TEMPERATURE, FIGURES, Figure, FigureName, Origin
from firstpour.materials.material import CountsOn, Dose, Kind, Material, PackSize, Ratio
from firstpour.materials.material_checks import check_material
from firstpour.units import converted

RATIO_AGREEMENT = 0.02
"""A ratio given by weight and by volume may differ by this share before it is refused (rounding on data sheets)."""

KEYS = (
    "id",
    "name",
    "kind",
    "note",
    "traits",
    "works_in",
    "counts_on",
    "accelerator",
    "colourant",
    "softener",
    "ratio",
    "figures",
    "dose",
    "pack",
)
_FIGURE_KEYS = ("value", "low", "high", "unit", "temperature_c", "mass_g", "origin")
_RATIO_KEYS = ("a", "b", "by")
_DOSE_KEYS = ("dose", "pot_life_ratio", "cure_ratio", "shore_points")
_PACK_KEYS = ("part_a_g", "part_b_g", "price")

Choice = TypeVar("Choice", bound=StrEnum)


def read_material(text: str, *, source: str) -> Material:
    """The material that a TOML text describes; `source` names it in errors.

    Raises
    ------
    BadRequest
        If the text is no TOML, a key is unknown, a figure has an unknown unit or makes no sense.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadRequest(f"{source} is no valid TOML: {error}.", remedy="Correct the line it names.") from error
    return material_from_table(table, source=source)


def material_from_table(table: Mapping[str, Any], *, source: str) -> Material:
    """The material that a parsed TOML table describes.

    Raises
    ------
    BadRequest
        If a key is unknown or missing, or a figure makes no sense.
    """
    _known(table, KEYS, where=source)
    figures = _figures(_table(table, "figures", source), source)
    material = Material(
        id=_text(table, "id", source),
        name=_text(table, "name", source),
        kind=_choice(Kind, table.get("kind"), what="kind", source=source),
        figures=figures,
        ratio=_ratio(table.get("ratio"), figures, source),
        traits=frozenset(_texts(table, "traits", source)),
        works_in=tuple(_texts(table, "works_in", source)),
        counts_on=_counts_on(table, source),
        doses=tuple(_dose(row, source) for row in _rows(table, "dose", source)),
        accelerator=_text_or_none(table, "accelerator", source),
        colourant=_text_or_none(table, "colourant", source),
        softener=_text_or_none(table, "softener", source),
        packs=tuple(_pack(row, source) for row in _rows(table, "pack", source)),
        note=str(table.get("note", "")),
    )
    check_material(material, source=source)
    return material


def figure_from_table(name: FigureName, table: Mapping[str, Any], *, source: str) -> Figure:
    """One figure, its value turned into our unit.

    Raises
    ------
    BadRequest
        If the unit is unknown, or a time comes without the temperature it belongs to.
    """
    where = f"{source}, {name.value}"
    _known(table, _FIGURE_KEYS, where=where)
    value = _converted(table, "value", name, where)
    low, high = (_converted(table, key, name, where) if key in table else None for key in ("low", "high"))
    origin = _choice(Origin, table.get("origin"), what="origin", source=where)
    temperature_c = _number_or_none(table, "temperature_c", where)
    if name in AT_TEMPERATURE and temperature_c is None:
        raise BadRequest(
            f"{where}: no temperature is given.", remedy="Add temperature_c: this figure belongs to a temperature."
        )
    mass_g = _number_or_none(table, "mass_g", where)
    return Figure(value=value, origin=origin, temperature_c=temperature_c, mass_g=mass_g, low=low, high=high)


def _converted(table: Mapping[str, Any], key: str, name: FigureName, where: str) -> float:
    return converted(_number(table, key, where), unit=_text(table, "unit", where), to=FIGURES[name].unit)


def material_text(material: Material) -> str:
    """The material as TOML: what `read_material` turns back into the same value."""
    lines = [f"{key} = {_quoted(value)}" for key, value in _plain_fields(material)]
    if material.ratio is not None:
        lines.append(f"ratio = [{', '.join(_ratio_rows(material.ratio))}]")
    lines.append("\n[figures]")
    lines += [f"{name.value} = {_figure_text(name, figure)}" for name, figure in material.figures.items()]
    for dose in material.doses:
        lines += ["\n[[dose]]", f"dose = {dose.dose_ratio!r}"]
        lines += [f"{key} = {getattr(dose, key)!r}" for key in _DOSE_KEYS[1:]]
    for pack in material.packs:
        lines += ["\n[[pack]]", f"part_a_g = {pack.part_a_g!r}", f"part_b_g = {pack.part_b_g!r}"]
        lines += [] if pack.price is None else [f"price = {pack.price!r}"]
    return "\n".join(lines) + "\n"


def _plain_fields(material: Material) -> list[tuple[str, str | Sequence[str]]]:
    fields: list[tuple[str, str | Sequence[str]]] = [
        ("id", material.id),
        ("name", material.name),
        ("kind", material.kind.value),
        ("note", material.note),
        ("traits", sorted(material.traits - {material.kind.value})),
        ("works_in", material.works_in),
    ]
    optional = [("accelerator", material.accelerator), ("colourant", material.colourant)]
    optional += [("softener", material.softener), ("counts_on", material.counts_on)]
    return fields + [(key, str(value)) for key, value in optional if value is not None]


def _quoted(value: str | Sequence[str]) -> str:
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        shown = "".join(c if ord(c) >= 32 and ord(c) != 127 else f"\\u{ord(c):04x}" for c in escaped)
        return f'"{shown}"'
    return f"[{', '.join(_quoted(item) for item in value)}]"


def _ratio_rows(ratio: Ratio) -> list[str]:
    rows = [f'{{ a = 100.0, b = {ratio.b_per_100_a!r}, by = "weight" }}']
    if ratio.by_volume_b_per_100_a is not None:
        rows.append(f'{{ a = 100.0, b = {ratio.by_volume_b_per_100_a!r}, by = "volume" }}')
    return rows


def _figure_text(name: FigureName, figure: Figure) -> str:
    parts = [f"value = {figure.value!r}"]
    parts += [] if figure.low is None else [f"low = {figure.low!r}"]
    parts += [] if figure.high is None else [f"high = {figure.high!r}"]
    parts += [f"unit = {_quoted(FIGURES[name].unit)}"]
    parts += [] if figure.temperature_c is None else [f"temperature_c = {figure.temperature_c!r}"]
    parts += [] if figure.mass_g is None else [f"mass_g = {figure.mass_g!r}"]
    return "{ " + ", ".join([*parts, f"origin = {_quoted(figure.origin.value)}"]) + " }"


def _figures(table: Mapping[str, Any], source: str) -> dict[FigureName, Figure]:
    names = {name.value: name for name in FigureName}
    _known(table, tuple(names), where=f"{source}, figures")
    for key, row in table.items():
        if not isinstance(row, dict):
            raise BadRequest(
                f"{source}: {key} is no figure.",
                remedy=f'Write it as {key} = {{ value = 1.0, unit = "…", origin = "data sheet" }}.',
            )
    return {name: figure_from_table(name, table[key], source=source) for key, name in names.items() if key in table}


def _ratio(rows: object, figures: Mapping[FigureName, Figure], source: str) -> Ratio | None:
    if rows is None:
        return None
    if not isinstance(rows, list) or not 1 <= len(rows) <= 2:
        raise BadRequest(f"{source}: ratio is no list of one or two ratios.", remedy=_RATIO_EXAMPLE)
    given = dict(_one_ratio(row, source) for row in rows)
    if len(given) < len(rows):
        raise BadRequest(f"{source}: the ratio is given twice the same way.", remedy=_RATIO_EXAMPLE)
    by_volume = given.get("volume")
    turned = None if by_volume is None else _by_weight(by_volume, figures, source)
    by_weight = given.get("weight", turned)
    assert by_weight is not None  # at least one row was read
    if turned is not None and abs(turned / by_weight - 1) > RATIO_AGREEMENT:
        raise BadRequest(
            f"{source}: the ratio by weight is 100:{by_weight:g}, but the one by volume (100:{by_volume:g}) comes to "
            f"100:{turned:.4g} by weight with these densities.",
            remedy="One of the ratios or densities is wrong: check them against the data sheet.",
        )
    return Ratio(b_per_100_a=by_weight, by_volume_b_per_100_a=by_volume)


_RATIO_EXAMPLE = 'Write ratio = [{ a = 100, b = 90, by = "weight" }].'


def _one_ratio(row: object, source: str) -> tuple[str, float]:
    if not isinstance(row, dict):
        raise BadRequest(f"{source}: a ratio is no table.", remedy=_RATIO_EXAMPLE)
    _known(row, _RATIO_KEYS, where=f"{source}, ratio")
    by = row.get("by")
    if by not in ("weight", "volume"):
        raise BadRequest(f"{source}: the ratio is by “{by}”.", remedy="Say by = “weight” or “volume”.")
    a, b = (_number(row, key, f"{source}, ratio") for key in ("a", "b"))
    if not (a > 0 and b > 0):
        raise BadRequest(f"{source}: the mix ratio is {a:g}:{b:g}.", remedy="Both parts must be above zero.")
    return by, 100 * b / a


def _by_weight(by_volume: float, figures: Mapping[FigureName, Figure], source: str) -> float:
    if FigureName.DENSITY_A not in figures or FigureName.DENSITY_B not in figures:
        raise BadRequest(
            f"{source}: the ratio is by volume, but density_a or density_b is missing.",
            remedy="Add both densities: weighing is by mass.",
        )
    return b_by_weight(
        b_per_100_a_by_volume=by_volume,
        density_a_g_ml=figures[FigureName.DENSITY_A].value,
        density_b_g_ml=figures[FigureName.DENSITY_B].value,
    )


def _dose(row: Mapping[str, Any], source: str) -> Dose:
    where = f"{source}, dose"
    _known(row, _DOSE_KEYS, where=where)
    return Dose(
        dose_ratio=_number(row, "dose", where),
        pot_life_ratio=_number_or_none(row, "pot_life_ratio", where) or 1.0,
        cure_ratio=_number_or_none(row, "cure_ratio", where) or 1.0,
        shore_points=_number_or_none(row, "shore_points", where) or 0.0,
    )


def _pack(row: Mapping[str, Any], source: str) -> PackSize:
    where = f"{source}, pack"
    _known(row, _PACK_KEYS, where=where)
    return PackSize(
        part_a_g=_number(row, "part_a_g", where),
        part_b_g=_number_or_none(row, "part_b_g", where) or 0.0,
        price=_number_or_none(row, "price", where),
    )


def _counts_on(table: Mapping[str, Any], source: str) -> CountsOn | None:
    given = table.get("counts_on")
    return None if given is None else _choice(CountsOn, given, what="counts_on", source=source)


def _choice(choices: type[Choice], given: object, *, what: str, source: str) -> Choice:
    allowed = [choice.value for choice in choices]
    if given not in allowed:
        shown = "missing" if given is None else f"“{given}”"
        raise BadRequest(f"{source}: {what} is {shown}.", remedy=f"Use one of: {', '.join(allowed)}.")
    return choices(given)


def _known(table: Mapping[str, Any], keys: Sequence[str], *, where: str) -> None:
    for key in table:
        if key not in keys:
            close = get_close_matches(key, keys, n=1)
            hint = f"Did you mean {close[0]}?" if close else f"Use only: {', '.join(keys)}."
            raise BadRequest(f"{where}: unknown key “{key}”.", remedy=hint)


def _table(table: Mapping[str, Any], key: str, source: str) -> Mapping[str, Any]:
    inner = table.get(key, {})
    if not isinstance(inner, dict):
        raise BadRequest(f"{source}: {key} is no table.", remedy=f"Write a [{key}] table.")
    return inner


def _rows(table: Mapping[str, Any], key: str, source: str) -> list[Mapping[str, Any]]:
    rows = table.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise BadRequest(f"{source}: {key} is no list of tables.", remedy=f"Write [[{key}]] tables.")
    return rows


def _text(table: Mapping[str, Any], key: str, source: str) -> str:
    value = table.get(key)
    if not isinstance(value, str) or not value.strip():
        raise BadRequest(f"{source}: {key} is missing.", remedy=f'Write {key} = "…".')
    return value


def _text_or_none(table: Mapping[str, Any], key: str, source: str) -> str | None:
    return _text(table, key, source) if key in table else None


def _texts(table: Mapping[str, Any], key: str, source: str) -> list[str]:
    values = table.get(key, [])
    if not isinstance(values, list) or not all(isinstance(value, str) for value in values):
        raise BadRequest(f"{source}: {key} is no list of words.", remedy=f'Write {key} = ["…", "…"].')
    return values


def _number(table: Mapping[str, Any], key: str, source: str) -> float:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        shown = "missing" if value is None else f"“{value}”"
        raise BadRequest(f"{source}: {key} is {shown}.", remedy=f"Give {key} as a number.")
    return float(value)


def _number_or_none(table: Mapping[str, Any], key: str, source: str) -> float | None:
    return _number(table, key, source) if key in table else None
