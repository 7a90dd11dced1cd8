"""What things cost: priced where a price is known, told as unknown where not."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from firstpour.materials.material import Material
from firstpour.stock.stock import Pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What an hour costs; None: not said, and so not counted."""

    hands_per_h: float | None = None
    printer_per_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """Money for a gram. `typical`: the shipped price of its class, to be replaced by one's own."""

    per_g: float
    typical: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """So much of something; `each` is None where its price is not known."""

    what: str
    amount: float
    unit: str
    each: float | None
    typical: bool = False

    @property
    def money(self) -> float:
        """What it costs; nothing where the price is not known."""
        return 0.0 if self.each is None else self.amount * self.each

    def times(self, count: float) -> "Cost":
        """The same so many times."""
        return replace(self, amount=self.amount * count)


def price_of(material: Material, stock: Iterable[Pack]) -> Price | None:
    """Money for a gram: what was paid for the last pack of it, else the smallest pack that is sold; None if unknown.

    The smallest pack, because one who makes a handful buys that; the large ones make it cheaper.
    """
    paid = [pack for pack in stock if pack.material_id == material.id and pack.price is not None]
    if paid:
        last = max(paid, key=lambda pack: (pack.bought_on is not None, pack.bought_on, pack.id))
        return Price(per_g=(last.price or 0.0) / (last.size_a_g + last.size_b_g), typical=material.shipped)
    sold = [pack for pack in material.packs if pack.price is not None]
    if not sold:
        return None
    least = min(sold, key=lambda pack: pack.total_g)
    return Price(per_g=(least.price or 0.0) / least.total_g, typical=material.shipped)


def grams_cost(material: Material, grams: float, stock: Iterable[Pack]) -> Cost:
    """So many grams of a material."""
    price = price_of(material, stock)
    each, typical = (None, False) if price is None else (price.per_g, price.typical)
    return Cost(what=material.name, amount=grams, unit="g", each=each, typical=typical)


def merged(costs: Iterable[Cost]) -> tuple[Cost, ...]:
    """Costs of the same thing at the same price as one; nothing of nothing is left out."""
    found: dict[tuple[str, str, float | None, bool], float] = {}
    for one in costs:
        key = (one.what, one.unit, one.each, one.typical)
        found[key] = found.get(key, 0.0) + one.amount
    return tuple(
        Cost(what=what, amount=amount, unit=unit, each=each, typical=typical)
        for (what, unit, each, typical), amount in found.items()
        if amount > 0.0
    )
