"""Castings that are better in nothing than another of the same mould: in no minute of any work and in no money."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstpour.printing.estimate import SMOOTH_MM
from firstpour.routes.money import Cost
from firstpour.routes.recipe import Recipe
from firstpour.values import FloatArray

LASTS = 1e6
"""Shots of a mould whose end is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesser:
    """So many routes that are better in nothing than another: one of them by name, and that other."""

    name: str
    than: str
    count: int = 1


def never_better(recipes: Sequence[Recipe]) -> tuple[list[Recipe], list[Lesser]]:
    """The recipes without those that another beats, or equals, in every part; and these.

    Then no number of copies, hours or rates lets them win: money, hands and days grow with each part. What the plan
    follows always stands. Of equals the first stands.
    """
    kept: list[_Parts] = []
    lesser: list[Lesser] = []
    for one in sorted((_Parts.of(recipe) for recipe in recipes), key=lambda parts: parts.total):
        better = None if one.recipe.planned else next((other for other in kept if other.covers(one)), None)
        if better is None:
            kept.append(one)
        else:
            lesser.append(Lesser(name=one.recipe.name, than=better.recipe.name))
    stand = {id(one.recipe) for one in kept}
    return [one for one in recipes if id(one) in stand], lesser


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Parts:
    """A recipe taken apart: everything that one wants little of, in one row; and what must be alike to compare."""

    recipe: Recipe
    values: FloatArray
    alike: tuple[object, ...]
    unpriced: frozenset[str]
    total: float

    @classmethod
    def of(cls, recipe: Recipe) -> "_Parts":
        rows = (recipe.once, recipe.each_mould, recipe.each_go, recipe.now_and_then, recipe.each_good)
        money = (
            recipe.money_once,
            recipe.money_mould,
            recipe.money_now_and_then,
            recipe.money_try,
            recipe.money_good,
        )
        minutes = [
            (one.hands_min, one.wait_min, one.hands_each_min, one.wait_each_min, -one.again_each)
            for row in rows
            for one in row
        ]
        values = np.array(
            [
                *_seen(recipe),
                *(sum(one.money for one in row) for row in money),
                *(value for row in minutes for value in row),
            ]
        )
        alike: tuple[object, ...] = (recipe.moulds, recipe.a_mould, recipe.estimated, *(len(row) for row in rows))
        alike = (*alike, *((one.what, one.printing) for one in (*recipe.once, *recipe.each_good)))
        return cls(
            recipe=recipe,
            values=values,
            alike=alike,
            unpriced=_unpriced(money),
            total=float(np.sum(values)),
        )

    def covers(self, other: "_Parts") -> bool:
        """Whether nothing of the other is better."""
        return (
            self.alike == other.alike
            and self.unpriced <= other.unpriced
            and bool(np.all(self.values <= other.values + 1e-9))
        )


def _seen(recipe: Recipe) -> tuple[float, ...]:
    """What is not of time or money: fits, steps and seam that show, feel, chance, how long moulds last."""
    life = LASTS if recipe.life_shots is None else float(recipe.life_shots)
    chances = (1.0 - recipe.in_time, 1.0 - recipe.yield_ratio, -life)
    return (recipe.fit_miss_mm, shown_mm(recipe), recipe.seam_mm, abs(recipe.off_points or 0.0), *chances)


def shown_mm(recipe: Recipe) -> float:
    """The steps that one sees: those that go under a coat of primer count as none.

    >>> from firstpour.routes.recipe import Way
    >>> shown_mm(Recipe(name="", way=Way.PRINTED, material="", flaw_mm=0.015))
    0.0
    """
    return recipe.flaw_mm if recipe.flaw_mm > SMOOTH_MM else 0.0


def _unpriced(money: Sequence[Sequence[Cost]]) -> frozenset[str]:
    return frozenset(one.what for row in money for one in row if one.each is None)
