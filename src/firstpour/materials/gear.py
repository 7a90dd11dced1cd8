"""What is worn, held or laid out at the bench: for each use the usual thing that no rule refuses."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from firstpour.materials.compatibility import Contact, Verdict, judge


class Each(StrEnum):
    """What one of a thing is counted on."""

    JOB = "job"
    BATCH = "batch"
    CUP = "cup"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """One thing: what it is used for, its traits, and the traits of a job that ask for it (none: always)."""

    id: str
    name: str
    use: str
    each: Each
    traits: frozenset[str] = frozenset()
    needed_for: frozenset[str] = frozenset()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GearChoice:
    """What to take for one use, and what never to take, with the reason."""

    gear: Gear
    never: tuple[str, ...]


def gear_for(traits: Iterable[str]) -> tuple[GearChoice, ...]:
    """For each use that a job of these traits has: the first thing that the rules let through, and what they refuse.

    >>> [choice.gear.id for choice in gear_for({"urethane", "contains isocyanate"}) if choice.gear.use == "sticks"]
    ['plastic-sticks']
    """
    present = frozenset(traits)
    choices = []
    for use in dict.fromkeys(gear.use for gear in _table()):
        asked = [gear for gear in _table() if gear.use == use and (not gear.needed_for or gear.needed_for & present)]
        refused = {gear.id: why for gear in asked if (why := _against(gear, present))}
        taken = next((gear for gear in asked if gear.id not in refused), None)
        if taken is not None:
            never = tuple(f"no {gear.name}: {refused[gear.id]}" for gear in asked if gear.id in refused)
            choices.append(GearChoice(gear=taken, never=never))
    return tuple(choices)


def _against(gear: Gear, present: frozenset[str]) -> str:
    """Why the rules refuse it here; empty if they do not."""
    judged = judge(first=present, second=gear.traits, contact=Contact.HANDLED_WITH)
    return judged.reason if judged.verdict is Verdict.REFUSED else ""


@cache
def _table() -> tuple[Gear, ...]:
    text = (files("firstpour.materials") / "data" / "gear.toml").read_text(encoding="utf-8")
    return tuple(
        Gear(
            id=row["id"],
            name=row["name"],
            use=row["use"],
            each=Each(row["each"]),
            traits=frozenset(row.get("traits", ())),
            needed_for=frozenset(row.get("needed_for", ())),
            note=row.get("note", ""),
        )
        for row in tomllib.loads(text)["gear"]
    )
