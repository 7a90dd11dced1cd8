"""Nest: which shell of a closed surface lies in which, and so what is a body and what a void.

A shell by itself says little: how it lies within others does. The outermost shells are bodies, whichever way they
were exported. Inside, a shell that is wound against its outermost one bounds a void; one wound like it a body,
modelled twice or standing in a void. A void belongs to the body right around it, so another body may fill it. That is
where the winding number of the whole is one or more.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np

from firstpour.errors import UnreadablePart
from firstpour.part.shell_solids import SAME_RATIO, combined
from firstpour.part.shells import Shells
from firstpour.values import BoolArray, FloatArray, IntArray, place_words


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nest:
    """What each shell is: `within` (n,) the shell right around it, −1 for none; `void`, `turned` (n,) bool."""

    within: IntArray
    void: BoolArray
    turned: BoolArray


def nest_of(shells: Shells, solids: list[manifold3d.Manifold]) -> Nest:
    """What each shell is, from the largest to the smallest: what is around another comes before it."""
    count = len(solids)
    within, void, turned = np.full(count, -1), np.zeros(count, np.bool_), np.zeros(count, np.bool_)
    inward = shells.volumes_mm3 < 0
    if inward.any():
        order = np.argsort(-np.abs(shells.volumes_mm3), kind="stable")
        within = _right_around(shells, solids, order)
        for shell in order.tolist():
            around = int(within[shell])
            against = bool(inward[shell]) != (around >= 0 and bool(turned[around]))
            void[shell] = against and around >= 0
            turned[shell] = bool(inward[shell]) != bool(void[shell])
        for shell in order.tolist():
            if void[shell] and void[within[shell]]:
                within[shell] = within[within[shell]]
    return Nest(within=within, void=void, turned=turned)


def _right_around(shells: Shells, solids: list[manifold3d.Manifold], order: IntArray) -> IntArray:
    """The smallest shell that each shell (n,) lies wholly within, −1 for none."""
    low, high = boxes_of(shells)
    within = np.full(len(solids), -1)
    for n, outer in enumerate(order.tolist()):
        later = order[n + 1 :]
        boxed = later[((low[outer] <= low[later]) & (high[later] <= high[outer])).all(axis=1)]
        if len(boxed) and _all_inside(solids[outer], [solids[inner] for inner in boxed]):
            within[boxed] = outer
            continue
        for inner in boxed.tolist():
            if _all_inside(solids[outer], [solids[inner]]):
                within[inner] = outer
    return within


def _all_inside(outer: manifold3d.Manifold, inner: list[manifold3d.Manifold]) -> bool:
    """Whether the outer solid holds every inner one wholly."""
    both = combined(inner, manifold3d.OpType.Add)
    return bool((outer ^ both).volume() >= (1.0 - SAME_RATIO) * both.volume())


def refuse_hollow_across(shells: Shells, solids: list[manifold3d.Manifold], nest: Nest) -> None:
    """A shell turned over that the other bodies hold together, but none alone: hollow or body, nobody can tell.

    Raises
    ------
    UnreadablePart
        If there is one.
    """
    doubtful = nest.turned & (nest.within < 0)
    if not doubtful.any() or doubtful.all():
        return
    sound = [solids[shell] for shell in np.flatnonzero(~nest.void & ~doubtful).tolist()]
    for shell in np.flatnonzero(doubtful).tolist():
        if sound and _all_inside(combined(sound, manifold3d.OpType.Add), [solids[shell]]):
            low, high = (corner[shell] for corner in boxes_of(shells))
            raise UnreadablePart(
                f"a shell wound inward around {place_words((low + high) / 2)} lies across several bodies: "
                "it cannot be told whether it is a hollow",
                remedy="unite the bodies in the program that made the part, then export it again",
            )


def boxes_meet(shells: Shells) -> bool:
    """Whether the boxes around any two shells touch."""
    low, high = boxes_of(shells)
    order = np.argsort(low[:, 0])
    low, high = low[order], high[order]
    for k in range(len(low) - 1):
        last = int(np.searchsorted(low[:, 0], high[k, 0], side="right"))
        later = slice(k + 1, last)
        if ((low[later] <= high[k]) & (low[k] <= high[later])).all(axis=1).any():
            return True
    return False


def boxes_of(shells: Shells) -> tuple[FloatArray, FloatArray]:
    """The lowest and highest corner of each shell, (n, 3) mm each."""
    count = len(shells.volumes_mm3)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for k in range(3):
        np.minimum.at(low, shells.shell, shells.vertices_mm[shells.faces[:, k]])
        np.maximum.at(high, shells.shell, shells.vertices_mm[shells.faces[:, k]])
    return low, high
