"""Colourants, accelerators, softeners and fillers: what may be stirred in, how much, and what it does."""

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np

from firstpour.errors import BadRequest, OutOfRange
from firstpour.formulas.limits import within
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.materials.figures import FigureName
from firstpour.materials.material import ADDITIVE_KINDS, CountsOn, Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Additive:
    """An additive and its dose: g per g of the part it counts on."""

    material: Material
    dose_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What all additives together do: factors on times and tear, points of Shore hardness, added shrinkage."""

    pot_life_ratio: float = 1.0
    cure_ratio: float = 1.0
    shore_points: float = 0.0
    tear_ratio: float = 1.0
    shrinkage_added: float = 0.0


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
    together = Effect()
    for additive in additives:
        one = _effect(additive)
        together = Effect(
            pot_life_ratio=together.pot_life_ratio * one.pot_life_ratio,
            cure_ratio=together.cure_ratio * one.cure_ratio,
            shore_points=together.shore_points + one.shore_points,
            tear_ratio=together.tear_ratio * one.tear_ratio,
            shrinkage_added=together.shrinkage_added + one.shrinkage_added,
        )
    return together


def _effect(additive: Additive) -> Effect:
    """What one additive does: each column of its table read straight between the lines, never outside them."""
    lines = additive.material.doses
    within(
        additive.dose_ratio,
        low=lines[0].dose_ratio,
        high=lines[-1].dose_ratio,
        what=f"dose of {additive.material.name}",
        unit="g per g",
        remedy="Stay inside the table of the data sheet, or measure a test cup and add the point.",
    )
    doses = [line.dose_ratio for line in lines]
    columns = {field.name: [getattr(line, field.name) for line in lines] for field in fields(Effect)}
    return Effect(**{name: float(np.interp(additive.dose_ratio, doses, column)) for name, column in columns.items()})


def stirred_into(material: Material) -> CountsOn:
    """The part an additive goes into before A and B meet: as its record says, else the one it counts on, else A."""
    part = material.stir_into or material.counts_on
    return CountsOn.B if part is CountsOn.B else CountsOn.A


def shrinkage_with(material: Material, additives: Iterable[Additive]) -> float | None:
    """Linear shrinkage of the material with its additives; None where the record is silent."""
    figure = material.figures.get(FigureName.SHRINKAGE)
    return None if figure is None else figure.value + effect_of(additives).shrinkage_added


def counted_share(counts_on: CountsOn | None, *, b_per_a: float) -> float:
    """Grams that a dose is counted on, for one gram of A.

    >>> counted_share(CountsOn.B, b_per_a=0.9)
    0.9
    """
    return {CountsOn.A: 1.0, CountsOn.B: b_per_a}.get(counts_on or CountsOn.TOTAL, 1.0 + b_per_a)


def _counted(material: Material) -> str:
    return {CountsOn.A: "part A", CountsOn.B: "part B"}.get(material.counts_on or CountsOn.TOTAL, "A and B")
