"""The work of a route in its order: go after go, the moulds between them, what runs beside what."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.routes.recipe import Recipe, goes_of, moulds_for, tries_for
from firstpour.routes.work import Work


def works_for(recipe: Recipe, copies: int) -> tuple[Work, ...]:
    """All the work of so many good copies in its order."""
    tries = tries_for(recipe, copies)
    course, rows = Course(recipe, tries, tries), Rows(recipe)
    row = [work for go in course.until(tries) for work in rows.of(go)]
    return (*row, *(side_by_side_work(one, copies) for one in recipe.each_good))


@dataclass(frozen=True, slots=True, kw_only=True)
class Go:
    """A go: its copies, the moulds that are made before it, and whether one is made beside it."""

    number: int
    copies: int
    moulds: int
    beside: bool


class Course:
    """The goes for up to `most` tries, with so many moulds as `tries` fill at once.

    The first mould proves itself alone; the next is made beside the second go, another beside each go after that. One
    that is worn out is made again before the go that it would not last for; what is left unmade in the end is made
    before the last.
    """

    def __init__(self, recipe: Recipe, tries: int, most: int) -> None:
        self._recipe = recipe
        self._at_once = min(recipe.moulds, moulds_for(recipe, tries))
        self.goes: list[Go] = []
        self._done, self._made = [0], [0]
        for copies in goes_of(recipe, most):
            go = self._next(len(self.goes), copies)
            self.goes.append(go)
            self._done.append(self._done[-1] + copies)
            self._made.append(self._made[-1] + go.moulds + go.beside)

    def until(self, tries: int) -> list[Go]:
        """All goes of so many tries."""
        last = self.last(tries)
        return [*self.goes[: last.number], last]

    def last(self, tries: int) -> Go:
        """The last go of so many tries: what is left of copies and moulds."""
        number = bisect_left(self._done, tries) - 1
        go = self._next(number, tries - self._done[number])
        left = moulds_for(self._recipe, tries) - self._made[number] - go.moulds - go.beside
        return replace(go, moulds=go.moulds + left)

    def _next(self, number: int, copies: int) -> Go:
        made, life = self._made[number], self._recipe.life_shots
        worn = 1 if life is None else ceil((self._done[number] + copies) / life)
        before = max(0, worn - made) if self._recipe.moulds else 0
        return Go(
            number=number,
            copies=copies,
            moulds=before,
            beside=number > 0 and made + before < self._at_once,
        )


class Rows:
    """The work of goes, laid out once for all that are alike."""

    def __init__(self, recipe: Recipe) -> None:
        self._recipe = recipe
        self._rows: dict[tuple[int, int, int, bool], tuple[Work, ...]] = {}

    def of(self, go: Go) -> tuple[Work, ...]:
        """The work of that go with what is done before it, and the mould that is made meanwhile."""
        kind = 0 if go.number == 0 else 1 if go.number % RELEASE_EVERY else 2
        key = (kind, go.copies, go.moulds, go.beside)
        if key not in self._rows:
            self._rows[key] = self._laid(go)
        return self._rows[key]

    def _laid(self, go: Go) -> tuple[Work, ...]:
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


def side_by_side_work(one: Work, copies: int) -> Work:
    """The work on so many good copies, one after the other, their waits beside each other."""
    return Work(
        what=one.what, hands_min=copies * one.hands_min, wait_min=one.wait_min, text=one.text, portions=copies
    )


def until_first(recipe: Recipe, copies: int) -> tuple[Work, ...]:
    """The work until the first piece is out: one mould, one copy in the first go."""
    mould = recipe.each_mould if recipe.moulds else ()
    return (*recipe.once, *mould, *(one.of(copies) for one in recipe.each_go))
