"""What the shelf knows of one material: its kind, mix ratio, figures with their origin, doses and packs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from firstpour.errors import BadRequest
from firstpour.materials.figures import FIGURES, Figure, FigureName, Origin


class Kind(StrEnum):
    """What a material is for in the workshop."""

    ADDITION_SILICONE = "addition-cure silicone"
    CONDENSATION_SILICONE = "condensation-cure silicone"
    FLEXIBLE_CASTING = "flexible casting rubber"
    RIGID_CASTING = "rigid casting plastic"
    PHOTOPOLYMER = "photopolymer"
    FILAMENT = "filament"
    COLOURANT = "colourant"
    ACCELERATOR = "accelerator"
    SOFTENER = "softener"
    FILLER = "filler"
    RELEASE = "release"
    SEALER = "sealer"
    PAINT = "paint"
    CLAY = "clay"


SILICONES = (Kind.ADDITION_SILICONE, Kind.CONDENSATION_SILICONE)
CASTING_KINDS = (Kind.FLEXIBLE_CASTING, Kind.RIGID_CASTING)
MIXED_KINDS = SILICONES + CASTING_KINDS
ADDITIVE_KINDS = (Kind.COLOURANT, Kind.ACCELERATOR, Kind.SOFTENER, Kind.FILLER)


class CountsOn(StrEnum):
    """The part that an additive's dose is counted on."""

    A = "A"
    B = "B"
    TOTAL = "A and B"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A mix ratio by weight: parts of B to 100 parts of A. `by_volume` where that is how it is measured out."""

    b_per_100_a: float
    by_volume_b_per_100_a: float | None = None

    @property
    def a_share(self) -> float:
        """A's share of the mass of A and B."""
        return 100 / (100 + self.b_per_100_a)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """One line of an additive's table: at `dose_ratio`, what it does to times, hardness, tear and shrinkage."""

    dose_ratio: float
    pot_life_ratio: float = 1.0
    cure_ratio: float = 1.0
    shore_points: float = 0.0
    tear_ratio: float = 1.0
    shrinkage_added: float = 0.0
    """Linear shrinkage on top of the material's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackSize:
    """A pack that can be bought: grams of A (or of the whole) and of B, and its price in the user's currency."""

    part_a_g: float
    part_b_g: float = 0.0
    price: float | None = None

    @property
    def total_g(self) -> float:
        return self.part_a_g + self.part_b_g


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material. `traits` are the words that compatibility rules and cautions look for, its kind among them."""

    id: str
    name: str
    kind: Kind
    figures: Mapping[FigureName, Figure]
    ratio: Ratio | None = None
    traits: frozenset[str] = frozenset()
    works_in: tuple[str, ...] = ()
    """For an additive: ids or kinds of the materials that it is made for."""
    counts_on: CountsOn | None = None
    stir_into: CountsOn | None = None
    """For an additive: the part it is stirred into before A and B meet; None: the one it counts on, else A."""
    doses: tuple[Dose, ...] = ()
    accelerator: str | None = None
    colourant: str | None = None
    softener: str | None = None
    packs: tuple[PackSize, ...] = field(default=())
    note: str = ""
    shipped: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "figures", MappingProxyType(dict(self.figures)))
        object.__setattr__(self, "traits", frozenset(self.traits) | {self.kind.value})

    @property
    def is_typical(self) -> bool:
        """Whether any figure is still the typical one of its class."""
        return any(figure.origin is Origin.TYPICAL for figure in self.figures.values())


def needed(material: Material, name: FigureName) -> Figure:
    """The figure `name` of `material`.

    Raises
    ------
    BadRequest
        If the record does not hold it.
    """
    figure = material.figures.get(name)
    if figure is None:
        raise BadRequest(
            f"{material.name} has no {FIGURES[name].what}.",
            remedy=f"enter {name.value} of {material.id} from the data sheet",
        )
    return figure


def value_or(material: Material, name: FigureName, default: float) -> float:
    """The value of figure `name` in our unit, or `default` where the record is silent."""
    figure = material.figures.get(name)
    return default if figure is None else figure.value
