"""The handful of routes that one decides between, why each of them stands, and what was left out and why."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firstpour.routes.compare import MEASURES, Pick, Route, is_beaten, measures
from firstpour.routes.lesser import Lesser
from firstpour.routes.recipe import Way
from firstpour.values import BoolArray, FloatArray

HANDFUL = 9
"""So many routes are shown, or fewer, unless more kinds than that are possible: our own choice (decision 0051)."""
NEARNESS = (0.05, 0.1, 0.2, 0.3, 0.5)
"""Routes as near as this are as good as alike; the first that leaves a handful is taken."""
FEEL_POINTS, CHANCE, STEP_MM = 40.0, 0.4, 0.1
"""What counts as near besides, times the nearness: points of hardness, chance, steps and fits that are missed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A route that is shown, by name, and what it stands for."""

    route: str
    whys: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """So many routes that are not shown, the reason, and one of them with the one it gives way to."""

    count: int
    reason: str
    example: str
    instead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortlist:
    """The routes that are shown in their order, and what was left out. All candidates are in one or the other."""

    kept: tuple[Kept, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def candidates(self) -> int:
        """Routes that pass their hard checks."""
        return len(self.kept) + sum(one.count for one in self.left_out)


def shortlist(routes: Sequence[Route], picks: Sequence[Pick], lesser: Sequence[Lesser]) -> Shortlist:
    """The plan's own route, what each preference picks, the cheapest of each kind, and of the others that nothing
    beats so many that each of them has one near to it."""
    whys = _bound_to_stand(routes, picks)
    values = np.array([measures(one) for one in routes]).reshape(-1, MEASURES)
    free = [n for n, one in enumerate(routes) if one.undominated]
    chosen, nearness = set(whys), NEARNESS[0]
    for nearness in NEARNESS:
        chosen = _covering(values, set(whys), free, nearness)
        if len(chosen) <= HANDFUL:
            break
    for n in chosen - set(whys):
        whys[n] = ["no other is as good in everything"]
    kept = tuple(Kept(route=routes[n].recipe.name, whys=tuple(whys[n])) for n in sorted(chosen))
    return Shortlist(kept=kept, left_out=_left_out(routes, values, chosen, lesser, nearness))


def _bound_to_stand(routes: Sequence[Route], picks: Sequence[Pick]) -> dict[int, list[str]]:
    """Routes that are shown whatever else there is, by their place, with the reasons."""
    whys: dict[int, list[str]] = {}
    places = {one.recipe.name: n for n, one in enumerate(routes)}
    for pick in picks:
        whys.setdefault(places[pick.route], []).append(pick.preference.value)
    kinds: set[str] = set()
    for n, one in enumerate(routes):
        if one.recipe.planned:
            whys.setdefault(n, []).append("the plan's")
        if kind_of(one) not in kinds:
            kinds.add(kind_of(one))
            whys.setdefault(n, []).append(f"cheapest {kind_of(one)}")
    return whys


def kind_of(one: Route) -> str:
    """What a route is one of: prints of one material, as they come or sanded; castings in one kind of mould."""
    recipe = one.recipe
    if recipe.way is Way.PRINTED:
        return f"print in {recipe.material}{', sanded' if recipe.sanded else ''}"
    return f"casting in a {recipe.kind} mould"


def _covering(values: FloatArray, chosen: set[int], free: Sequence[int], nearness: float) -> set[int]:
    """The chosen and as few more of the free that each of those is near to one: the one nearest to most first."""
    near = near_to(values[free], values[free], nearness)
    left: BoolArray = np.logical_not(near_to(values[sorted(chosen)], values[free], nearness).any(axis=0))
    found = set(chosen)
    while left.any():
        best = int(np.argmax(np.where(left, (near & left[None, :]).sum(axis=1), -1)))
        found.add(free[best])
        left &= ~near[best]
    return found


def near_to(shown: FloatArray, others: FloatArray, nearness: float) -> BoolArray:
    """Whether each of the shown (k, 8) is nearly as good as each of the others (n, 8) in everything: (k, n).

    >>> one, other = np.array([[100, 10, 60, 0, 0, 0, 0, 0.1]]), np.array([[96, 10, 60, 0, 0, 0, 0, 0.1]])
    >>> bool(near_to(one, other, 0.05)[0, 0]), bool(near_to(one, 0.9 * other, 0.05)[0, 0])
    (True, False)
    """
    money, days, hands, fits, steps, seam, feel, short = (nearness * others.T[k] for k in range(8))
    room = np.stack(
        [
            money,
            days,
            hands,
            np.full_like(fits, nearness * STEP_MM),
            np.full_like(steps, nearness * STEP_MM),
            seam,
            np.full_like(feel, nearness * FEEL_POINTS),
            np.full_like(short, nearness * CHANCE),
        ]
    ).T
    near: BoolArray = (shown[:, None, :] <= others[None, :, :] + room[None, :, :] + 1e-9).all(axis=2)
    return near


def _left_out(
    routes: Sequence[Route], values: FloatArray, chosen: set[int], lesser: Sequence[Lesser], nearness: float
) -> tuple[LeftOut, ...]:
    """What is not shown, by reason, the largest number first."""
    shown = sorted(chosen)
    beaten = [n for n, one in enumerate(routes) if n not in chosen and not one.undominated]
    near = [n for n, one in enumerate(routes) if n not in chosen and one.undominated]
    left = []
    if lesser:
        left.append(
            LeftOut(
                count=sum(one.count for one in lesser),
                reason="better in nothing, neither in a minute of work nor in money, than another of the same mould",
                example=lesser[0].name,
                instead=lesser[0].than,
            )
        )
    if beaten:
        better = next(n for n in range(len(routes)) if is_beaten(values[beaten[0]], values[n : n + 1]))
        left.append(
            LeftOut(
                count=len(beaten),
                reason="another is nowhere worse and somewhere better",
                example=routes[beaten[0]].recipe.name,
                instead=routes[better].recipe.name,
            )
        )
    if near:
        like = near_to(values[shown], values[near[:1]], nearness)[:, 0]
        left.append(
            LeftOut(
                count=len(near),
                reason=f"better than one that is shown by at most {nearness:.0%} of money, days, hands or seam, "
                f"{nearness * FEEL_POINTS:.0f} points of hardness and {nearness * CHANCE:.0%} of chance",
                example=routes[near[0]].recipe.name,
                instead=routes[shown[int(np.argmax(like))]].recipe.name,
            )
        )
    return tuple(sorted(left, key=lambda one: -one.count))
