"""How a part is done: as planned, or otherwise in one thing or another."""

from dataclasses import dataclass
from math import ceil

from firstpour.plan.values import PartPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavities:
    """A mould of another number of cavities than the plan's: its prints and silicone against those of the plan's."""

    count: int
    print_ratio: float
    silicone_ratio: float
    in_one_mix: bool
    """Whether one mix of casting material fills all of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """What may be done otherwise for a part: so many moulds, cures shorter by a factor.

    `shots`: instead of those that the plan reckons with; `again`: times that each mould may have to be made anew,
    `prints_again` that each piece of it may have to be printed anew;
    `ready`: moulds that there are in each round, one more a round where it does not say; `halves_at_once`: both
    halves are poured in trays; `pot`: whether the pressure pot takes one thing at a time; `cavities`: another number.
    """

    moulds: int
    shots: int | None = None
    again: int = 0
    prints_again: int = 0
    ready: tuple[int, ...] = ()
    halves_at_once: bool = False
    pot: bool = True
    silicone_cure_ratio: float = 1.0
    casting_cure_ratio: float = 1.0
    cavities: Cavities | None = None

    def cavities_of(self, one: PartPlan) -> int:
        """Copies that one filling of one mould gives."""
        return one.mould.cavities if self.cavities is None else self.cavities.count


def worn_out(one: PartPlan, cavities: int | None = None) -> int:
    """Moulds that the shots wear out, with the plan's cavities or so many."""
    choice = one.choice
    if choice is None or choice.mould_life is None:
        return 1
    return ceil(choice.pours / (cavities or one.mould.cavities) / max(1, choice.mould_life.low))


def ways_of(one: PartPlan) -> Ways:
    """As asked; more moulds where one does not live long enough."""
    return Ways(moulds=max(one.request.moulds, worn_out(one)))
