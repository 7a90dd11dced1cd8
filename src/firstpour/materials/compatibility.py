"""What may touch what: rules with reason, source and remedy; how long a mould lasts with a casting material."""

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from firstpour.materials.steps import Step, step, still_to_do


class Contact(StrEnum):
    """How two materials meet."""

    CURES_AGAINST = "cures against"
    MIXED_INTO = "mixed into"
    PAINTED_ON = "painted on"
    HANDLED_WITH = "handled with"


class Verdict(StrEnum):
    """What comes of it, mildest first."""

    ALLOWED = "allowed"
    WITH_STEP = "allowed with a step"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One line of the table: it fits a pair when a trait of each list is there and none of `lacks` is."""

    id: str
    contact: Contact
    first: frozenset[str]
    second: frozenset[str]
    also: frozenset[str]
    lacks: frozenset[str]
    verdict: Verdict
    reason: str
    source: str
    remedy: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What the table says of a pair: the worst verdict, the steps of all rules that fit, and the rules themselves."""

    verdict: Verdict
    rules: tuple[Rule, ...]
    steps: tuple[Step, ...]

    @property
    def reason(self) -> str:
        worst = [rule for rule in self.rules if rule.verdict is self.verdict]
        return " ".join(rule.reason for rule in worst)

    @property
    def remedy(self) -> str:
        worst = [rule for rule in self.rules if rule.verdict is self.verdict]
        return " ".join(rule.remedy for rule in worst)


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldLife:
    """How many copies a mould gives before its face goes: common practice, no source."""

    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    rules: tuple[Rule, ...]
    substances: frozenset[str]
    lives: tuple[tuple[frozenset[str], frozenset[str], MouldLife], ...]


UNKNOWN = Rule(
    id="no-rule",
    contact=Contact.CURES_AGAINST,
    first=frozenset(),
    second=frozenset(),
    also=frozenset(),
    lacks=frozenset(),
    verdict=Verdict.WITH_STEP,
    reason="No rule is known for this pair.",
    source="none",
    remedy="Test a patch before you pour.",
    steps=("test-patch",),
)


def judge(*, first: frozenset[str], second: frozenset[str], contact: Contact) -> Judgement:
    """What the rules say when `first` meets `second`; each is a set of traits (a material's, or a surface's).

    Each substance of a surface asks for a rule of its own, and each that has none for a test patch: silence is no
    proof. Steps that the surface already carries the traces of are left out; the rest come in the table's order.

    >>> judge(first=frozenset({"addition-cure silicone"}), second=frozenset({"contains sulphur"}),
    ...       contact=Contact.CURES_AGAINST).verdict.value
    'refused'
    """
    fitting = [rule for rule in _table().rules if _fits(rule, first, second, contact)]
    fitting += [_unknown(trait) for trait in _unspoken(fitting, second, contact)]
    rules = tuple(fitting) or (UNKNOWN,)
    verdict = max((rule.verdict for rule in rules), key=list(Verdict).index)
    steps = () if verdict is Verdict.REFUSED else still_to_do(_steps_of(rules), second)
    return Judgement(verdict=verdict, rules=rules, steps=steps)


def mould_life(*, casting: frozenset[str], silicone: frozenset[str]) -> MouldLife | None:
    """How many copies of `casting` a mould of `silicone` gives; None where nothing is known."""
    fits = [life for first, second, life in _table().lives if first & casting and second & silicone]
    return min(fits, key=lambda life: life.low, default=None)


def all_rules() -> tuple[Rule, ...]:
    """Every rule of the table, in its order."""
    return _table().rules


def substances() -> frozenset[str]:
    """What a surface may be of, as far as the table names it."""
    return _table().substances


def _unspoken(rules: Sequence[Rule], second: frozenset[str], contact: Contact) -> list[str]:
    """Substances of the surface that no rule speaks of, where something cures against it."""
    if contact is not Contact.CURES_AGAINST:
        return []
    return sorted(second & _table().substances - frozenset().union(*(rule.second for rule in rules)))


def _unknown(trait: str) -> Rule:
    return replace(UNKNOWN, second=frozenset({trait}), reason=f"No rule is known for this pair: {trait}.")


def _steps_of(rules: Iterable[Rule]) -> list[Step]:
    return [step(name) for rule in rules for name in rule.steps]


def _fits(rule: Rule, first: frozenset[str], second: frozenset[str], contact: Contact) -> bool:
    if rule.contact is not contact or rule.lacks & second or not rule.also <= second:
        return False
    return bool(rule.first & first and rule.second & second)


@cache
def _table() -> _Table:
    text = (files("firstpour.materials") / "data" / "compatibility.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    lives = tuple(
        (frozenset(row["first"]), frozenset(row["second"]), MouldLife(low=row["low"], high=row["high"]))
        for row in raw["mould_life"]
    )
    return _Table(
        rules=tuple(_rule(row) for row in raw["rule"]), substances=frozenset(raw["substances"]), lives=lives
    )


def _rule(row: dict[str, Any]) -> Rule:
    return Rule(
        id=row["id"],
        contact=Contact(row["contact"]),
        first=frozenset(row["first"]),
        second=frozenset(row["second"]),
        also=frozenset(row.get("with", [])),
        lacks=frozenset(row.get("lacks", [])),
        verdict=Verdict(row["verdict"]),
        reason=row["reason"],
        source=row["source"],
        remedy=row["remedy"],
        steps=tuple(row.get("steps", [])),
    )
