"""Colourants, accelerators, softeners and fillers: what may be stirred in, how much, and what it does."""

from collections.abc import Iterable
from dataclasses import dataclass

from firstpour.errors import BadRequest, OutOfRange
from firstpour.formulas.cure import from_dose_table
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.materials.material import ADDITIVE_KINDS, CountsOn, Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Additive:
    """An additive and its dose: g per g of the part it counts on."""

    material: Material
    dose_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What all additives together do: factors on pot life and cure, points of Shore hardness."""

    pot_life_ratio: float = 1.0
    cure_ratio: float = 1.0
    shore_points: float = 0.0


def check_additive(additive: Additive, *, base: Material) -> None:
    """Refuse an additive that is none, that was not made for `base`, or a dose outside its table.

    Raises
    ------
    BadRequest
        If it is no additive, or the rules refuse it in `base`.
    OutOfRange
        If the dose is outside the additive's table.
    """
    material = additive.material
    if material.kind not in ADDITIVE_KINDS:
        raise BadRequest(
            f"{material.name} is a {material.kind.value}, no additive.",
            remedy="Choose a colourant, accelerator, softener or filler.",
        )
    verdict = judge(first=base.traits, second=material.traits, contact=Contact.MIXED_INTO)
    if verdict.verdict is Verdict.REFUSED:
        raise BadRequest(f"{material.name} in {base.name}: {verdict.reason}", remedy=verdict.remedy)
    if not ({base.id} | base.traits) & set(material.works_in):
        raise BadRequest(
            f"{material.name} is not made for {base.name}.", remedy=f"It works in: {', '.join(material.works_in)}."
        )
    most = material.doses[-1].dose_ratio
    if not 0 <= additive.dose_ratio <= most:
        raise OutOfRange(
            f"{additive.dose_ratio:g} g of {material.name} to 1 g of {_counted(material)} is outside its table.",
            remedy=f"Stay between 0 and {most:g}, or add a line to its record from the data sheet or your own test.",
        )


def effect_of(additives: Iterable[Additive]) -> Effect:
    """What the additives do together: factors multiply, points add.

    Raises
    ------
    OutOfRange
        If a dose lies outside its table.
    """
    pot_life_ratio, cure_ratio, shore_points = 1.0, 1.0, 0.0
    for additive in additives:
        table = additive.material.doses
        doses = [line.dose_ratio for line in table]
        what = additive.material.name
        dose = additive.dose_ratio
        pot_life_ratio *= from_dose_table(
            dose, doses=doses, factors=[line.pot_life_ratio for line in table], what=what
        )
        cure_ratio *= from_dose_table(dose, doses=doses, factors=[line.cure_ratio for line in table], what=what)
        shore_points += from_dose_table(dose, doses=doses, factors=[line.shore_points for line in table], what=what)
    return Effect(pot_life_ratio=pot_life_ratio, cure_ratio=cure_ratio, shore_points=shore_points)


def counted_share(counts_on: CountsOn | None, *, b_per_a: float) -> float:
    """Grams that a dose is counted on, for one gram of A.

    >>> counted_share(CountsOn.B, b_per_a=0.9)
    0.9
    """
    return {CountsOn.A: 1.0, CountsOn.B: b_per_a}.get(counts_on or CountsOn.TOTAL, 1.0 + b_per_a)


def _counted(material: Material) -> str:
    return {CountsOn.A: "part A", CountsOn.B: "part B"}.get(material.counts_on or CountsOn.TOTAL, "A and B")
