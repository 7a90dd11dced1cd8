"""What may go otherwise in a job: how long each task takes, how many shots and moulds are spoiled."""

from collections.abc import Iterable, Mapping
from collections.abc import Set as AnySet
from dataclasses import dataclass, field

import numpy as np
from scipy.special import betaincinv, ndtr
from scipy.stats import betanbinom

from firstpour.formulas.durations import three_point
from firstpour.mixing.pour_steps import SAME_HANDS
from firstpour.routes.printed import PRINT_YIELD as GOOD_PRINTS
from firstpour.schedule.values import Network, Task
from firstpour.store.learned import Seen
from firstpour.values import BoolArray, FloatArray, IntArray

SURE = 0.9999
"""Shots are laid in for so many of the runs; the rest counts as if the last of them had been good."""
MOST_AGAIN = 2
"""A mould is made anew at most so many times: the third failure is one in 1,500 even at the lower yields."""
CURES = {"silicone": "how long silicone cures", "casting": "how long the casting sets"}
"""What is told of tasks that are long or short together."""
TABLE = np.linspace(0.0, 1.0, 513)


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """What is known of a share of good ones: as if `good` of `good + spoiled` had been good (a beta distribution)."""

    good: float
    spoiled: float

    @property
    def mean_ratio(self) -> float:
        """The share to reckon with.

        >>> Yield(good=18, spoiled=2).mean_ratio
        0.9
        """
        return self.good / (self.good + self.spoiled)


CAST_YIELD = Yield(good=18.0, spoiled=2.0)
"""The nine in ten that materials are reckoned with, as sure as twenty shots make it (our own, decision 0058)."""
MOULD_YIELD = Yield(good=19.0, spoiled=1.0)
"""Of twenty moulds one is torn, bubbled or not cured (our own, decision 0058)."""
PRINT_YIELD = Yield(good=20.0 * GOOD_PRINTS, spoiled=20.0 * (1.0 - GOOD_PRINTS))
"""Of twenty prints one comes off the bed, tears or warps: as the routes reckon, as sure as twenty prints make it."""


def cast_yield_seen(seen: Seen) -> Yield:
    """The yield taken beforehand with what was seen of a part's shots added to it, as shots are reckoned with.

    >>> cast_yield_seen(Seen(good=2, shots=4))
    Yield(good=20.0, spoiled=4.0)
    """
    return Yield(good=CAST_YIELD.good + seen.good, spoiled=CAST_YIELD.spoiled + seen.shots - seen.good)


def most_shots(copies: int, of: Yield = CAST_YIELD) -> int:
    """Shots among which there are enough good ones nearly always.

    >>> most_shots(10) > 18
    True
    """
    return copies + int(betanbinom.ppf(SURE, copies, of.good, of.spoiled))


def shots_needed(rng: np.random.Generator, copies: int, of: Yield, runs: int) -> tuple[FloatArray, IntArray]:
    """The true yield, unknown before, and the shots until so many are good, once a run: two (runs,)."""
    yields = np.clip(rng.beta(of.good, of.spoiled, runs), 1e-6, 1.0)
    return yields, copies + rng.negative_binomial(copies, yields)


def lengths_min(rng: np.random.Generator, network: Network, runs: int) -> tuple[FloatArray, dict[str, FloatArray]]:
    r"""Minutes of every task in every run (runs, tasks), and how slow each thing was that many tasks share (runs,).

    A beta distribution through the shortest a, likeliest m and longest b, with

    .. math:: \alpha = 1 + 4\,(m - a)/(b - a), \qquad \beta = 1 + 4\,(b - m)/(b - a)

    whose mean and variance are those of `three_point`. Work of hands is slow or quick together, by `SAME_HANDS`; what
    is `alike` is so wholly.
    """
    lengths = np.empty((runs, len(network.tasks)))
    slow: dict[str, FloatArray] = {}
    tables: dict[tuple[float, float], FloatArray] = {}
    hands = rng.standard_normal(runs)
    for n, task in enumerate(network.tasks):
        low, high = task.low_min, task.high_min
        if low is None or high is None or high <= low:
            lengths[:, n] = task.minutes
            continue
        kind = _kind(task)
        if kind not in slow:
            slow[kind] = ndtr(hands if kind == "hands" else rng.standard_normal(runs))
        place = slow[kind]
        if task.alike is None:
            own = rng.standard_normal(runs)
            shared = np.sqrt(SAME_HANDS) * hands + np.sqrt(1.0 - SAME_HANDS) * own if task.attended else own
            place = ndtr(shared)
        lengths[:, n] = low + (high - low) * np.interp(place, TABLE, _quantiles(task, tables))
    return lengths, slow


def _kind(task: Task) -> str:
    """What makes it slow or quick."""
    if task.alike is not None:
        return f"{task.part}: {CURES.get(task.alike, task.alike)}" if task.doing.value == "wait" else task.alike
    return "hands" if task.attended else f"{task.part}: drying and waits"


def shape_of(task: Task) -> tuple[float, float]:
    """α and β of the task's own beta distribution."""
    assert task.low_min is not None
    assert task.high_min is not None
    spread = three_point(low_min=task.low_min, likely_min=task.minutes, high_min=task.high_min)
    mean = (spread.mean_min - task.low_min) / (task.high_min - task.low_min)
    return 6.0 * mean, 6.0 * (1.0 - mean)


def _quantiles(task: Task, tables: dict[tuple[float, float], FloatArray]) -> FloatArray:
    a, b = (round(one, 3) for one in shape_of(task))
    if (a, b) not in tables:
        tables[a, b] = betaincinv(a, b, TABLE)
    return tables[a, b]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """The runs drawn: minutes and whether a task is done (runs, tasks), and what may drive the date (runs,)."""

    minutes: FloatArray
    there: BoolArray
    drivers: Mapping[str, FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True)
class Yields:
    """How much comes out good: of casts, of moulds, of prints; of the casts of a part that was seen here, its own."""

    cast: Yield = CAST_YIELD
    mould: Yield = MOULD_YIELD
    print: Yield = PRINT_YIELD
    seen: Mapping[str, Yield] = field(default_factory=dict)

    def cast_of(self, part: str) -> Yield:
        """Of the casts of that part."""
        return self.seen.get(part, self.cast)


def draw_runs(
    network: Network,
    copies: Mapping[str, int],
    *,
    runs: int,
    seed: int,
    yields: Yields,
    printed: AnySet[str] = frozenset(),
) -> Drawn:
    """Draw every run: `network` holds shots, moulds and prints enough, of which each run does those that it needs.

    Copies of the parts that are `printed` come out good as prints do, not as casts.
    """
    rng = np.random.default_rng(seed)
    minutes, slow = lengths_min(rng, network, runs)
    there = np.ones(minutes.shape, np.bool_)
    drivers = dict(slow)
    for part, count in copies.items():
        of, what = (yields.print, "failed copies") if part in printed else (yields.cast_of(part), "spoiled copies")
        _, shots = shots_needed(rng, count, of, runs)
        drivers[f"{part}: {what}"] = (shots - count).astype(np.float64)
        own = [(n, task) for n, task in enumerate(network.tasks) if task.part == part]
        got, last_round = 0, np.zeros(runs, np.int64)
        for _, task in own:
            if task.good_copies:
                last_round = np.where(shots > got, task.round, last_round)
                got += task.good_copies
        for n, task in own:
            if task.round:
                there[:, n] = task.round <= last_round
        for kind, word, of_kind in (("mould", "moulds", yields.mould), ("piece", "prints", yields.print)):
            failed = _failures(rng, dict.fromkeys(getattr(task, kind) for _, task in own), of_kind, runs)
            if failed:
                drivers[f"{part}: failed {word}"] = np.sum(list(failed.values()), axis=0).astype(np.float64)
            for n, task in own:
                if task.again and getattr(task, kind):
                    there[:, n] = failed[getattr(task, kind)] >= task.again
    return Drawn(minutes=minutes, there=there, drivers=drivers)


def _failures(rng: np.random.Generator, names: Iterable[object], of: Yield, runs: int) -> dict[object, IntArray]:
    """How often each of them fails before it is good, once a run: all by one yield, which nobody knows before."""
    wanted = [name for name in names if name]
    if not wanted:
        return {}
    yields = np.clip(rng.beta(of.good, of.spoiled, runs), 1e-6, 1.0)
    return {name: np.minimum(rng.negative_binomial(1, yields), MOST_AGAIN) for name in wanted}
