"""Does a material record make sense? Every refusal names the figure and what to do."""

import math
from itertools import pairwise

from firstpour.errors import BadRequest
from firstpour.materials.figures import FIGURES, FigureName
from firstpour.materials.material import ADDITIVE_KINDS, MIXED_KINDS, Material

_N = FigureName
NEEDED_TO_MIX = (_N.DENSITY_A, _N.DENSITY_B, _N.POT_LIFE, _N.DEMOULD)
IN_ORDER = ((_N.POT_LIFE, _N.DEMOULD), (_N.DEMOULD, _N.FULL_CURE), (_N.COLDEST, _N.WARMEST))


def check_material(material: Material, *, source: str) -> None:
    """Refuse a record that cannot be meant.

    Raises
    ------
    BadRequest
        If a figure is missing for its kind, lies outside what makes sense, or two contradict each other.
    """
    _check_ranges(material, source)
    _check_order(material, source)
    if material.kind in MIXED_KINDS:
        _check_mixed(material, source)
    if material.kind in ADDITIVE_KINDS:
        _check_additive(material, source)
    _check_packs(material, source)


def _check_ranges(material: Material, source: str) -> None:
    for name, figure in material.figures.items():
        spec = FIGURES[name]
        if not (math.isfinite(figure.value) and spec.low <= figure.value <= spec.high):
            raise BadRequest(
                f"{source}: {spec.what} is {figure.value:g} {spec.unit}.",
                remedy=f"It must lie between {spec.low:g} and {spec.high:g} {spec.unit}: check number and unit.",
            )
        if not spec.low <= figure.lowest <= figure.value <= figure.highest <= spec.high:
            raise BadRequest(
                f"{source}: {spec.what} is {figure.value:g} {spec.unit}, its range {figure.lowest:g} to "
                f"{figure.highest:g} {spec.unit}.",
                remedy=f"The value lies in its range, and the range between {spec.low:g} and {spec.high:g}.",
            )


def _check_order(material: Material, source: str) -> None:
    for first, second in IN_ORDER:
        a, b = material.figures.get(first), material.figures.get(second)
        if a is not None and b is not None and a.value > b.value:
            raise BadRequest(
                f"{source}: {FIGURES[first].what} ({a.value:g}) is above {FIGURES[second].what} ({b.value:g}).",
                remedy="Check both figures and their units against the data sheet.",
            )


def _check_second_mass(material: Material, source: str) -> None:
    first, second = material.figures.get(_N.POT_LIFE), material.figures.get(_N.POT_LIFE_SECOND)
    if second is None:
        return
    if second.mass_g is None or (first is not None and first.mass_g == second.mass_g):
        raise BadRequest(
            f"{source}: the pot life at a second mass has no second mass.",
            remedy="Give the mass that it was found at, e.g. pot_life_second = 25 min @ 23 °C, 1 kg.",
        )


def _check_mixed(material: Material, source: str) -> None:
    if material.ratio is None:
        raise BadRequest(
            f"{source}: the mix ratio is missing.", remedy='Write ratio = [{ a = 100, b = 90, by = "weight" }].'
        )
    if not 0.5 <= material.ratio.b_per_100_a <= 1000:
        raise BadRequest(
            f"{source}: the mix ratio is 100:{material.ratio.b_per_100_a:g} by weight.",
            remedy="It must lie between 100:0.5 and 100:1000.",
        )
    _check_second_mass(material, source)
    for name in NEEDED_TO_MIX:
        if name not in material.figures:
            raise BadRequest(f"{source}: {FIGURES[name].what} is missing.", remedy=f"Add {name.value} to [figures].")
    if not {_N.SHORE_A, _N.SHORE_D, _N.SHORE_00} & set(material.figures):
        raise BadRequest(f"{source}: no hardness is given.", remedy="Add shore_a, shore_d or shore_00 to [figures].")


def _check_additive(material: Material, source: str) -> None:
    if material.counts_on is None or not material.doses:
        raise BadRequest(
            f"{source}: an additive needs counts_on and at least one [[dose]].",
            remedy='Write counts_on = "A", "B" or "A and B", and the doses of the data sheet.',
        )
    for before, after in pairwise(material.doses):
        if not before.dose_ratio < after.dose_ratio:
            raise BadRequest(f"{source}: the doses do not rise.", remedy="Write the [[dose]] tables smallest first.")
        if after.pot_life_ratio > before.pot_life_ratio or after.cure_ratio > before.cure_ratio:
            raise BadRequest(
                f"{source}: more of it lengthens pot life or cure.",
                remedy="Check the table: a larger dose is faster.",
            )
    if _N.DENSITY not in material.figures:
        raise BadRequest(f"{source}: density is missing.", remedy="Add density to [figures].")


def _check_packs(material: Material, source: str) -> None:
    for pack in material.packs:
        if material.kind in MIXED_KINDS and pack.part_b_g == 0:
            raise BadRequest(
                f"{source}: a pack without part B.", remedy="Give part_b_g: this material has two parts."
            )
