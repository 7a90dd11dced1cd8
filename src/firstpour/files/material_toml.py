"""A material as a TOML text: read with every figure's unit turned into ours, and written back."""

from collections.abc import Mapping
from typing import Any

import tomlkit

from firstpour.errors import BadRequest
from firstpour.files.checked import checked
from firstpour.files.material_record import FigureTable, MaterialFile, RatioTable
from firstpour.files.toml_text import tables_from
from firstpour.formulas.mixing import b_by_weight
from firstpour.materials.figures import FIGURES, Figure, FigureName
from firstpour.materials.material import Dose, Material, PackSize, Ratio
from firstpour.materials.material_checks import check_material
from firstpour.units import converted

RATIO_AGREEMENT = 0.02
"""A ratio given by weight and by volume may differ by this share before it is refused (rounding on data sheets)."""


def read_material(text: str, *, source: str) -> Material:
    """The material that a TOML text describes; `source` names it in errors.

    Raises
    ------
    BadRequest
        If the text is no TOML, a key is unknown or missing, or a figure has an unknown unit or makes no sense.
    """
    tables = tables_from(text, called=source, refused=BadRequest)
    record = checked(MaterialFile, tables, called=source, refused=BadRequest)
    given = {name: getattr(record.figures, name.value) for name in FigureName}
    figures = {name: _figure(name, table) for name, table in given.items() if table is not None}
    material = Material(
        id=record.id,
        name=record.name,
        kind=record.kind,
        figures=figures,
        ratio=None if record.ratio is None else _ratio(record.ratio, figures, source),
        traits=frozenset(record.traits),
        works_in=record.works_in,
        counts_on=record.counts_on,
        stir_into=record.stir_into,
        doses=tuple(
            Dose(
                dose_ratio=dose.dose,
                pot_life_ratio=dose.pot_life_ratio,
                cure_ratio=dose.cure_ratio,
                shore_points=dose.shore_points,
                tear_ratio=dose.tear_ratio,
                shrinkage_added=dose.shrinkage_added,
            )
            for dose in record.dose
        ),
        accelerator=record.accelerator,
        colourant=record.colourant,
        softener=record.softener,
        packs=tuple(PackSize(**pack.model_dump()) for pack in record.pack),
        note=record.note,
    )
    check_material(material, source=source)
    return material


def material_text(material: Material) -> str:
    """The material as TOML: what `read_material` turns back into the same value."""
    record = tomlkit.document()
    record.add(tomlkit.comment("A material record of Firstpour: figures, their units and where they come from."))
    for key, value in _plain_fields(material).items():
        record.add(key, value)
    if material.ratio is not None:
        rows = tomlkit.array()
        rows.extend(_inline(row) for row in _ratio_rows(material.ratio))
        record.add("ratio", rows)
    figures = tomlkit.table()
    for name, figure in material.figures.items():
        figures.add(name.value, _inline(_figure_row(name, figure)))
    record.add("figures", figures)
    _add_rows(record, "dose", [_dose_row(dose) for dose in material.doses])
    _add_rows(record, "pack", [_pack_row(pack) for pack in material.packs])
    return tomlkit.dumps(record)


def _figure(name: FigureName, table: FigureTable) -> Figure:
    """One figure, its value turned into our unit."""

    def ours(value: float | None) -> float | None:
        return None if value is None else converted(value, unit=table.unit, to=FIGURES[name].unit)

    return Figure(
        value=converted(table.value, unit=table.unit, to=FIGURES[name].unit),
        origin=table.origin,
        temperature_c=table.temperature_c,
        mass_g=table.mass_g,
        low=ours(table.low),
        high=ours(table.high),
    )


def _ratio(rows: tuple[RatioTable, ...], figures: Mapping[FigureName, Figure], source: str) -> Ratio:
    given = {row.by: 100 * row.b / row.a for row in rows}
    if len(given) < len(rows):
        raise BadRequest(
            f"{source}: the ratio is given twice by {rows[0].by}",
            remedy="keep one, or give one by weight, one by volume",
        )
    by_volume = given.get("volume")
    turned = None if by_volume is None else _by_weight(by_volume, figures, source)
    by_weight = given.get("weight", turned)
    assert by_weight is not None  # at least one row was read
    if turned is not None and abs(turned / by_weight - 1) > RATIO_AGREEMENT:
        raise BadRequest(
            f"{source}: the ratio by weight is 100:{by_weight:g}, but the one by volume (100:{by_volume:g}) comes to "
            f"100:{turned:.4g} by weight with these densities",
            remedy="one of the ratios or densities is wrong: check them against the data sheet",
        )
    return Ratio(b_per_100_a=by_weight, by_volume_b_per_100_a=by_volume)


def _by_weight(by_volume: float, figures: Mapping[FigureName, Figure], source: str) -> float:
    if FigureName.DENSITY_A not in figures or FigureName.DENSITY_B not in figures:
        raise BadRequest(
            f"{source}: the ratio is by volume, but density_a or density_b is missing",
            remedy="add both densities to [figures]: weighing is by mass",
        )
    return b_by_weight(
        b_per_100_a_by_volume=by_volume,
        density_a_g_ml=figures[FigureName.DENSITY_A].value,
        density_b_g_ml=figures[FigureName.DENSITY_B].value,
    )


def _plain_fields(material: Material) -> dict[str, Any]:
    fields = {
        "id": material.id,
        "name": material.name,
        "kind": material.kind.value,
        "note": material.note,
        "traits": sorted(material.traits - {material.kind.value}),
        "works_in": list(material.works_in),
        "counts_on": None if material.counts_on is None else material.counts_on.value,
        "stir_into": None if material.stir_into is None else material.stir_into.value,
        "accelerator": material.accelerator,
        "colourant": material.colourant,
        "softener": material.softener,
    }
    return _given(fields)


def _ratio_rows(ratio: Ratio) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [{"a": 100.0, "b": ratio.b_per_100_a, "by": "weight"}]
    if ratio.by_volume_b_per_100_a is not None:
        rows.append({"a": 100.0, "b": ratio.by_volume_b_per_100_a, "by": "volume"})
    return rows


def _figure_row(name: FigureName, figure: Figure) -> dict[str, Any]:
    row = {"value": figure.value, "low": figure.low, "high": figure.high, "unit": FIGURES[name].unit}
    return _given(
        row | {"temperature_c": figure.temperature_c, "mass_g": figure.mass_g, "origin": figure.origin.value}
    )


def _dose_row(dose: Dose) -> dict[str, Any]:
    return {
        "dose": dose.dose_ratio,
        "pot_life_ratio": dose.pot_life_ratio,
        "cure_ratio": dose.cure_ratio,
        "shore_points": dose.shore_points,
        "tear_ratio": dose.tear_ratio,
        "shrinkage_added": dose.shrinkage_added,
    }


def _pack_row(pack: PackSize) -> dict[str, Any]:
    return _given({"part_a_g": pack.part_a_g, "part_b_g": pack.part_b_g, "price": pack.price})


def _given(fields: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in fields.items() if value is not None}


def _inline(row: Mapping[str, Any]) -> tomlkit.items.InlineTable:
    table = tomlkit.inline_table()
    table.update(row)
    return table


def _add_rows(record: tomlkit.TOMLDocument, key: str, rows: list[dict[str, Any]]) -> None:
    if rows:
        tables = tomlkit.aot()
        for row in rows:
            table = tomlkit.table()
            table.update(row)
            tables.append(table)
        record.add(key, tables)
