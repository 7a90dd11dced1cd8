"""Hands, days and money of a route for many numbers of copies, without laying out the work of each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from firstpour.choosing.counts import shots_for
from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.routes.course import Course, Rows, side_by_side_work
from firstpour.routes.money import Rates
from firstpour.routes.recipe import Recipe, goes_of, moulds_for, tries_for
from firstpour.routes.work import Presence, Work, end_of, minutes_of
from firstpour.values import FloatArray, IntArray, frozen_array
from firstpour.workshop.hours import DAY_MIN


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Counted:
    """For each number of copies (n,): shots or prints, moulds, repeats of release; goes by size (n, a_go + 1)."""

    tries: IntArray
    moulds: IntArray
    repeats: IntArray
    sizes: IntArray

    @classmethod
    def of(cls, recipe: Recipe, counts: Sequence[int]) -> "_Counted":
        tries = _tries(tuple(counts), recipe.yield_ratio, recipe.seen_good, recipe.seen_shots)
        worn = 1 if recipe.life_shots is None else -(-tries // recipe.life_shots)
        filled = np.minimum(recipe.moulds, -(-tries // recipe.a_mould))
        moulds = np.maximum(filled, worn) if recipe.moulds else np.zeros_like(tries)
        sizes = _sizes(recipe, tries)
        return cls(tries=tries, moulds=moulds, repeats=(sizes.sum(axis=1) - 1) // RELEASE_EVERY, sizes=sizes)


@lru_cache(maxsize=64)
def _tries(counts: tuple[int, ...], yield_ratio: float, seen_good: int, seen_shots: int) -> IntArray:
    """Copies to try for each number of good ones (n,)."""
    tries = [shots_for(one, yield_ratio=yield_ratio, seen_good=seen_good, seen_shots=seen_shots) for one in counts]
    return frozen_array(tries, np.int64)


def _sizes(recipe: Recipe, tries: IntArray) -> IntArray:
    """How often there is a go of each size (n, a_go + 1) for so many tries (n,): `goes_of`, counted."""
    most = recipe.a_go
    first = [] if recipe.moulds < 2 else list(goes_of(recipe, most * recipe.moulds)[: recipe.moulds])
    sizes = np.zeros((len(tries), most + 1), dtype=np.int64)
    left = tries.copy()
    for size in first:
        taken = np.minimum(left, size)
        np.add.at(sizes, (np.arange(len(tries)), taken), 1)
        left -= taken
    sizes[:, most] += left // most
    np.add.at(sizes, (np.arange(len(tries)), left % most), 1)
    sizes[:, 0] = 0
    return sizes


def hands_curve(recipe: Recipe, counts: Sequence[int]) -> list[float]:
    """Minutes of hands of `works_for` for each of these numbers of copies, summed without laying them out."""
    good = minutes_of(recipe.each_good)
    hands = _summed(recipe, _Counted.of(recipe, counts), "hands_min") + np.asarray(counts) * good.hands_min
    return [float(one) for one in hands]


def _summed(recipe: Recipe, counted: _Counted, what: str) -> FloatArray:
    """Minutes of hands or of printers (n,), the work on good copies left out."""

    def of(works: Iterable[Work]) -> float:
        return float(getattr(minutes_of(works), what))

    by_size = np.array([of(one.of(size) for one in recipe.each_go) for size in range(recipe.a_go + 1)])
    again = of(one.of(recipe.moulds) for one in recipe.now_and_then)
    goes = counted.sizes @ by_size
    summed: FloatArray = of(recipe.once) + counted.moulds * of(recipe.each_mould) + goes + counted.repeats * again
    return summed


def days_curve(recipe: Recipe, counts: Sequence[int], presence: Presence) -> list[float]:
    """Days of `works_for` on the calendar for each of these numbers of copies; goes that they share are laid once."""
    rows, most = Rows(recipe), tries_for(recipe, max(counts))
    shared: dict[int, tuple[Course, list[float]]] = {}
    curve = []
    for copies in counts:
        tries = tries_for(recipe, copies)
        at_once = min(recipe.moulds, moulds_for(recipe, tries))
        if at_once not in shared:
            shared[at_once] = (Course(recipe, tries, most), [0.0])
        course, ends = shared[at_once]
        last = course.last(tries)
        while len(ends) <= last.number:
            ends.append(end_of(rows.of(course.goes[len(ends) - 1]), presence, ends[-1]))
        works = (*rows.of(last), *(side_by_side_work(one, copies) for one in recipe.each_good))
        curve.append(end_of(works, presence, ends[last.number]) / DAY_MIN)
    return curve


def money_curve(recipe: Recipe, counts: Sequence[int], rates: Rates) -> list[float]:
    """Money for each of these numbers of copies."""
    rows = (recipe.money_once, recipe.money_mould, recipe.money_now_and_then, recipe.money_try, recipe.money_good)
    once, mould, again, each_try, good = (sum(one.money for one in row) for row in rows)
    counted = _Counted.of(recipe, counts)
    money = once + counted.moulds * mould + recipe.moulds * counted.repeats * again
    money = money + counted.tries * each_try + np.asarray(counts) * good
    hands, printer = (0.0 if one is None else one / 60.0 for one in (rates.hands_per_h, rates.printer_per_h))
    if hands:
        money = money + hands * np.array(hands_curve(recipe, counts))
    if printer:
        money = money + printer * _summed(recipe, counted, "printer_min")
    return [float(one) for one in money]
