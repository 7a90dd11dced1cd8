"""How sure a date is: the job worked by the rule many times, each with other cures, hands, spoiled copies, moulds."""

from collections.abc import Mapping
from collections.abc import Set as AnySet
from dataclasses import dataclass

import numpy as np
from scipy.stats import rankdata

from firstpour.schedule.chances import Yields, draw_runs
from firstpour.schedule.dispatch import place_runs
from firstpour.schedule.values import Calendar, Network
from firstpour.values import FloatArray, IntArray

RUNS = 2000
SEED = 58
LEAST_CORRELATION = 0.05
"""Below, chance alone gives as much with so many runs."""
MOST_DRIVERS = 6
TENTH = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """What moves the date: rank correlation with it, and steps between its best and its worst tenth of the runs."""

    what: str
    correlation: float
    worst_against_best: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Risk:
    """Last ends of all runs in steps, in order (runs,), and what drives them, the strongest first."""

    lasts: IntArray
    drivers: tuple[Driver, ...]
    unfinished_ratio: float
    """Runs that did not end in the days looked at; they stand at their end."""

    def within(self, ratio: float) -> int:
        """The step by which so large a share of the runs has ended."""
        place = int(np.ceil(ratio * len(self.lasts))) - 1
        return int(self.lasts[min(max(place, 0), len(self.lasts) - 1)])

    def chance_by(self, step: float) -> float:
        """The share of the runs that has ended by then."""
        return float(np.searchsorted(self.lasts, step, side="right")) / len(self.lasts)


def risk_of(
    network: Network,
    calendar: Calendar,
    copies: Mapping[str, int],
    *,
    runs: int = RUNS,
    seed: int = SEED,
    yields: Yields | None = None,
    printed: AnySet[str] = frozenset(),
) -> Risk:
    """Work the job by the rule so many times. `copies`: good ones wanted of each part; `printed`: those printed.

    `network` must hold shots, moulds and prints enough (`Ways.shots`, `again`, `prints_again`). The same input gives
    the same answer.
    """
    drawn = draw_runs(network, copies, runs=runs, seed=seed, yields=yields or Yields(), printed=printed)
    steps = np.ceil(np.round(drawn.minutes / calendar.step_min, 6)).astype(np.int64)
    by_hours = np.array([task.by_hours for task in network.tasks])
    steps[:, by_hours] = np.minimum(steps[:, by_hours], calendar.longest)
    steps[~drawn.there] = -1
    placed = place_runs(network, calendar, steps)
    ends = np.where(drawn.there, placed.starts + np.maximum(steps, 0), 0)
    lasts = ends.max(axis=1, initial=0)
    lasts[placed.stuck >= 0] = calendar.end
    return Risk(
        lasts=np.sort(lasts),
        drivers=_drivers(drawn.drivers, lasts),
        unfinished_ratio=float(np.mean(placed.stuck >= 0)),
    )


def _drivers(drawn: Mapping[str, FloatArray], lasts: IntArray) -> tuple[Driver, ...]:
    """By the strength of their rank correlation (Spearman) with the last end."""
    found = []
    for what, values in drawn.items():
        correlation = rank_correlation(values, lasts)
        if correlation < LEAST_CORRELATION:
            continue
        order = np.argsort(values, kind="stable")
        count = max(1, int(TENTH * len(order)))
        apart = float(lasts[order[-count:]].mean() - lasts[order[:count]].mean())
        found.append(Driver(what=what, correlation=correlation, worst_against_best=apart))
    return tuple(sorted(found, key=lambda one: -one.correlation)[:MOST_DRIVERS])


def rank_correlation(first: FloatArray | IntArray, second: FloatArray | IntArray) -> float:
    """Spearman's rank correlation, ties at their mean rank; 0 where either never changes."""
    ranks = [rankdata(one) for one in (first, second)]
    if any(one.min() == one.max() for one in ranks):
        return 0.0
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1])
