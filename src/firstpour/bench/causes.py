r"""Why a copy was spoiled: every cause of one table scored openly against what was seen and what was logged.

Each cause begins with its prior, of a hundred spoiled copies. What was seen and what the log says multiply it by the
likelihood ratios of the table, taken as independent of each other; the scores are then brought to a sum of one:

.. math:: P(c \mid e) = \frac{\pi_c \prod_i r_{c,i}}{\sum_k \pi_k \prod_i r_{k,i}}

All figures are estimates of our own (decision 0071). They rank what to try first; they are not measured frequencies.
"""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files

from firstpour.bench.defects import DefectKind, Place

UNSEEN = 0.15
"""Likelihood ratio of a defect that the table does not name with a cause: possible, but seldom. Our own estimate."""
OLD_DAYS = 120
LATE_SHARE = 0.8
COLD_C, WARM_C = 19.0, 28.0
FIRST_SHOTS = 2
HOT_PART_C = 60.0
LIGHT_RATIO = 0.97


class Sign(StrEnum):
    """What the log can say of a copy."""

    RATIO_OFF = "ratio off"
    STIRRED_BRIEFLY = "stirred briefly"
    COLD = "cold"
    WARM = "warm"
    OPENED_EARLY = "opened early"
    PAST_ITS_DATE = "past its date"
    OPENED_LONG_AGO = "opened long ago"
    DEGASSED = "degassed"
    POURED_LATE = "poured late"
    LIGHT_BATCH = "light batch"
    AIR_FORETOLD = "air foretold"
    WORN_MOULD = "worn mould"
    FIRST_SHOTS = "first shots"
    GOT_HOT = "got hot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A row of the table: its prior, and its likelihood ratios by defect, place and sign (said yes, said no)."""

    id: str
    name: str
    prior: float
    next_try: str
    shows: Mapping[DefectKind, float]
    places: Mapping[Place, float]
    log: Mapping[Sign, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """What the log says about a sign: yes or no, with the figures. A sign that nothing is known of is left out."""

    sign: Sign
    holds: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One factor of a score, in words; above 1 it speaks for the cause, below 1 against it."""

    words: str
    ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """A cause with its share of all, the reasons for and against, and what to try next."""

    cause: str
    name: str
    share: float
    prior_share: float
    reasons_for: tuple[Reason, ...]
    reasons_against: tuple[Reason, ...]
    next_try: str


@lru_cache(maxsize=1)
def table() -> tuple[Cause, ...]:
    """Every cause, as data/causes.toml gives it."""
    text = (files("firstpour.bench") / "data" / "causes.toml").read_text(encoding="utf-8")
    return tuple(
        Cause(
            id=row["id"],
            name=row["name"],
            prior=float(row["prior"]),
            next_try=row["try"],
            shows={DefectKind(key): float(value) for key, value in row["shows"].items()},
            places={Place(key): float(value) for key, value in row["places"].items()},
            log={Sign(key): (float(value[0]), float(value[1])) for key, value in row["log"].items()},
        )
        for row in tomllib.loads(text)["cause"]
    )


def causes_of(
    seen: Iterable[tuple[DefectKind, Place]], facts: Sequence[Fact] = (), *, causes: Sequence[Cause] | None = None
) -> tuple[Likely, ...]:
    """Every cause, the likeliest first, with what speaks for and against it.

    Several defects of one copy are taken to have one cause. Without a defect nothing is said.
    """
    defects = list(dict.fromkeys(seen))
    if not defects:
        return ()
    rows = table() if causes is None else causes
    scored = [(cause, _reasons(cause, defects, facts)) for cause in rows]
    weights = {cause.id: _product(cause.prior, reasons) for cause, reasons in scored}
    total, priors = sum(weights.values()), sum(cause.prior for cause in rows)
    found = [
        Likely(
            cause=cause.id,
            name=cause.name,
            share=weights[cause.id] / total,
            prior_share=cause.prior / priors,
            reasons_for=tuple(sorted((one for one in reasons if one.ratio > 1), key=lambda one: -one.ratio)),
            reasons_against=tuple(sorted((one for one in reasons if one.ratio < 1), key=lambda one: one.ratio)),
            next_try=cause.next_try,
        )
        for cause, reasons in scored
    ]
    return tuple(sorted(found, key=lambda one: -one.share))


def _reasons(cause: Cause, defects: Sequence[tuple[DefectKind, Place]], facts: Sequence[Fact]) -> list[Reason]:
    found = [Reason(words=kind.value, ratio=cause.shows.get(kind, UNSEEN)) for kind, _ in defects]
    found += [
        Reason(words=f"{kind.value}: {place.value}", ratio=cause.places[place])
        for kind, place in defects
        if place in cause.places and kind in cause.shows
    ]
    for fact in facts:
        if fact.sign in cause.log:
            yes, no = cause.log[fact.sign]
            found.append(Reason(words=fact.words, ratio=yes if fact.holds else no))
    return found


def _product(prior: float, reasons: Sequence[Reason]) -> float:
    value = prior
    for one in reasons:
        value *= one.ratio
    return value
