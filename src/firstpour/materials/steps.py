"""The steps of the workshop: what is done, in which order, for how long, and what surface it leaves."""

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from firstpour.errors import BadRequest

ROOM_C = 23.0


class On(StrEnum):
    """What a step is done to."""

    MIX = "mix"
    PRINT = "print"
    MOULD = "mould"
    COPY = "copy"


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """A time as it varies: shortest, likeliest, longest."""

    low_min: float
    likely_min: float
    high_min: float

    def __post_init__(self) -> None:
        if not (0 <= self.low_min <= self.likely_min <= self.high_min and math.isfinite(self.high_min)):
            raise BadRequest(
                f"a time of {self.low_min:g}, {self.likely_min:g}, {self.high_min:g} min.",
                remedy="Give the shortest, the likeliest and the longest minutes, in this order.",
            )

    def scaled_to(self, likely_min: float) -> "Minutes":
        """The same spread about another likeliest time; from nothing, that time alone.

        >>> Minutes(low_min=5, likely_min=10, high_min=30).scaled_to(4)
        Minutes(low_min=2.0, likely_min=4, high_min=12.0)
        """
        if self.likely_min == 0:
            return Minutes(low_min=likely_min, likely_min=likely_min, high_min=likely_min)
        factor = likely_min / self.likely_min
        return Minutes(low_min=self.low_min * factor, likely_min=likely_min, high_min=self.high_min * factor)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step. `rank` orders it among others; it needs `hands`, then waits for `wait` at `at_c`."""

    id: str
    name: str
    on: On
    rank: int
    text: str
    why: str
    hands: Minutes
    wait: Minutes
    at_c: float = ROOM_C
    leaves: frozenset[str] = frozenset()
    """Traits that the surface has afterwards."""
    takes: frozenset[str] = frozenset()
    """Traits that it loses."""
    follows: str | None = None
    """The step that it is a part of: done wherever that one was done."""
    covers: bool = False
    """True: a coat over the whole surface; earlier work on it can no longer be done."""
    waits_for_demould: bool = False
    """True: the wait is the demould time of the material that is tested."""
    each_pour: bool = False
    """True: done again for every pour or copy, not once a mould."""
    soon_min: float = math.inf
    """It begins at most so long after what it follows has ended."""
    lasts_min: float = math.inf
    """What it leaves serves for so long: what waits for it begins within that."""
    uses: str | None = None
    uses_g_dm2: float = 0.0
    """Grams of `uses` to a square decimetre, overspray included: our own estimate (decision 0017).

    Where a step that paints names nothing, of the paint of the job.
    """

    @property
    def hands_min(self) -> float:
        """Likeliest minutes of hands."""
        return self.hands.likely_min

    @property
    def wait_min(self) -> float:
        """Likeliest minutes of waiting."""
        return self.wait.likely_min

    @property
    def instruction(self) -> str:
        """The text with the wait that the table states."""
        return f"{self.text} {_wait_words(self)}".rstrip()


def step(step_id: str) -> Step:
    """The step of that id.

    Raises
    ------
    BadRequest
        If there is none.
    """
    found = _table().get(step_id)
    if found is None:
        raise BadRequest(f"no step “{step_id}” is known.", remedy=f"Use one of: {', '.join(_table())}.")
    return found


def all_steps() -> tuple[Step, ...]:
    """Every step of the table, in its order."""
    return tuple(_table().values())


def in_order(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Each step once, in the order of the table.

    >>> [one.id for one in in_order([step("test-patch"), step("seal"), step("wash"), step("seal")])]
    ['wash', 'seal', 'test-patch']
    """
    return tuple(sorted({one.id: one for one in steps}.values(), key=lambda one: one.rank))


def with_hands(one: Step, hands_min: float) -> Step:
    """The step with other minutes of hands, their spread scaled alike."""
    return replace(one, hands=one.hands.scaled_to(hands_min))


def surface_after(traits: Iterable[str], steps: Iterable[Step]) -> frozenset[str]:
    """The traits of a surface once these steps were done to it, in their order.

    >>> sorted(surface_after({"photopolymer"}, [step("wash"), step("seal")]))
    ['photopolymer', 'sealed', 'washed']
    """
    surface = frozenset(traits)
    for one in in_order(steps):
        surface = surface - one.takes | one.leaves
    return surface


def surface_words(traits: Iterable[str]) -> str:
    """A surface in words: what it is of, then the traces of the steps in their order, or that it is bare.

    >>> surface_words({"sealed", "photopolymer", "washed"}), surface_words({"filament", "layered"})
    ('photopolymer, washed, sealed', 'filament, layered, bare')
    """
    present = frozenset(traits)
    traces = [trait for one in all_steps() for trait in sorted(one.leaves & present)]
    coated = any(one.covers and one.leaves <= present for one in all_steps())
    return ", ".join([*sorted(present - set(traces)), *dict.fromkeys(traces), *([] if coated else ["bare"])])


def still_to_do(steps: Iterable[Step], surface: frozenset[str]) -> tuple[Step, ...]:
    """The steps whose traces the surface does not carry yet, in order; not those beneath a coat that lies on it.

    >>> [one.id for one in still_to_do([step("seal"), step("dry-sealer"), step("test-patch")], frozenset({"sealed"}))]
    ['test-patch']
    """
    coats = [one.rank for one in all_steps() if one.covers and one.leaves <= surface]
    covered = max(coats, default=0)
    open_to_do = (one for one in in_order(steps) if one.on is not On.PRINT or one.rank >= covered)
    return tuple(one for one in open_to_do if not _is_done(one, surface))


def _is_done(one: Step, surface: frozenset[str]) -> bool:
    traces = one.leaves if one.follows is None else step(one.follows).leaves
    return bool(traces) and traces <= surface


def _wait_words(one: Step) -> str:
    if one.waits_for_demould or one.wait_min == 0:
        return ""
    where = "" if one.at_c == ROOM_C else f" at {one.at_c:g} °C"
    return (
        f"Wait {time_words(one.wait_min)}{where} ({time_words(one.wait.low_min)} to {time_words(one.wait.high_min)})."
    )


def time_words(minutes: float) -> str:
    """Minutes as one says them.

    >>> time_words(20), time_words(150), time_words(1440), time_words(4320)
    ('20 min', '2.5 h', '24 h', '3 d')
    """
    if minutes < 100:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.3g} h" if minutes <= 2880 else f"{minutes / 1440:.2g} d"


@cache
def _table() -> Mapping[str, Step]:
    text = (files("firstpour.materials") / "data" / "steps.toml").read_text(encoding="utf-8")
    return MappingProxyType({row["id"]: _step(row) for row in tomllib.loads(text)["step"]})


def _step(row: dict[str, Any]) -> Step:
    given = dict(row)
    given["on"] = On(row["on"])
    given["hands"], given["wait"] = (_minutes(given.pop(key)) for key in ("hands_min", "wait_min"))
    given["leaves"], given["takes"] = (frozenset(row.get(key, ())) for key in ("leaves", "takes"))
    return Step(**given)


def _minutes(three: list[float]) -> Minutes:
    low, likely, high = (float(one) for one in three)
    return Minutes(low_min=low, likely_min=likely, high_min=high)
