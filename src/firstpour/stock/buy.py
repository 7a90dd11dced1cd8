"""Which packs to buy so that a shortage is covered at the least cost."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from firstpour.materials.material import PackSize

MOST_PACKS = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Packs to buy, each with its count; `cost` is None where a price is missing."""

    packs: tuple[tuple[PackSize, int], ...]
    cost: float | None

    @property
    def total_g(self) -> float:
        return sum(pack.total_g * count for pack, count in self.packs)

    def __str__(self) -> str:
        shown = " and ".join(f"{count} × {pack_text(pack)}" for pack, count in self.packs)
        return shown if self.cost is None else f"{shown}, about {self.cost:.2f} in your currency"


def pack_text(pack: PackSize) -> str:
    """“500 g A + 450 g B”, or “1000 g”."""
    return f"{pack.part_a_g:g} g A + {pack.part_b_g:g} g B" if pack.part_b_g else f"{pack.part_a_g:g} g"


def cheapest_packs(packs: Sequence[PackSize], *, short_a_g: float, short_b_g: float) -> Purchase | None:
    """The packs that cover what is short of A and of B: least cost, then least left over, then fewest packs.

    Where a price is missing, the least left over decides. None where no pack is known or too many would be needed.

    >>> small, large = PackSize(part_a_g=500, price=10.0), PackSize(part_a_g=2500, price=40.0)
    >>> str(cheapest_packs([small, large], short_a_g=1900, short_b_g=0))
    '4 × 500 g, about 40.00 in your currency'
    """
    sizes = sorted(packs, key=lambda pack: -pack.total_g)
    most = [_count(pack, short_a_g, short_b_g) for pack in sizes]
    if not sizes or any(count is None or count > MOST_PACKS for count in most):
        return None
    priced = all(pack.price is not None for pack in sizes)
    ranges = [range(int(count or 0) + 1) for count in most[:-1]]
    best: tuple[tuple[float, float, int], tuple[int, ...]] | None = None
    for counts in itertools.product(*ranges):
        rest_a_g = short_a_g - sum(p.part_a_g * n for p, n in zip(sizes, counts, strict=False))
        rest_b_g = short_b_g - sum(p.part_b_g * n for p, n in zip(sizes, counts, strict=False))
        last = _count(sizes[-1], max(0.0, rest_a_g), max(0.0, rest_b_g)) or 0
        key = _key(sizes, (*counts, last), priced=priced)
        if best is None or key < best[0]:
            best = (key, (*counts, last))
    assert best is not None  # the product of ranges is never empty
    chosen = tuple((pack, n) for pack, n in zip(sizes, best[1], strict=True) if n)
    return Purchase(packs=chosen, cost=best[0][0] if priced else None)


def _count(pack: PackSize, short_a_g: float, short_b_g: float) -> int | None:
    if short_b_g > 0 and pack.part_b_g == 0:
        return None
    counts = [math.ceil(short_a_g / pack.part_a_g - 1e-9)]
    counts += [math.ceil(short_b_g / pack.part_b_g - 1e-9)] if short_b_g > 0 else []
    return max(counts)


def _key(sizes: Sequence[PackSize], counts: tuple[int, ...], *, priced: bool) -> tuple[float, float, int]:
    bought = list(zip(sizes, counts, strict=True))
    cost = sum((pack.price or 0.0) * n for pack, n in bought) if priced else 0.0
    return cost, sum(pack.total_g * n for pack, n in bought), sum(counts)
