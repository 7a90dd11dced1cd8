"""One route as a recipe: what is done once, for each mould, each go and each copy; what so many copies come to."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from math import ceil

import numpy as np
from scipy.special import nbdtr

from firstpour.choosing.counts import BEFORE_SEEN, round_sizes, shots_for
from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.materials.feel import Hardness
from firstpour.printing.printers import Process
from firstpour.routes.money import Cost, Rates, merged
from firstpour.routes.work import Minutes, Presence, Work, end_of, minutes_of
from firstpour.values import FloatArray, IntArray, frozen_array
from firstpour.workshop.hours import DAY_MIN


class Way(StrEnum):
    """How the copies themselves come about."""

    PRINTED = "printed"
    CAST = "cast"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A print on its printer: which way is up in the part's coordinates, its layers, its own minutes and grams."""

    printer: str
    process: Process
    up: tuple[float, float, float]
    layer_mm: float
    print_min: float
    grams: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A route. `flaw_mm`: steps left on show faces; `off_points`: how far from the wanted hardness, harder above 0.

    A go is one plate of prints, or one round of filling the moulds that are ready; up to `a_go` copies come of it.
    """

    name: str
    way: Way
    material: str
    material_id: str = ""
    silicone: str | None = None
    silicone_id: str | None = None
    stands: "Standing | None" = None
    """How a print that is the copy itself stands on its printer."""
    kind: str | None = None
    hardness: Hardness | None = None
    off_points: float | None = None
    flaw_mm: float = 0.0
    seam_mm: float = 0.0
    """Seam on show faces."""
    fit_miss_mm: float = 0.0
    """How far the fits lie outside of their tolerances, in all; 0 where each holds."""
    accelerator_ratio: float | None = None
    silicone_accelerator_ratio: float | None = None
    """Where they are stirred in only for this route."""
    finish: str = ""
    once: tuple[Work, ...] = ()
    each_mould: tuple[Work, ...] = ()
    each_go: tuple[Work, ...] = ()
    now_and_then: tuple[Work, ...] = ()
    """What is done to all moulds again before every fifth go after the first: release (decision 0019)."""
    each_good: tuple[Work, ...] = ()
    """What is done to every good copy afterwards; its waits run side by side."""
    moulds: int = 0
    a_go: int = 1
    a_mould: int = 1
    """Copies that one filling of one mould gives."""
    life_shots: int | None = None
    yield_ratio: float = 1.0
    seen_good: float = 0
    seen_shots: float = 0
    """Shots of this part made here before, and how many were good."""
    in_time: float = 1.0
    """Chance that a shot ends within the pot life."""
    money_once: tuple[Cost, ...] = ()
    money_mould: tuple[Cost, ...] = ()
    money_now_and_then: tuple[Cost, ...] = ()
    """Of one mould."""
    money_try: tuple[Cost, ...] = ()
    """For every copy that is tried, good or not."""
    money_good: tuple[Cost, ...] = ()
    notes: tuple[str, ...] = ()
    to_buy: tuple[str, ...] = ()
    handled: frozenset[str] = frozenset()
    """Of a print that is the copy itself: the traits of what is handled, for cautions."""
    estimated: bool = False
    """True: its mould was not worked out; volumes and prints are estimates."""
    planned: bool = False
    """True: it is the one that the plan follows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What so many good copies come to by one route."""

    copies: int
    tries: int
    goes: int
    moulds: int
    hands_min: float
    printer_min: float
    first_proof_min: float
    first_copy_min: float
    all_copies_min: float
    """Elapsed if hands never keep it waiting."""
    days: float
    """Days on the calendar with the hours of the workshop."""
    first_days: float
    costs: tuple[Cost, ...]
    chance: float

    @property
    def money(self) -> float:
        """All that has a price."""
        return sum(one.money for one in self.costs)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What has none."""
        return tuple(one.what for one in self.costs if one.each is None)


def tries_for(recipe: Recipe, copies: int) -> int:
    """Copies to try so that nine times in ten enough are good, as the plan reckons its shots."""
    return shots_for(copies, yield_ratio=recipe.yield_ratio, seen_good=recipe.seen_good, seen_shots=recipe.seen_shots)


def likely_yield(recipe: Recipe) -> float:
    """The yield taken, drawn towards what was seen; before anything was, the one taken.

    >>> likely_yield(Recipe(name="", way=Way.CAST, material="", yield_ratio=0.9, seen_good=10, seen_shots=20))
    0.7
    """
    return (BEFORE_SEEN * recipe.yield_ratio + recipe.seen_good) / (BEFORE_SEEN + recipe.seen_shots)


def moulds_for(recipe: Recipe, tries: int) -> int:
    """Moulds made in all: those that are filled at once, and more where they wear out.

    >>> moulds_for(Recipe(name="", way=Way.CAST, material="", moulds=2, a_go=2, life_shots=25), 60)
    3
    """
    if recipe.moulds == 0:
        return 0
    worn = 1 if recipe.life_shots is None else ceil(tries / recipe.life_shots)
    return max(min(recipe.moulds, ceil(tries / recipe.a_mould)), worn)


def goes_of(recipe: Recipe, tries: int) -> tuple[int, ...]:
    """Copies of each go, in order: plates as full as they get, rounds as the plan counts them.

    >>> goes_of(Recipe(name="", way=Way.CAST, material="", moulds=3, a_go=3), 8)
    (1, 1, 2, 3, 1)
    """
    if recipe.moulds:
        return round_sizes(tries, moulds=recipe.moulds, cavities=recipe.a_mould)
    full, rest = divmod(tries, recipe.a_go)
    return (*([recipe.a_go] * full), *([rest] if rest else []))


def repeats_of(goes: int) -> int:
    """How often release is put on again after the first time.

    >>> [repeats_of(goes) for goes in (1, 5, 6, 11)]
    [0, 0, 1, 2]
    """
    return (goes - 1) // RELEASE_EVERY


def works_for(recipe: Recipe, copies: int) -> tuple[Work, ...]:
    """All the work of so many good copies in its order."""
    tries = tries_for(recipe, copies)
    course, rows = _Course(recipe, tries, tries), _Rows(recipe)
    row = [work for go in course.until(tries) for work in rows.of(go)]
    return (*row, *(_side_by_side(one, copies) for one in recipe.each_good))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Go:
    """A go: its copies, the moulds that are made before it, and whether one is made beside it."""

    number: int
    copies: int
    moulds: int
    beside: bool


class _Course:
    """The goes for up to `most` tries, with so many moulds as `tries` fill at once.

    The first mould proves itself alone; the next is made beside the second go, another beside each go after that. One
    that is worn out is made again before the go that it would not last for; what is left unmade in the end is made
    before the last.
    """

    def __init__(self, recipe: Recipe, tries: int, most: int) -> None:
        self._recipe = recipe
        self._at_once = min(recipe.moulds, moulds_for(recipe, tries))
        self.goes: list[_Go] = []
        self._done, self._made = [0], [0]
        for copies in goes_of(recipe, most):
            go = self._next(len(self.goes), copies)
            self.goes.append(go)
            self._done.append(self._done[-1] + copies)
            self._made.append(self._made[-1] + go.moulds + go.beside)

    def until(self, tries: int) -> list[_Go]:
        """All goes of so many tries."""
        last = self.last(tries)
        return [*self.goes[: last.number], last]

    def last(self, tries: int) -> _Go:
        """The last go of so many tries: what is left of copies and moulds."""
        number = bisect_left(self._done, tries) - 1
        go = self._next(number, tries - self._done[number])
        left = moulds_for(self._recipe, tries) - self._made[number] - go.moulds - go.beside
        return replace(go, moulds=go.moulds + left)

    def _next(self, number: int, copies: int) -> _Go:
        made, life = self._made[number], self._recipe.life_shots
        worn = 1 if life is None else ceil((self._done[number] + copies) / life)
        before = max(0, worn - made) if self._recipe.moulds else 0
        return _Go(
            number=number,
            copies=copies,
            moulds=before,
            beside=number > 0 and made + before < self._at_once,
        )


class _Rows:
    """The work of goes, laid out once for all that are alike."""

    def __init__(self, recipe: Recipe) -> None:
        self._recipe = recipe
        self._rows: dict[tuple[int, int, int, bool], tuple[Work, ...]] = {}

    def of(self, go: _Go) -> tuple[Work, ...]:
        """The work of that go with what is done before it, and the mould that is made meanwhile."""
        kind = 0 if go.number == 0 else 1 if go.number % RELEASE_EVERY else 2
        key = (kind, go.copies, go.moulds, go.beside)
        if key not in self._rows:
            self._rows[key] = self._laid(go)
        return self._rows[key]

    def _laid(self, go: _Go) -> tuple[Work, ...]:
        recipe, first = self._recipe, go.number == 0
        again = () if first or go.number % RELEASE_EVERY else recipe.now_and_then
        row = (*(one.of(recipe.moulds) for one in again), *(one.of(go.copies) for one in recipe.each_go))
        row = beside(recipe.each_mould, row) if go.beside else row
        return (*(recipe.once if first else ()), *(recipe.each_mould * go.moulds), *row)


def beside(first: Sequence[Work], second: Sequence[Work]) -> tuple[Work, ...]:
    """Two rows of work at once: hands do one after the other, and the longest wait of each runs beside the other's.

    >>> [one.wait_min for one in beside([Work(what="mould", wait_min=240)], [Work(what="cast", wait_min=960)])]
    [960]
    """
    if not first or not second:
        return (*first, *second)
    a, b = (max(range(len(row)), key=lambda n: row[n].wait_min) for row in (first, second))
    waits = sorted((first[a], second[b]), key=lambda one: one.wait_min)
    started = [replace(one, wait_min=0.0) for one in (first[a], second[b])]
    return (
        *first[:a],
        *(one for one in started[:1] if one.hands_min),
        *second[:b],
        *(one for one in started[1:] if one.hands_min),
        replace(waits[1], hands_min=0.0),
        *first[a + 1 :],
        *second[b + 1 :],
    )


def _side_by_side(one: Work, copies: int) -> Work:
    return Work(what=one.what, hands_min=copies * one.hands_min, wait_min=one.wait_min, text=one.text)


def costs_for(recipe: Recipe, copies: int, minutes: Minutes, rates: Rates) -> tuple[Cost, ...]:
    """Every term of the money: what is used up, whole moulds, machine and hands where their hour has a price."""
    tries = tries_for(recipe, copies)
    moulds = moulds_for(recipe, tries)
    terms = [
        *recipe.money_once,
        *(one.times(moulds) for one in recipe.money_mould),
        *(one.times(recipe.moulds * repeats_of(len(goes_of(recipe, tries)))) for one in recipe.money_now_and_then),
        *(one.times(tries) for one in recipe.money_try),
        *(one.times(copies) for one in recipe.money_good),
    ]
    hours = (("printer", minutes.printer_min, rates.printer_per_h), ("hands", minutes.hands_min, rates.hands_per_h))
    terms += [
        Cost(what=what, amount=spent_min / 60.0, unit="h", each=each)
        for what, spent_min, each in hours
        if each is not None
    ]
    return merged(terms)


def outcome(recipe: Recipe, copies: int, *, presence: Presence, rates: Rates) -> Outcome:
    """What so many good copies come to."""
    works = works_for(recipe, copies)
    minutes = minutes_of(works)
    tries = tries_for(recipe, copies)
    first = until_first(recipe, 1)
    finished = (*first, *recipe.each_good)
    return Outcome(
        copies=copies,
        tries=tries,
        goes=len(goes_of(recipe, tries)),
        moulds=moulds_for(recipe, tries),
        hands_min=minutes.hands_min,
        printer_min=minutes.printer_min,
        first_proof_min=minutes_of(first).elapsed_min,
        first_copy_min=minutes_of(finished).elapsed_min,
        all_copies_min=minutes.elapsed_min,
        days=end_of(works, presence) / DAY_MIN,
        first_days=end_of(finished, presence) / DAY_MIN,
        costs=costs_for(recipe, copies, minutes, rates),
        chance=float(nbdtr(tries - copies, copies, likely_yield(recipe) * recipe.in_time)),
    )


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
    rows, most = _Rows(recipe), tries_for(recipe, max(counts))
    shared: dict[int, tuple[_Course, list[float]]] = {}
    curve = []
    for copies in counts:
        tries = tries_for(recipe, copies)
        at_once = min(recipe.moulds, moulds_for(recipe, tries))
        if at_once not in shared:
            shared[at_once] = (_Course(recipe, tries, most), [0.0])
        course, ends = shared[at_once]
        last = course.last(tries)
        while len(ends) <= last.number:
            ends.append(end_of(rows.of(course.goes[len(ends) - 1]), presence, ends[-1]))
        works = (*rows.of(last), *(_side_by_side(one, copies) for one in recipe.each_good))
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


def until_first(recipe: Recipe, copies: int) -> tuple[Work, ...]:
    """The work until the first piece is out: one mould, one copy in the first go."""
    mould = recipe.each_mould if recipe.moulds else ()
    return (*recipe.once, *mould, *(one.of(copies) for one in recipe.each_go))
