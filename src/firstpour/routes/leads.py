"""Which of the routes that are shown takes least of money, hands and days at each number of copies."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstpour.routes.compare import MOST_BY_DAYS, Measure, curve_in
from firstpour.routes.money import Rates
from firstpour.routes.recipe import Recipe
from firstpour.routes.work import Presence
from firstpour.values import IntArray

SHORT = 0.1
"""A lead that holds for less than this share of the number at which it begins is passed over: our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """From so many copies on, up to 200, this route takes least of it, until the next lead of the same measure."""

    measure: Measure
    copies: int
    route: str


def leads(recipes: Sequence[Recipe], rates: Rates, presence: Presence) -> tuple[Lead, ...]:
    """The leads of every measure, in the order of copies; of equals the first leads."""
    if not recipes:
        return ()
    found = []
    for measure in Measure:
        curves = np.array([curve_in(measure, one, rates, presence)[:MOST_BY_DAYS] for one in recipes])
        found += [
            Lead(measure=measure, copies=start + 1, route=recipes[who].name)
            for start, who in stretches(np.argmin(np.round(curves, 6), axis=0))
        ]
    return tuple(found)


def stretches(leaders: IntArray) -> list[tuple[int, int]]:
    """Where a lead begins and who has it, of the leader at each place (n,); short ones count to the one before.

    >>> stretches(np.array([0, 0, 1, 1, 1])), stretches(np.array([0] * 30 + [1] * 2 + [0] * 30 + [2] * 20))
    ([(0, 0), (2, 1)], [(0, 0), (62, 2)])
    """
    starts = [0, *(np.flatnonzero(np.diff(leaders)) + 1).tolist()]
    ends = [*starts[1:], len(leaders)]
    found: list[tuple[int, int]] = []
    for start, end in zip(starts, ends, strict=True):
        who = int(leaders[start])
        if found and (found[-1][1] == who or end - start < SHORT * start):
            continue
        found.append((start, who))
    return found
