"""Cautions that are shown wherever a material is used, with exposure limits and their sources."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files

FIRST = "The data sheet, your local rules and licensed practice come first."


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureLimit:
    """One limit of the air at work, with its source; `ppm` where the source states it so.

    `since` and `until` are the first and the last day on which it holds, where it is not for good.
    """

    what: str
    value: float
    unit: str
    source: str
    ppm: float | None = None
    molar_mass_g_mol: float | None = None
    since: date | None = None
    until: date | None = None

    def __str__(self) -> str:
        days = [f"from {self.since}"] if self.since else []
        days += [f"until {self.until}"] if self.until else []
        return " ".join([f"{self.what}: {self.value:g} {self.unit}", *days])


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: whom it concerns (traits), its words, its source, the limits that belong to it."""

    id: str
    applies_to: frozenset[str]
    text: str
    source: str
    limits: tuple[ExposureLimit, ...]


def cautions_for(traits: Iterable[str]) -> tuple[Caution, ...]:
    """The cautions that concern any of these traits, in the table's order.

    >>> [caution.id for caution in cautions_for({"contains tin"})]
    ['organotin']
    """
    wanted = set(traits)
    return tuple(caution for caution in _cautions() if caution.applies_to & wanted)


@cache
def _cautions() -> tuple[Caution, ...]:
    text = (files("firstpour.materials") / "data" / "cautions.toml").read_text(encoding="utf-8")
    return tuple(
        Caution(
            id=row["id"],
            applies_to=frozenset(row["applies_to"]),
            text=row["text"],
            source=row["source"],
            limits=tuple(ExposureLimit(**limit) for limit in row.get("limit", [])),
        )
        for row in tomllib.loads(text)["caution"]
    )
