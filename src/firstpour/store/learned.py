"""What a workshop has seen of its own work, as it bears on the next plan: how often shots come out good, and how long
pot lives, cures and prints really took against what was planned. Each with the number of times that it was seen."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from statistics import median
from types import MappingProxyType

from sqlalchemy import Connection, select

from firstpour.store.opening import reading
from firstpour.store.place import StorePlace
from firstpour.store.runs import forgotten_at
from firstpour.store.tables import ENTRIES, MEASUREMENTS, OUTCOMES, RUNS
from firstpour.store.times import moment

YIELD, POT_LIFE, DEMOULD, PRINT, PACE = "yield", "pot life", "demould", "print minutes", "pace"
TIMED = (POT_LIFE, DEMOULD, PRINT, PACE)
WORK, POUR = "work", "pour"
"""What a pace is of: work without a clock, and from B meeting A to the last of the mix poured."""
AT_ONE = 2.0
"""A factor is drawn to 1 as if it had been seen so often at 1 before: our own choice (decision 0072)."""
LEAST_RATIO, MOST_RATIO = 0.2, 5.0
"""A ratio outside this was mistyped, or something else was done meanwhile; it is not counted: our own choice."""
OTHER_WAY, ALIKE = 0.5, 0.25
"""What a shot tells of a part that is made in another kind of mould or material than it was, and of another part that
is made the same way: our own choice (decision 0074)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Shots, and how many of them were good; shots that tell less count as a part of one."""

    good: float = 0
    shots: float = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeAs:
    """A part, the kind of mould (or “printed”) and the material of its copies; None where that is not known."""

    part: str
    way: str | None = None
    material: str | None = None

    def tells(self, other: "MadeAs") -> float:
        """What a shot made so tells of one made otherwise, from 0 to 1.

        >>> hub = MadeAs(part="hub", way="trays", material="plastic")
        >>> [MadeAs(part=part, way="trays", material="plastic").tells(hub) for part in ("hub", "knob")]
        [1.0, 0.25]
        >>> [MadeAs(part=part, way="block", material="plastic").tells(hub) for part in ("hub", "knob")]
        [0.5, 0.0]
        """
        known = None not in (self.way, self.material, other.way, other.material)
        alike = (self.way, self.material) == (other.way, other.material)
        if self.part == other.part:
            return 1.0 if alike or not known else OTHER_WAY
        return ALIKE if alike and known else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """How much longer than planned it took, and how often that was seen."""

    ratio: float = 1.0
    times: int = 0


def _nothing() -> Mapping[str, Factor]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """All that was learned: yields by how copies were made, pot lives and cures by material, prints by the printer's
    process, paces by what is done."""

    yields: Mapping[MadeAs, Seen] = field(default_factory=lambda: MappingProxyType({}))
    pot_lives: Mapping[str, Factor] = field(default_factory=_nothing)
    demoulds: Mapping[str, Factor] = field(default_factory=_nothing)
    prints: Mapping[str, Factor] = field(default_factory=_nothing)
    paces: Mapping[str, Factor] = field(default_factory=_nothing)

    def seen(self, made: MadeAs) -> Seen:
        """What was seen that tells of shots made so, each by as much as it tells."""
        told = [(before.tells(made), seen) for before, seen in self.yields.items()]
        return Seen(
            good=sum(weight * seen.good for weight, seen in told),
            shots=sum(weight * seen.shots for weight, seen in told),
        )

    @property
    def factors(self) -> tuple[tuple[str, str, Factor], ...]:
        """Every factor: of what, about what."""
        each = {POT_LIFE: self.pot_lives, DEMOULD: self.demoulds, PRINT: self.prints, PACE: self.paces}
        return tuple((what, about, one) for what, found in each.items() for about, one in found.items())


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
        paces=times[PACE],
    )


def factor_of(ratios: Iterable[float]) -> Factor:
    r"""The factor of ratios of measured to planned: their geometric mean, drawn to 1.

    .. math:: \ln f = \frac{\sum \ln r_i}{n + 2}

    >>> round(factor_of([1.2, 1.2]).ratio, 4), factor_of([1.2, 1.2]).times
    (1.0954, 2)
    """
    logs = [math.log(one) for one in ratios if LEAST_RATIO <= one <= MOST_RATIO]
    return Factor(ratio=math.exp(sum(logs) / (len(logs) + AT_ONE)), times=len(logs))


def pace_of(ratios: Iterable[float]) -> Factor:
    r"""As `factor_of`, by the median: a step that was ticked late, or with others, moves it little.

    .. math:: \ln f = \frac{n \, \mathrm{median}(\ln r_i)}{n + 2}

    >>> round(pace_of([1.2, 1.2, 4.0]).ratio, 4)
    1.1156
    """
    logs = [math.log(one) for one in ratios if LEAST_RATIO <= one <= MOST_RATIO]
    count = len(logs)
    return Factor(ratio=math.exp(count * median(logs) / (count + AT_ONE)) if logs else 1.0, times=count)


def _yields(connection: Connection, since: Mapping[tuple[str, str], datetime]) -> Mapping[MadeAs, Seen]:
    rows = connection.execute(
        select(RUNS.c.part, RUNS.c.way, RUNS.c.material, OUTCOMES.c.good, ENTRIES.c.at)
        .select_from(OUTCOMES.join(ENTRIES).join(RUNS))
        .where(ENTRIES.c.undone_at.is_(None))
    )
    found: dict[MadeAs, Seen] = {}
    for part, way, material, good, at in rows:
        if _counts(since, YIELD, part, at):
            made = MadeAs(part=part, way=way, material=material)
            before = found.get(made, Seen())
            found[made] = Seen(good=before.good + good, shots=before.shots + 1)
    return MappingProxyType(found)


def _factors(connection: Connection, what: str, since: Mapping[tuple[str, str], datetime]) -> Mapping[str, Factor]:
    rows = connection.execute(
        select(MEASUREMENTS.c.material_id, MEASUREMENTS.c.value, MEASUREMENTS.c.wanted, ENTRIES.c.at)
        .select_from(MEASUREMENTS.join(ENTRIES))
        .where(ENTRIES.c.undone_at.is_(None), MEASUREMENTS.c.what == what)
    )
    ratios: dict[str, list[float]] = {}
    reckoned = pace_of if what == PACE else factor_of
    for about, value, wanted, at in rows:
        if about is not None and wanted and _counts(since, what, about, at):
            ratios.setdefault(about, []).append(value / wanted)
    return MappingProxyType({about: reckoned(found) for about, found in ratios.items()})


def _counts(since: Mapping[tuple[str, str], datetime], what: str, about: str, at: str) -> bool:
    forgotten = since.get((what, about))
    return forgotten is None or moment(at) > forgotten
