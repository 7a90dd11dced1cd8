"""What so many good copies come to by a route: shots, hands, days, money and the chance that they are enough."""

from dataclasses import dataclass

from scipy.special import nbdtr

from firstpour.routes.course import until_first, works_for
from firstpour.routes.money import Cost, Rates, merged
from firstpour.routes.recipe import Recipe, goes_of, likely_yield, moulds_for, repeats_of, tries_for
from firstpour.routes.work import Minutes, Presence, end_of, minutes_of
from firstpour.workshop.hours import DAY_MIN


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
