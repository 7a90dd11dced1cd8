"""What lies on the shelf: packs, what is left in them, until when, and whether it is enough."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from firstpour.errors import BadRequest
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.figures import FigureName
from firstpour.materials.material import Material
from firstpour.stock.buy import Purchase, cheapest_packs
from firstpour.values import FIRST_DAY, LAST_DAY, Finding, Severity

WEIGHING_SLACK_G = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """One pack: grams of A (or of the whole) and of B when full and now, and its dates."""

    id: int
    material_id: str
    size_a_g: float
    left_a_g: float
    size_b_g: float = 0.0
    left_b_g: float = 0.0
    price: float | None = None
    bought_on: date | None = None
    opened_on: date | None = None

    def __post_init__(self) -> None:
        for size, left in ((self.size_a_g, self.left_a_g), (self.size_b_g, self.left_b_g)):
            if not 0 <= left <= size < 1e8:
                raise BadRequest(
                    f"{left:g} g left of {size:g} g of {self.material_id}.",
                    remedy="What is left lies between nothing and the full pack.",
                )
        if self.size_a_g + self.size_b_g == 0:
            raise BadRequest(f"a pack of {self.material_id} with nothing in it.", remedy="Give its size in g.")
        for what, day in (("bought", self.bought_on), ("opened", self.opened_on)):
            if day is not None and not FIRST_DAY <= day <= LAST_DAY:
                raise BadRequest(
                    f"a pack of {self.material_id} {what} on {day}.",
                    remedy=f"Give a date from {FIRST_DAY.year} to {LAST_DAY.year}.",
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Grams of A (or of a single material) and of B."""

    a_g: float = 0.0
    b_g: float = 0.0

    def __add__(self, other: "Amount") -> "Amount":
        return Amount(a_g=self.a_g + other.a_g, b_g=self.b_g + other.b_g)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """One material of a job: what it needs, what the shelf has that is still good, and what to buy."""

    material_id: str
    name: str
    need: Amount
    have: Amount
    enough: bool
    buy: Purchase | None
    findings: tuple[Finding, ...] = ()


def good_until(pack: Pack, material: Material) -> date | None:
    """The last day on which the pack may be used; None where nothing is known."""
    days = []
    unopened = material.figures.get(FigureName.KEEPS_UNOPENED)
    opened = material.figures.get(FigureName.KEEPS_OPENED)
    if pack.bought_on is not None and unopened is not None:
        days.append(pack.bought_on + timedelta(days=unopened.value))
    if pack.opened_on is not None and opened is not None:
        days.append(pack.opened_on + timedelta(days=opened.value))
    return min(days, default=None)


def is_good(pack: Pack, material: Material, *, today: date) -> bool:
    """Whether the pack may still be used `today`."""
    until = good_until(pack, material)
    return until is None or today <= until


def usable(stock: tuple[Pack, ...], material: Material, *, today: date) -> tuple[Pack, ...]:
    """The good packs of `material` in the order of use: opened first, then soonest out of date."""
    packs = [pack for pack in stock if pack.material_id == material.id and is_good(pack, material, today=today)]
    return tuple(
        sorted(packs, key=lambda pack: (pack.opened_on is None, good_until(pack, material) or date.max, pack.id))
    )


def amount_left(packs: tuple[Pack, ...]) -> Amount:
    """Grams of A and B in these packs."""
    return Amount(a_g=sum(pack.left_a_g for pack in packs), b_g=sum(pack.left_b_g for pack in packs))


def mixable_g(stock: tuple[Pack, ...], material: Material, *, today: date) -> float:
    """Grams of A and B together that can be mixed from the good packs: what the scarcer part allows."""
    left = amount_left(usable(stock, material, today=today))
    if material.ratio is None:
        return left.a_g
    share = material.ratio.a_share
    return min(left.a_g / share, left.b_g / (1 - share))


def stock_line(stock: tuple[Pack, ...], material: Material, need: Amount, *, today: date) -> StockLine:
    """Is there enough of `material`, and if not, which packs to buy?"""
    have = amount_left(usable(stock, material, today=today))
    short = Amount(a_g=max(0.0, need.a_g - have.a_g), b_g=max(0.0, need.b_g - have.b_g))
    enough = short.a_g <= WEIGHING_SLACK_G and short.b_g <= WEIGHING_SLACK_G
    buy = None if enough else cheapest_packs(material.packs, short_a_g=short.a_g, short_b_g=short.b_g)
    findings = _stale(stock, material, today) + (() if enough else (_short(material, need, have, buy),))
    return StockLine(
        material_id=material.id, name=material.name, need=need, have=have, enough=enough, buy=buy, findings=findings
    )


def stock_lines(
    stock: tuple[Pack, ...], needs: Mapping[str, Amount], *, catalogue: Catalogue, today: date
) -> tuple[StockLine, ...]:
    """One line for each material that is needed, by id."""
    return tuple(stock_line(stock, catalogue.get(key), needs[key], today=today) for key in sorted(needs))


def after_taking(stock: tuple[Pack, ...], material: Material, need: Amount, *, today: date) -> tuple[Pack, ...]:
    """The stock after `need` was taken as far as it goes; nothing falls below zero."""
    rest = {pack.id: pack for pack in stock}
    a_g, b_g = need.a_g, need.b_g
    for pack in usable(stock, material, today=today):
        out_a_g, out_b_g = min(a_g, pack.left_a_g), min(b_g, pack.left_b_g)
        if out_a_g + out_b_g > 0:
            rest[pack.id] = replace(
                pack,
                left_a_g=pack.left_a_g - out_a_g,
                left_b_g=pack.left_b_g - out_b_g,
                opened_on=pack.opened_on or today,
            )
        a_g, b_g = a_g - out_a_g, b_g - out_b_g
    return tuple(rest[pack.id] for pack in stock)


def split_by_ratio(material: Material, total_g: float) -> Amount:
    """`total_g` of a mix as grams of A and B."""
    if material.ratio is None:
        return Amount(a_g=total_g)
    a_g = total_g * material.ratio.a_share
    return Amount(a_g=a_g, b_g=total_g - a_g)


def amount_text(amount: Amount, *, two_parts: bool) -> str:
    """“320 g A + 288 g B”, or “120 g” for a single material."""
    return f"{amount.a_g:.0f} g A + {amount.b_g:.0f} g B" if two_parts else f"{amount.a_g:.0f} g"


def _short(material: Material, need: Amount, have: Amount, buy: Purchase | None) -> Finding:
    two_parts = material.ratio is not None
    needed, there = amount_text(need, two_parts=two_parts), amount_text(have, two_parts=two_parts)
    remedy = f"Get {material.name} and enter the pack." if buy is None else f"Buy {buy}."
    return Finding(
        severity=Severity.WARNING,
        code="buy",
        what=f"{material.name}: {needed} are needed, {there} are there.",
        remedy=remedy,
        where=material.id,
    )


def _stale(stock: tuple[Pack, ...], material: Material, today: date) -> tuple[Finding, ...]:
    stale = [p for p in stock if p.material_id == material.id and not is_good(p, material, today=today)]
    return tuple(
        Finding(
            severity=Severity.WARNING,
            code="pack-out-of-date",
            what=f"Pack {pack.id} of {material.name} is past its date, {good_until(pack, material)}, when it is "
            "wanted: not counted.",
            remedy="Mix a test cup; if it sets and feels right, enter the pack anew, otherwise throw it away safely.",
            where=material.id,
        )
        for pack in stale
        if pack.left_a_g + pack.left_b_g > 0
    )
