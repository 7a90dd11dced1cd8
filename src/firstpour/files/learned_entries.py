"""What a plan reckons with because it was seen here, as entries of plan.json, and in words."""

from collections.abc import Sequence

from pydantic import Field

from firstpour.files.entry import Entry
from firstpour.store.learned import PACE, POUR, PRINT, Learned


class YieldEntry(Entry):
    """Shots seen, and the good ones among them."""

    part: str
    way: str | None = Field(description="Kind of mould, or printed; null where it is not known.")
    material: str | None
    good: int
    shots: int


class FactorEntry(Entry):
    """How much longer than planned something took."""

    what: str = Field(description="pot life, demould, print minutes or pace.")
    about: str = Field(description="The material, the printer's process, or work and pour.")
    ratio: float
    times: int = Field(description="So often it was seen.")


class LearnedEntry(Entry):
    """What was seen in this workshop before the plan was made, and is reckoned with in it."""

    yields: list[YieldEntry] = Field(default_factory=list)
    factors: list[FactorEntry] = Field(default_factory=list)

    def ratio(self, what: str, about: str) -> float:
        """What planned minutes were multiplied by; 1 where nothing was seen."""
        return next((one.ratio for one in self.factors if (one.what, one.about) == (what, about)), 1.0)


def learned_entry(learned: Learned) -> LearnedEntry:
    """All that was seen."""
    return LearnedEntry(
        yields=[
            YieldEntry(
                part=made.part, way=made.way, material=made.material, good=round(one.good), shots=round(one.shots)
            )
            for made, one in learned.yields.items()
        ],
        factors=[
            FactorEntry(what=what, about=about, ratio=one.ratio, times=one.times)
            for what, about, one in learned.factors
        ],
    )


def learned_words(entry: LearnedEntry, parts: Sequence[str]) -> str:
    """The shots of these parts and every factor, in a sentence; empty where nothing was seen."""
    good: dict[str, list[int]] = {}
    for one in entry.yields:
        if one.part in parts:
            counts = good.setdefault(one.part, [0, 0])
            counts[0] += one.good
            counts[1] += one.shots
    words = [f"{part}, {ok} of {shots} shots good" for part, (ok, shots) in good.items()]
    words += [f"{factor_name(one)} × {one.ratio:.2f} ({_times(one.times)})" for one in entry.factors if one.times]
    return f"Reckoned with what was seen here: {'; '.join(words)}." if words else ""


def factor_name(one: FactorEntry) -> str:
    """What the factor is of.

    >>> factor_name(FactorEntry(what="pace", about="pour", ratio=1.2, times=3))
    'your minutes from B meets A to the last of the mix'
    >>> factor_name(FactorEntry(what="print minutes", about="vat", ratio=1.2, times=3))
    'minutes of vat prints'
    """
    if one.what == PACE:
        return "your minutes from B meets A to the last of the mix" if one.about == POUR else "your minutes of work"
    return f"minutes of {one.about} prints" if one.what == PRINT else f"{one.what} of {one.about}"


def _times(count: int) -> str:
    return "seen once" if count == 1 else f"seen {count} times"
