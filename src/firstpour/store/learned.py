"""What a workshop has seen of its own work, as it bears on the next plan: how often shots come out good, and how long
pot lives, cures and prints really took against what was planned. Each with the number of times that it was seen."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType

from sqlalchemy import Connection, select

from firstpour.store.opening import reading
from firstpour.store.place import StorePlace
from firstpour.store.runs import forgotten_at
from firstpour.store.tables import ENTRIES, MEASUREMENTS, OUTCOMES, RUNS
from firstpour.store.times import moment

YIELD, POT_LIFE, DEMOULD, PRINT = "yield", "pot life", "demould", "print minutes"
TIMED = (POT_LIFE, DEMOULD, PRINT)
AT_ONE = 2.0
"""A factor is drawn to 1 as if it had been seen so often at 1 before: our own choice (decision 0072)."""
LEAST_RATIO, MOST_RATIO = 0.2, 5.0
"""A ratio outside this was mistyped, and is not counted: our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Shots of a part, and how many of them were good."""

    good: int = 0
    shots: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """How much longer than planned it took, and how often that was seen."""

    ratio: float = 1.0
    times: int = 0


def _nothing() -> Mapping[str, Factor]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """All that was learned: yields by part, pot lives and cures by material, prints by printer's process."""

    yields: Mapping[str, Seen] = field(default_factory=lambda: MappingProxyType({}))
    pot_lives: Mapping[str, Factor] = field(default_factory=_nothing)
    demoulds: Mapping[str, Factor] = field(default_factory=_nothing)
    prints: Mapping[str, Factor] = field(default_factory=_nothing)

    def seen(self, part: str) -> Seen:
        """What was seen of a part."""
        return self.yields.get(part, Seen())


def learned_in(place: StorePlace) -> Learned:
    """What the store has seen that was not forgotten since.

    Raises
    ------
    BadRequest
        If the store cannot be read.
    """
    with reading(place) as connection:
        return Learned() if connection is None else learned_from(connection)


def learned_from(connection: Connection) -> Learned:
    """The same of a store that is open."""
    since = forgotten_at(connection)
    times = {what: _factors(connection, what, since) for what in TIMED}
    return Learned(
        yields=_yields(connection, since),
        pot_lives=times[POT_LIFE],
        demoulds=times[DEMOULD],
        prints=times[PRINT],
    )


def factor_of(ratios: Iterable[float]) -> Factor:
    r"""The factor of ratios of measured to planned: their geometric mean, drawn to 1.

    .. math:: \ln f = \frac{\sum \ln r_i}{n + 2}

    >>> round(factor_of([1.2, 1.2]).ratio, 4), factor_of([1.2, 1.2]).times
    (1.0954, 2)
    """
    logs = [math.log(one) for one in ratios if LEAST_RATIO <= one <= MOST_RATIO]
    return Factor(ratio=math.exp(sum(logs) / (len(logs) + AT_ONE)), times=len(logs))


def _yields(connection: Connection, since: Mapping[tuple[str, str], datetime]) -> Mapping[str, Seen]:
    rows = connection.execute(
        select(RUNS.c.part, OUTCOMES.c.good, ENTRIES.c.at)
        .select_from(OUTCOMES.join(ENTRIES).join(RUNS))
        .where(ENTRIES.c.undone_at.is_(None))
    )
    found: dict[str, Seen] = {}
    for part, good, at in rows:
        if _counts(since, YIELD, part, at):
            before = found.get(part, Seen())
            found[part] = Seen(good=before.good + good, shots=before.shots + 1)
    return MappingProxyType(found)


def _factors(connection: Connection, what: str, since: Mapping[tuple[str, str], datetime]) -> Mapping[str, Factor]:
    rows = connection.execute(
        select(MEASUREMENTS.c.material_id, MEASUREMENTS.c.value, MEASUREMENTS.c.wanted, ENTRIES.c.at)
        .select_from(MEASUREMENTS.join(ENTRIES))
        .where(ENTRIES.c.undone_at.is_(None), MEASUREMENTS.c.what == what)
    )
    ratios: dict[str, list[float]] = {}
    for about, value, wanted, at in rows:
        if about is not None and wanted and _counts(since, what, about, at):
            ratios.setdefault(about, []).append(value / wanted)
    return MappingProxyType({about: factor_of(found) for about, found in ratios.items()})


def _counts(since: Mapping[tuple[str, str], datetime], what: str, about: str, at: str) -> bool:
    forgotten = since.get((what, about))
    return forgotten is None or moment(at) > forgotten
