"""The tasks of a part as they are strung together, and how minutes are told of them."""

import math
from collections.abc import Sequence
from dataclasses import replace

from firstpour.choosing.choice import Chosen
from firstpour.materials.figures import FigureName
from firstpour.materials.steps import Minutes, Step
from firstpour.schedule.values import Doing, Hold, Task

SHORTEST_RATIO, LONGEST_RATIO = 0.75, 1.8
"""Spread of a pour's minutes (decision 0004)."""


class Chain:
    """Tasks of a part as they are added, one after what it waits for."""

    def __init__(self, part: str) -> None:
        self.part = part
        self.tasks: list[Task] = []
        self.holds: list[Hold] = []
        self.proofs: list[str] = []
        self._lasts_min: dict[str, float] = {}
        self._place: dict[str, object] = {}
        self._key = ""

    def at(self, **place: object) -> None:
        """What is added from now on belongs there: lane, mould, again, round."""
        self._place = place
        self._key = f" again {place['again']}" if place.get("again") else ""

    def add(self, key: str, name: str, doing: Doing, time: Minutes, after: Sequence[str] = (), **more: object) -> str:
        """Add a task and give its id. The first that waits for what serves for a while begins within that."""
        task_id = f"{self.part}/{key}{self._key}"
        within = tuple((one, self._lasts_min.pop(one)) for one in after if one in self._lasts_min)
        self.tasks.append(
            Task(
                id=task_id,
                name=name,
                part=self.part,
                doing=doing,
                minutes=time.likely_min,
                low_min=time.low_min,
                high_min=time.high_min,
                after=tuple(after),
                **{"within": within, **self._place, **more},  # type: ignore[arg-type]
            )
        )
        return task_id

    def wait(self, key: str, name: str, time: Minutes, of: str, *, alike: str | None = None) -> str:
        """A wait that begins the moment that the task `of` ends."""
        return self.add(key, name, Doing.WAIT, time, at_once=of, alike=alike)

    def work(self, key: str, one: Step, after: tuple[str, ...], *, times: int = 1) -> tuple[str, ...]:
        """A step of the table: its hands, then its wait; what comes next waits for what is given back."""
        last = after
        if math.isfinite(one.soon_min):
            self._lasts_min |= dict.fromkeys(after, one.soon_min)
        if one.hands_min > 0:
            hands = times_over(one.hands, times)
            last = (
                self.add(
                    key, one.name, Doing.WORK, hands, last,
                    attended=True, text=one.text, can_pause=one.wait_min <= 0,
                ),
            )  # fmt: skip
        if one.wait_min > 0:
            name = one.name if one.hands_min <= 0 else f"wait after: {one.name}"
            if len(last) == 1:
                last = (self.wait(f"{key} wait", name, one.wait, last[0]),)
            else:
                last = (self.add(f"{key} wait", name, Doing.WAIT, one.wait, last),)
        if math.isfinite(one.lasts_min):
            self._lasts_min |= dict.fromkeys(last, one.lasts_min)
        return last


def cure_of(chosen: Chosen, likely_min: float) -> Minutes:
    """A cure with the spread of the record's demould time."""
    figure = chosen.material.figures.get(FigureName.DEMOULD)
    if figure is None or figure.value <= 0:
        return exactly(likely_min)
    low, high = figure.lowest / figure.value, figure.highest / figure.value
    return Minutes(low_min=min(1.0, low) * likely_min, likely_min=likely_min, high_min=max(1.0, high) * likely_min)


def named(one: Step, what: str) -> Step:
    return replace(one, name=f"{one.name}, {what}") if what else one


def exactly(minutes: float) -> Minutes:
    return Minutes(low_min=minutes, likely_min=minutes, high_min=minutes)


def pour_spread(minutes: float) -> Minutes:
    return Minutes(low_min=SHORTEST_RATIO * minutes, likely_min=minutes, high_min=LONGEST_RATIO * minutes)


def times_over(one: Minutes, count: int) -> Minutes:
    return Minutes(low_min=count * one.low_min, likely_min=count * one.likely_min, high_min=count * one.high_min)


def with_minutes(a: Minutes, b: Minutes) -> Minutes:
    return Minutes(
        low_min=a.low_min + b.low_min, likely_min=a.likely_min + b.likely_min, high_min=a.high_min + b.high_min
    )
