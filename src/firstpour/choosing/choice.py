"""What the shelf answers for a job."""

from collections.abc import Mapping
from dataclasses import dataclass

from firstpour.choosing.decisions import Rejected
from firstpour.materials.additives import Additive
from firstpour.materials.cautions import Caution
from firstpour.materials.compatibility import MouldLife
from firstpour.materials.feel import Hardness, Stiffness
from firstpour.materials.material import Material
from firstpour.materials.steps import Step
from firstpour.mixing.mix import Mix
from firstpour.mixing.pour import PourFit
from firstpour.mixing.pour_steps import Pour
from firstpour.stock.stock import Amount, StockLine
from firstpour.values import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedMix:
    """One mix of the job: for what, how often, and the mix itself."""

    what: str
    times: int
    mix: Mix


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """A step before a pour, and the reason for it; a wait for a demould time is filled in."""

    before: str
    step: Step
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPour:
    """A pour as it stands at one temperature."""

    what: str
    fit: PourFit


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The material chosen, why, its additives, mixes, steps and pours, and what was turned down."""

    material: Material
    why: tuple[str, ...]
    additives: tuple[Additive, ...]
    mixes: tuple[PlannedMix, ...]
    steps: tuple[PlannedStep, ...]
    pours: tuple[PlannedPour, ...]
    rejected: tuple[Rejected, ...]
    demould_min: float
    ready_min: float
    """Steps, waits and cures of this stage one after the other."""
    at_once: int = 1
    """Moulds that one mix fills within its pot life."""
    pour: Pour
    """What is poured in one go, its largest mix."""
    slower: tuple[Material, ...] = ()
    """What would do as well and leaves more time."""

    @property
    def fit(self) -> PourFit:
        """The pour in the room for which it is mixed."""
        here_c = self.mixes[0].mix.times.temperature_c
        return min((pour.fit for pour in self.pours), key=lambda fit: abs(fit.temperature_c - here_c))


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """Something to lay out: how many, why, and what must not stand in its place."""

    id: str
    name: str
    count: int
    note: str
    never: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """What the shelf says of one part."""

    name: str
    silicone: Chosen | None
    casting: Chosen | None
    hardness: Hardness
    stiffness: Stiffness | None
    pours: int
    """Shots to reckon with, spoiled ones included."""
    round_copies: tuple[int, ...]
    """Copies of each round in order: the first fills the first mould alone."""
    mould_life: MouldLife | None
    surface: frozenset[str]
    """What the silicone meets: what the master is printed of, and the traces of the steps done to it."""
    uses: Mapping[str, Amount]
    """Grams of every material that mixes and steps use up, by id."""
    stock: tuple[StockLine, ...]
    traits: frozenset[str]
    """Everything that is handled, in the words that cautions and rules look for."""
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    seen_good: float = 0
    seen_shots: float = 0
    """Shots of this part made here before, and how many were good: `pours` are reckoned by them."""

    @property
    def rounds(self) -> int:
        """Times that one goes to fill the moulds that there are."""
        return len(self.round_copies)

    @property
    def chosen(self) -> tuple[Chosen, ...]:
        """The silicone and the casting material, as far as there are any."""
        return tuple(one for one in (self.silicone, self.casting) if one is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPlan:
    """The whole job: each part, and what to have and to lay out for all of them together."""

    parts: tuple[PartChoice, ...]
    stock: tuple[StockLine, ...]
    supplies: tuple[Supply, ...]
    findings: tuple[Finding, ...]
