"""Materials, mixes, pours and stock as entries of JSON."""

from collections.abc import Sequence
from datetime import date

from pydantic import Field

from firstpour.choosing.choice import Chosen, PartChoice
from firstpour.files.entry import Entry, FindingEntry, finding_entries
from firstpour.files.step_entries import StepEntry, step_keys
from firstpour.materials.cautions import FIRST, Caution
from firstpour.materials.figures import FIGURES
from firstpour.materials.material import Material
from firstpour.materials.steps import surface_words
from firstpour.mixing.mix import Mix
from firstpour.mixing.mix_findings import Batch
from firstpour.mixing.pour import PourFit
from firstpour.stock.stock import Pack, StockLine, good_until, is_good


class LimitEntry(Entry):
    """A limit of the air at work; `since` and `until` are the days on which it holds."""

    what: str
    value: float
    unit: str
    since: date | None
    until: date | None
    source: str


class CautionEntry(Entry):
    """A caution; the first of a list says what comes before anything here."""

    id: str
    text: str
    source: str | None
    limits: list[LimitEntry]


class BatchEntry(Entry):
    """What one batch puts on the scale, for so many cavities."""

    cavities: int
    weigh_a_g: float
    weigh_b_g: float
    weigh_additives_g: dict[str, float]

    @property
    def on_scale_g(self) -> float:
        """All of it together."""
        return self.weigh_a_g + self.weigh_b_g + sum(self.weigh_additives_g.values())


class MixEntry(Entry):
    """A mix: masses of all batches together, and the times of one of them."""

    material: str
    name: str
    volume_ml: float
    cavities: int
    loss_ml: float = Field(description="What stays behind in cups.")
    density_g_ml: float
    total_g: float
    part_a_g: float
    part_b_g: float
    part_a_ml: float
    part_b_ml: float
    additives_g: dict[str, float]
    stir_into: dict[str, str] = Field(description="The part that each additive goes into.")
    batches: int = Field(description="All of them, the short ones counted in.")
    batch: BatchEntry
    short_batches: int = Field(description="Batches for one cavity fewer, where they do not share out evenly.")
    short_batch: BatchEntry | None
    temperature_c: float
    pot_life_min: float = Field(description="Of this mix in its cup.")
    pot_life_low_min: float = Field(description="Nineteen of twenty such mixes last longer.")
    pot_life_high_min: float = Field(description="One of twenty such mixes lasts longer.")
    stated_mass_g: float
    stated_pot_life_min: float = Field(description="At the mass of the data sheet, in this room.")
    thickening_min: float = Field(description="τ of μ = μ₀·exp(t/τ).")
    demould_min: float
    block_demould_min: float = Field(description="At the mass of the data sheet, in this room.")
    section_mm: float | None = Field(description="Thickness of the part that `demould_min` belongs to.")
    peak_cup_c: float = Field(description="The warmest that the mix gets if it stays in its cup.")
    peak_part_c: float | None = Field(description="The warmest that the section gets in its mould.")
    full_cure_min: float | None
    cup_ml: float
    container_ml: float = Field(description="Least size of what it is degassed in.")
    degas_lots: int
    shrinkage_ratio: float | None = Field(description="Linear, with the additives.")
    smallest_batch_g: float
    ratio_error_ratio: float
    ratio_tolerance_ratio: float = Field(description="How far the ratio of B to A may be off, as a share of it.")
    scale_step_g: float = Field(description="The least that the scale shows.")
    findings: list[FindingEntry]
    cautions: list[CautionEntry]


class PourStepEntry(Entry):
    """One step of a pour."""

    name: str
    mean_min: float
    spread_min: float
    on_clock: bool = Field(description="Whether the pot life runs meanwhile.")


class ChangeEntry(Entry):
    """One thing to change, and the chance of the pour with it."""

    text: str
    chance: float


class PourEntry(Entry):
    """A pour on the clock at one temperature; times are null where the material may not be worked in that room."""

    temperature_c: float
    pot_life_min: float | None
    pot_life_low_min: float | None
    pot_life_high_min: float | None
    demould_min: float | None
    work_min: float = Field(description="Minutes of work while the pot life runs.")
    margin_min: float | None = Field(description="Left of the pot life when the pour has ended.")
    eaten_by: list[str] = Field(description="The steps that the pot life runs through, the longest first.")
    chance: float
    fits: bool
    problem: str | None
    steps: list[PourStepEntry]
    changes: list[ChangeEntry] = Field(description="What would make it fit, the least trouble first.")


class FigureEntry(Entry):
    """One figure of a material, with its origin."""

    what: str
    value: float
    low: float | None
    high: float | None
    unit: str
    temperature_c: float | None
    mass_g: float | None
    origin: str


class DoseEntry(Entry):
    """What one dose of an additive does."""

    dose: float
    pot_life_ratio: float | None
    cure_ratio: float | None
    shore_points: float | None
    tear_ratio: float | None
    shrinkage_added: float | None


class PackSizeEntry(Entry):
    """A pack as it is sold."""

    part_a_g: float
    part_b_g: float
    price: float | None


class MaterialEntry(Entry):
    """One material with its figures."""

    id: str
    name: str
    kind: str
    note: str
    shipped: bool
    traits: list[str]
    ratio_b_per_100_a: float | None
    figures: dict[str, FigureEntry]
    works_in: list[str]
    counts_on: str | None
    stir_into: str | None
    doses: list[DoseEntry]
    packs: list[PackSizeEntry]


class PackEntry(Entry):
    """One pack on the shelf; `good` is null for a material that is no longer known."""

    pack: int
    material: str
    name: str
    left_a_g: float
    left_b_g: float
    size_a_g: float
    size_b_g: float
    price: float | None
    bought_on: date | None
    opened_on: date | None
    good_until: date | None
    good: bool | None


class PackCountEntry(Entry):
    """So many packs of one size."""

    part_a_g: float
    part_b_g: float
    count: int


class BuyEntry(Entry):
    """What to buy so that there is enough."""

    cost: float | None
    packs: list[PackCountEntry]


class StockLineEntry(Entry):
    """One material of a job against the shelf."""

    material: str
    name: str
    need_a_g: float
    need_b_g: float
    have_a_g: float
    have_b_g: float
    enough: bool
    buy: BuyEntry | None


class DosedEntry(Entry):
    """An additive and its dose."""

    material: str
    dose_ratio: float


class PlannedMixEntry(MixEntry):
    """A mix of the job: for what, and how often."""

    what: str
    times: int

    @property
    def on_scale_g(self) -> float:
        """What all batches of it put on the scale, rounded up to its steps as they are weighed."""
        short = 0.0 if self.short_batch is None else self.short_batches * self.short_batch.on_scale_g
        return (self.batches - self.short_batches) * self.batch.on_scale_g + short


class PlannedStepEntry(StepEntry):
    """A step before a pour, and the reason for it."""

    before: str
    reason: str


class PlannedPourEntry(PourEntry):
    """A pour of the job at one temperature."""

    what: str


class RejectedEntry(Entry):
    """A material that will not do, why, and what would make it do."""

    material: str
    reason: str
    remedy: str | None


class ChosenEntry(Entry):
    """The material chosen, why, its mixes, steps and pours, and what was turned down."""

    material: str
    name: str
    why: list[str]
    demould_min: float
    ready_min: float = Field(description="Steps, waits and cures of this stage one after the other.")
    additives: list[DosedEntry]
    mixes: list[PlannedMixEntry]
    steps: list[PlannedStepEntry]
    pours: list[PlannedPourEntry] = Field(description="In the job's room, and in cooler and warmer ones.")
    rejected: list[RejectedEntry]


class SupplyEntry(Entry):
    """Something to lay out at the bench."""

    id: str
    name: str
    count: int
    note: str
    never: list[str] = Field(description="What must not stand in its place.")


class StiffnessEntry(Entry):
    """How stiff the copy is: an estimate from its hardness."""

    modulus_low_mpa: float
    modulus_high_mpa: float
    deflection_low_mm: float | None
    deflection_high_mm: float | None
    bends_far: bool
    estimate: bool = True


class PartChoiceEntry(Entry):
    """What the shelf says of one part."""

    name: str
    surface: str = Field(description="What the silicone meets, in words.")
    silicone: ChosenEntry | None
    casting: ChosenEntry | None
    hardness: str
    stiffness: StiffnessEntry | None
    pours: int = Field(description="Shots to reckon with, spoiled ones included.")
    rounds: int = Field(description="Times that one goes to fill the moulds that there are.")
    round_copies: list[int] = Field(
        default_factory=list, description="Copies of each round in order; empty in older plans."
    )
    mould_life_shots: tuple[int, int] | None
    stock: list[StockLineEntry]
    findings: list[FindingEntry]
    cautions: list[CautionEntry]


def mix_entry(mix: Mix) -> MixEntry:
    """A mix: the keys of the command contract, and what each equal batch puts on the scale."""
    return MixEntry.model_validate(mix_keys(mix))


def mix_keys(mix: Mix) -> dict[str, object]:
    """The values of a mix under their keys."""
    times = mix.times
    of_times = (
        "temperature_c", "pot_life_min", "pot_life_low_min", "pot_life_high_min", "stated_mass_g",
        "stated_pot_life_min", "thickening_min", "demould_min", "block_demould_min", "section_mm", "peak_cup_c",
        "peak_part_c", "full_cure_min",
    )  # fmt: skip
    of_mix = (
        "volume_ml", "cavities", "loss_ml", "density_g_ml", "total_g", "part_a_g", "part_b_g", "part_a_ml",
        "part_b_ml", "batches", "short_batches", "cup_ml", "container_ml", "degas_lots",
        "shrinkage_ratio", "smallest_batch_g", "ratio_error_ratio",
        "ratio_tolerance_ratio", "scale_step_g",
    )  # fmt: skip
    return {
        **{key: getattr(times, key) for key in of_times},
        **{key: getattr(mix, key) for key in of_mix},
        "material": mix.material.id,
        "name": mix.material.name,
        "additives_g": {additive.id: additive.mass_g for additive in mix.additives},
        "stir_into": {additive.id: additive.into.value for additive in mix.additives},
        "batch": _batch_entry(mix.batch, mix.batch_cavities),
        "short_batch": None if mix.short_batch is None else _batch_entry(mix.short_batch, mix.batch_cavities - 1),
        "findings": finding_entries(mix.findings),
        "cautions": caution_entries(mix.cautions),
    }


def _batch_entry(batch: Batch, cavities: int) -> BatchEntry:
    return BatchEntry(
        cavities=cavities,
        weigh_a_g=batch.weigh_a_g,
        weigh_b_g=batch.weigh_b_g,
        weigh_additives_g={additive.id: additive.weigh_g for additive in batch.additives},
    )


def pour_entry(fit: PourFit) -> PourEntry:
    """A pour on the clock at one temperature."""
    return PourEntry.model_validate(pour_keys(fit))


def pour_keys(fit: PourFit) -> dict[str, object]:
    """The values of a pour under their keys."""
    of_times = ("pot_life_min", "pot_life_low_min", "pot_life_high_min", "demould_min")
    of_fit = ("temperature_c", "work_min", "margin_min", "chance", "fits", "problem")
    return {
        **{key: None if fit.times is None else getattr(fit.times, key) for key in of_times},
        **{key: getattr(fit, key) for key in of_fit},
        "eaten_by": [step.name.value for step in fit.eaten_by],
        "steps": [
            PourStepEntry(
                name=step.name.value,
                mean_min=step.time.mean_min,
                spread_min=step.time.variance_min2**0.5,
                on_clock=step.on_clock,
            )
            for step in fit.steps
        ],
        "changes": [ChangeEntry.model_validate(change) for change in fit.changes],
    }


def material_entry(material: Material) -> MaterialEntry:
    """One material with its figures and their origin."""
    return MaterialEntry(
        id=material.id,
        name=material.name,
        kind=material.kind.value,
        note=material.note,
        shipped=material.shipped,
        traits=sorted(material.traits),
        ratio_b_per_100_a=None if material.ratio is None else material.ratio.b_per_100_a,
        figures={
            name.value: FigureEntry(
                what=FIGURES[name].what,
                value=figure.value,
                low=figure.low,
                high=figure.high,
                unit=FIGURES[name].unit,
                temperature_c=figure.temperature_c,
                mass_g=figure.mass_g,
                origin=figure.origin.value,
            )
            for name, figure in material.figures.items()
        },
        works_in=list(material.works_in),
        counts_on=None if material.counts_on is None else material.counts_on.value,
        stir_into=None if material.stir_into is None else material.stir_into.value,
        doses=[
            DoseEntry(
                dose=dose.dose_ratio,
                pot_life_ratio=dose.pot_life_ratio,
                cure_ratio=dose.cure_ratio,
                shore_points=dose.shore_points,
                tear_ratio=dose.tear_ratio,
                shrinkage_added=dose.shrinkage_added,
            )
            for dose in material.doses
        ],
        packs=[PackSizeEntry.model_validate(pack) for pack in material.packs],
    )


def pack_entry(pack: Pack, material: Material | None, *, today: date) -> PackEntry:
    """One pack on the shelf."""
    return PackEntry(
        pack=pack.id,
        material=pack.material_id,
        name=pack.material_id if material is None else material.name,
        left_a_g=pack.left_a_g,
        left_b_g=pack.left_b_g,
        size_a_g=pack.size_a_g,
        size_b_g=pack.size_b_g,
        price=pack.price,
        bought_on=pack.bought_on,
        opened_on=pack.opened_on,
        good_until=None if material is None else good_until(pack, material),
        good=None if material is None else is_good(pack, material, today=today),
    )


def stock_line_entry(line: StockLine) -> StockLineEntry:
    """One material of a job against the shelf."""
    buy = None
    if line.buy is not None:
        packs = [
            PackCountEntry(part_a_g=pack.part_a_g, part_b_g=pack.part_b_g, count=count)
            for pack, count in line.buy.packs
        ]
        buy = BuyEntry(cost=line.buy.cost, packs=packs)
    return StockLineEntry(
        material=line.material_id,
        name=line.name,
        need_a_g=line.need.a_g,
        need_b_g=line.need.b_g,
        have_a_g=line.have.a_g,
        have_b_g=line.have.b_g,
        enough=line.enough,
        buy=buy,
    )


def part_choice_entry(part: PartChoice) -> PartChoiceEntry:
    """What the shelf says of one part."""
    life = part.mould_life
    return PartChoiceEntry(
        name=part.name,
        surface=surface_words(part.surface),
        silicone=None if part.silicone is None else _chosen_entry(part.silicone),
        casting=None if part.casting is None else _chosen_entry(part.casting),
        hardness=str(part.hardness),
        stiffness=None if part.stiffness is None else StiffnessEntry.model_validate(part.stiffness),
        pours=part.pours,
        rounds=part.rounds,
        round_copies=list(part.round_copies),
        mould_life_shots=None if life is None else (life.low, life.high),
        stock=[stock_line_entry(line) for line in part.stock],
        findings=finding_entries(part.findings),
        cautions=caution_entries(part.cautions),
    )


def caution_entries(cautions: Sequence[Caution]) -> list[CautionEntry]:
    """Cautions with their limits; the first line says what comes first."""
    first = CautionEntry(id="first", text=FIRST, source=None, limits=[])
    return [first, *(CautionEntry.model_validate(caution) for caution in cautions)]


def _chosen_entry(chosen: Chosen) -> ChosenEntry:
    return ChosenEntry(
        material=chosen.material.id,
        name=chosen.material.name,
        why=list(chosen.why),
        demould_min=chosen.demould_min,
        ready_min=chosen.ready_min,
        additives=[DosedEntry(material=one.material.id, dose_ratio=one.dose_ratio) for one in chosen.additives],
        mixes=[
            PlannedMixEntry.model_validate({**mix_keys(one.mix), "what": one.what, "times": one.times})
            for one in chosen.mixes
        ],
        steps=[
            PlannedStepEntry.model_validate({**step_keys(one.step), "before": one.before, "reason": one.reason})
            for one in chosen.steps
        ],
        pours=[PlannedPourEntry.model_validate({**pour_keys(one.fit), "what": one.what}) for one in chosen.pours],
        rejected=[
            RejectedEntry(material=one.material_id, reason=one.reason, remedy=one.remedy) for one in chosen.rejected
        ],
    )
