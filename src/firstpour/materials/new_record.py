"""A record of the user's own: the figures of a real data sheet over those of a material like it."""

import re
from collections.abc import Mapping
from dataclasses import replace

from firstpour.errors import BadRequest
from firstpour.formulas.mixing import b_by_weight
from firstpour.materials.figures import AT_TEMPERATURE, FIGURES, Figure, FigureName, Origin
from firstpour.materials.material import Material, Ratio
from firstpour.materials.material_checks import check_material
from firstpour.materials.said import SHORE, figures_said
from firstpour.units import quantity

USUAL_TEMPERATURE_C = 23.0


def record_like(
    base: Material,
    *,
    material_id: str,
    name: str | None,
    words: Mapping[str, str],
    ratio: str | None,
    origin: Origin,
) -> Material:
    """`base` under a new id, with the figures that `words` give (key → “35 min @ 23 °C, 100 g”) and their origin.

    What is not given keeps its value and its origin; a hardness takes the place of one on another scale.

    Raises
    ------
    BadRequest
        If a key or a unit is unknown, or the figures contradict each other.
    """
    said = figures_said(words, base=base)
    hardness = set(SHORE.values())
    dropped = hardness - set(said) if hardness & set(said) else set()
    figures = {figure_name: figure for figure_name, figure in base.figures.items() if figure_name not in dropped}
    for figure_name, text in said.items():
        figures[figure_name] = figure_from_words(figure_name, text, like=base.figures.get(figure_name), origin=origin)
    record = replace(
        base,
        id=material_id,
        name=name or base.name,
        figures=figures,
        ratio=_ratio(base, ratio, figures),
        shipped=False,
    )
    check_material(record, source=material_id)
    return record


def figure_from_words(name: FigureName, text: str, *, like: Figure | None, origin: Origin) -> Figure:
    """“35 min @ 23 °C, 100 g” as a figure; temperature and mass that are not given are those of `like`.

    Raises
    ------
    BadRequest
        If the text holds no number or an unknown unit.

    >>> figure_from_words(FigureName.POT_LIFE, "0.5 h @ 25 C", like=None, origin=Origin.DATA_SHEET).value
    30.0
    """
    value_text, _, conditions = text.partition("@")
    value = quantity(value_text, to=FIGURES[name].unit)
    temperature_c = None if like is None else like.temperature_c
    mass_g = None if like is None else like.mass_g
    for condition in filter(None, (part.strip() for part in conditions.split(","))):
        if re.search(r"(°?[CF]|K)$", condition):
            temperature_c = quantity(condition, to="°C")
        else:
            mass_g = quantity(condition, to="g")
    if name in AT_TEMPERATURE and temperature_c is None:
        temperature_c = USUAL_TEMPERATURE_C
    return Figure(value=value, origin=origin, temperature_c=temperature_c, mass_g=mass_g)


def figure_words(name: FigureName, figure: Figure) -> str:
    """The figure as it would be typed, in our unit.

    >>> figure_words(FigureName.POT_LIFE, Figure(value=30.0, origin=Origin.TYPICAL, temperature_c=23.0, mass_g=100.0))
    '30 min @ 23 °C, 100 g'
    """
    unit = FIGURES[name].unit
    shown = f"{100 * figure.value:g} %" if unit == "ratio" else f"{figure.value:g} {unit}"
    conditions = [] if figure.temperature_c is None else [f"{figure.temperature_c:g} °C"]
    conditions += [] if figure.mass_g is None else [f"{figure.mass_g:g} g"]
    return f"{shown} @ {', '.join(conditions)}" if conditions else shown


def range_words(name: FigureName, figure: Figure) -> str:
    """The range of a figure in our unit; empty where it has none.

    >>> range_words(FigureName.SHRINKAGE, Figure(value=0.004, origin=Origin.TYPICAL, low=0.002, high=0.008))
    '0.2 to 0.8 %'
    """
    if figure.low is None and figure.high is None:
        return ""
    unit = FIGURES[name].unit
    scale, shown = (100.0, "%") if unit == "ratio" else (1.0, unit)
    return f"{scale * figure.lowest:.4g} to {scale * figure.highest:.4g} {shown}"


def _ratio(base: Material, text: str | None, figures: Mapping[FigureName, Figure]) -> Ratio | None:
    if text is None:
        by_volume = None if base.ratio is None else base.ratio.by_volume_b_per_100_a
        return base.ratio if by_volume is None else _by_volume(by_volume, figures)
    b_per_100_a, by = ratio_from_words(text)
    return _by_volume(b_per_100_a, figures) if by == "volume" else Ratio(b_per_100_a=b_per_100_a)


def ratio_from_words(text: str) -> tuple[float, str]:
    """Parts of B to 100 of A, and whether by weight or by volume (by weight if not said).

    Raises
    ------
    BadRequest
        If it is no ratio of two numbers above zero.

    >>> ratio_from_words("2:1 by volume")
    (50.0, 'volume')
    """
    number = r"(\d+(?:\.\d+)?)"
    found = re.fullmatch(rf"\s*{number}\s*:\s*{number}\s*(?:by\s+(weight|volume))?\s*", text)
    if found is None or float(found[1]) == 0 or float(found[2]) == 0:
        raise BadRequest(f"“{text}” is no mix ratio.", remedy="Write “100:90 by weight” or “1:1 by volume”.")
    return 100 * float(found[2]) / float(found[1]), found[3] or "weight"


def _by_volume(b_per_100_a: float, figures: Mapping[FigureName, Figure]) -> Ratio:
    if FigureName.DENSITY_A not in figures or FigureName.DENSITY_B not in figures:
        raise BadRequest("a ratio by volume needs both densities.", remedy="Give density_a and density_b as well.")
    by_weight = b_by_weight(
        b_per_100_a_by_volume=b_per_100_a,
        density_a_g_ml=figures[FigureName.DENSITY_A].value,
        density_b_g_ml=figures[FigureName.DENSITY_B].value,
    )
    return Ratio(b_per_100_a=by_weight, by_volume_b_per_100_a=b_per_100_a)
