"""One route as a recipe: what is done once, for each mould, each go and each copy; its tries, goes and moulds."""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from firstpour.choosing.counts import BEFORE_SEEN, round_sizes, shots_for
from firstpour.choosing.supplies import RELEASE_EVERY
from firstpour.materials.feel import Hardness
from firstpour.printing.printers import Process
from firstpour.routes.money import Cost
from firstpour.routes.work import Work
from firstpour.values import Finding


class Way(StrEnum):
    """How the copies themselves come about."""

    PRINTED = "printed"
    CAST = "cast"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A print on its printer: which way is up in the part's coordinates, layers, its own minutes, ml and grams."""

    printer: str
    process: Process
    up: tuple[float, float, float]
    layer_mm: float
    print_min: float
    material_ml: float
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
    sanded: bool = False
    """Of a print: every copy is sanded and primed."""
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
    fit_doubts: tuple[Finding, ...] = ()
    """Of a print that is the copy itself: the fits that it may not keep."""
    notes: tuple[str, ...] = ()
    to_buy: tuple[str, ...] = ()
    handled: frozenset[str] = frozenset()
    """Of a print that is the copy itself: the traits of what is handled, for cautions."""
    estimated: bool = False
    """True: its mould was not worked out; volumes and prints are estimates."""
    planned: bool = False
    """True: it is the one that the plan follows."""


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
