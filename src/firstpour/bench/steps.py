"""The steps of a part at the bench, from the pages of its run sheet: what the wall says is what is asked."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from firstpour.files.material_entries import BatchEntry, ChosenEntry, PlannedMixEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.mixing.pour_steps import PourStepName
from firstpour.parting.values import MouldKind
from firstpour.sheets.blocks import Beside, Block, Cautions, Page, Picture, Single, Table, Ticks
from firstpour.sheets.cast_page import cast_pages
from firstpour.sheets.mixing_blocks import in_this_room
from firstpour.sheets.other_pages import open_page
from firstpour.sheets.silicone_page import silicone_page
from firstpour.sheets.words import piece_words, wait_words
from firstpour.store.runs import ClockKind

SPARE_MIN = 1.0
"""A pot life is called so long before its end, beside what the pour itself takes: our own choice."""


class StepKind(StrEnum):
    """What is done at a step."""

    DO = "do"
    WEIGH = "weigh"
    STIR = "stir together"
    POUR = "pour"
    WAIT = "wait"
    OUTCOME = "say what came out"


@dataclass(frozen=True, slots=True, kw_only=True)
class Weigh:
    """What one batch puts on the scale, and how far B may lie off its ratio to A, as a share of it."""

    material_id: str
    name: str
    a_g: float
    b_g: float
    additives_g: tuple[tuple[str, float], ...]
    tolerance_ratio: float
    scale_step_g: float

    @property
    def ratio(self) -> float:
        """Grams of B to one of A; 0 for a material of one part."""
        return self.b_g / self.a_g


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockSet:
    """A clock that starts when a step is done; `warn_min` minutes before its end it calls."""

    kind: ClockKind
    name: str
    minutes: float
    warn_min: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchStep:
    """One step: its title, what to do or have (each to be ticked), and what can harm before it."""

    id: str
    kind: StepKind
    title: str
    items: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    picture: str | None = None
    """A file of the plan, relative to its folder."""
    weigh: Weigh | None = None
    sets: ClockSet | None = None
    waits_for: tuple[str, ...] = ()
    """Names of the clocks that must have ended before it is done."""
    mould: int | None = None
    hands_min: float | None = None
    """Minutes of hands that the plan reckons with; of a pour from B meeting A on. None: it is not timed."""
    by_itself_min: float = 0.0
    """What goes by itself between, as a mix under vacuum."""


def mould_steps(plan: PlanEntry, part: PartEntry, *, mould: int) -> tuple[BenchStep, ...]:
    """Every pour of silicone of one mould, and taking it out."""
    silicone = None if part.materials is None else part.materials.silicone
    found: list[BenchStep] = []
    poses = part.mould.poses
    cures: list[str] = []
    for n, pose in enumerate(poses, start=1):
        mix = next((one for one in silicone.mixes if one.what == pose.pours), None) if silicone else None
        cure = f"{piece_words(pose.pours)} of mould {mould} cures"
        cures.append(cure)
        waits = tuple(cures) if part.mould.kind is MouldKind.BEDDING or n == len(poses) else ()
        page = silicone_page(plan, part, pose)
        prefix = f"mould-{mould}/{pose.pours}"
        found += _from_page(page, prefix, chosen=silicone, mix=mix, cure=cure, waits=waits, mould=mould)
    return tuple(found)


def round_steps(plan: PlanEntry, part: PartEntry, *, number: int, moulds: Sequence[int]) -> tuple[BenchStep, ...]:
    """One round of casting: pour, cure, open, and what came out of each mould."""
    casting = None if part.materials is None else part.materials.casting
    mix = casting.mixes[0] if casting is not None and casting.mixes else None
    prefix = f"round-{number}"
    cure = f"round {number} cures"
    found = _from_page(
        cast_pages(plan, part)[0], prefix, chosen=casting, mix=mix, cure=cure, waits=(cure,), mould=None
    )
    found += _from_page(open_page(plan, part), f"{prefix}/open", chosen=None, mix=None, cure="", waits=(), mould=None)
    cavities = part.mould.cavities
    found += [
        BenchStep(
            id=f"{prefix}/outcome-{mould}" + ("" if cavities == 1 else f"-{cavity}"),
            kind=StepKind.OUTCOME,
            title=f"What came out of mould {mould}{'' if cavities == 1 else f', cavity {cavity}'}?",
            items=("Good, or each defect with its place; then look at the mould: torn, tacky, flash in it?",),
            mould=mould,
        )
        for mould in moulds
        for cavity in range(1, cavities + 1)
    ]
    return tuple(found)


def _from_page(
    page: Page,
    prefix: str,
    *,
    chosen: ChosenEntry | None,
    mix: PlannedMixEntry | None,
    cure: str,
    waits: tuple[str, ...],
    mould: int | None,
) -> list[BenchStep]:
    """The steps of a page: where grams stand on it, they are weighed; then B meets A, and it is poured.

    After the pour come the clocks that it `waits` for, if any.
    """
    found: list[BenchStep] = []
    cautions: list[str] = []
    weighed = False
    blocks = list(_flat(page.blocks))
    picture = next((one.file for one in blocks if isinstance(one, Picture)), None)
    timed = _timed(chosen, mix)
    for block in blocks:
        if isinstance(block, Cautions):
            cautions += block.items
        elif isinstance(block, Table) and mix is not None and chosen is not None and not weighed:
            weighed = True
            found += _weighing(
                f"{prefix}/{len(found) + 1}", chosen, mix, cautions=tuple(cautions), cure=cure, mould=mould
            )
            cautions = []
        elif isinstance(block, Ticks):
            is_pour = weighed and found[-1].kind is StepKind.STIR
            found.append(
                BenchStep(
                    id=f"{prefix}/{len(found) + 1}",
                    kind=StepKind.POUR if is_pour else StepKind.DO,
                    title=block.title,
                    items=block.items,
                    cautions=tuple(cautions),
                    picture=picture,
                    sets=_cure(chosen, cure) if is_pour else None,
                    mould=mould,
                    hands_min=timed[0] if is_pour else None,
                    by_itself_min=timed[1] if is_pour else 0.0,
                )
            )
            cautions, picture = [], None
            if is_pour and waits and chosen is not None:
                found.append(wait_step(f"{prefix}/{len(found) + 1}", cure, waits, chosen.demould_min))
    return found


def _weighing(
    prefix: str,
    chosen: ChosenEntry,
    mix: PlannedMixEntry,
    *,
    cautions: tuple[str, ...],
    cure: str,
    mould: int | None,
) -> Iterator[BenchStep]:
    """Each batch weighed and stirred together; the last one is poured by the page's own words."""
    equal = mix.batches - mix.short_batches
    pour = in_this_room(chosen, mix)
    pour_min = sum(step.mean_min for step in pour.steps if step.name == "pour") if pour is not None else 0.0
    for n in range(1, mix.batches + 1):
        batch = mix.batch if n <= equal or mix.short_batch is None else mix.short_batch
        of = f", batch {n} of {mix.batches}" if mix.batches > 1 else ""
        yield BenchStep(
            id=f"{prefix}-weigh-{n}",
            kind=StepKind.WEIGH,
            title=f"Weigh {mix.name}{of}",
            items=_weigh_items(batch, mix),
            cautions=cautions if n == 1 else (),
            weigh=Weigh(
                material_id=mix.material,
                name=mix.name,
                a_g=batch.weigh_a_g,
                b_g=batch.weigh_b_g,
                additives_g=tuple(batch.weigh_additives_g.items()),
                tolerance_ratio=mix.ratio_tolerance_ratio,
                scale_step_g=mix.scale_step_g,
            ),
            mould=mould,
        )
        yield BenchStep(
            id=f"{prefix}-stir-{n}",
            kind=StepKind.STIR,
            title=f"B meets A{of}: the pot life runs",
            items=(
                f"Poured by minute {int(mix.pot_life_low_min)} at {mix.temperature_c:g} °C. Scrape walls and "
                "bottom; into a second cup and stir again.",
            ),
            sets=ClockSet(
                kind=ClockKind.POT_LIFE,
                name=f"pot life of {mix.name}",
                minutes=mix.pot_life_low_min,
                warn_min=min(mix.pot_life_low_min / 2, SPARE_MIN + ceil(pour_min)),
            ),
            mould=mould,
        )
        if n < mix.batches:
            yield BenchStep(
                id=f"{prefix}-pour-{n}",
                kind=StepKind.POUR,
                title=f"Pour batch {n} of {mix.batches} into its {batch.cavities} moulds",
                items=("Never fill one mould from two mixes.",),
                sets=_cure(chosen, cure),
                mould=mould,
            )


def _timed(chosen: ChosenEntry | None, mix: PlannedMixEntry | None) -> tuple[float | None, float]:
    """Hands on the clock of a pour, and what goes by itself meanwhile; None where more than one batch is mixed."""
    pour = None if chosen is None or mix is None or mix.batches > 1 else in_this_room(chosen, mix)
    if pour is None:
        return None, 0.0
    by_itself_min = sum(one.mean_min for one in pour.steps if one.on_clock and one.name == PourStepName.DEGAS)
    return pour.work_min - by_itself_min, by_itself_min


def _weigh_items(batch: BatchEntry, mix: PlannedMixEntry) -> tuple[str, ...]:
    items = [
        f"A {batch.weigh_a_g:g} g, then B {batch.weigh_b_g:g} g: what A came to × {mix.part_b_g / mix.part_a_g:.4g}."
    ]
    items += [f"{name} {grams:g} g into {mix.stir_into[name]}." for name, grams in batch.weigh_additives_g.items()]
    return (*items, "Say what the scale showed: the stock is taken off by it.")


def _cure(chosen: ChosenEntry | None, name: str) -> ClockSet | None:
    return None if chosen is None else ClockSet(kind=ClockKind.CURE, name=name, minutes=chosen.demould_min)


def wait_step(step_id: str, name: str, waits_for: tuple[str, ...], minutes: float) -> BenchStep:
    """Waiting for clocks by their names."""
    return BenchStep(
        id=step_id,
        kind=StepKind.WAIT,
        title=f"Wait: {name}",
        items=(f"It takes {wait_words(minutes)}; longer where it is cooler.",),
        waits_for=waits_for,
    )


def _flat(blocks: Sequence[Block]) -> Iterator[Single]:
    for block in blocks:
        if isinstance(block, Beside):
            yield from (*block.left, *block.right)
        else:
            yield block
