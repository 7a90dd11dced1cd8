"""Every material that might do for a part, judged: what speaks against it, or how it would go."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import ceil

from firstpour.choosing.choice import PartNeed, PlannedMix, PlannedStep, Rejected
from firstpour.errors import BadRequest, WorkshopError
from firstpour.formulas.yields import pours_for_good
from firstpour.materials.additives import Additive
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.compatibility import Contact, Judgement, Verdict, judge
from firstpour.materials.feel import FeelWay, Hardness, hardness_of, ways_to_reach
from firstpour.materials.figures import FigureName
from firstpour.materials.material import CASTING_KINDS, SILICONES, Kind, Material, value_or
from firstpour.materials.steps import Step, step
from firstpour.mixing.mix import Mix, mix_volume
from firstpour.mixing.pour import Pour, PourFit, pour_fit
from firstpour.stock.stock import Amount, StockLine, stock_line
from firstpour.workshop.workshop import Workshop

STRETCH_SAFETY = 3.0
"""A mould is stretched to a third of its elongation at break at most: an estimate of our own (decision 0004)."""
DEFAULT_ELONGATION = 3.0
ENOUGH_CONFIDENCE = 0.9
OILY, PAINTABLE = "release-mould", "release-paintable"
LONGER_RATIO = 1.3
"""A pot life must be longer by this much to count as slower."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """A material that would do, with everything that it is ranked by."""

    material: Material
    additives: tuple[Additive, ...]
    mixes: tuple[PlannedMix, ...]
    steps: tuple[PlannedStep, ...]
    pour: Pour
    fit: PourFit
    lines: tuple[StockLine, ...]
    ready_min: float
    demould_min: float
    cost: float
    reached: Hardness | None = None
    off_points: float = 0.0
    softened: bool = False

    @property
    def enough(self) -> bool:
        return all(line.enough for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The options, best first, and what was turned down."""

    options: tuple[Option, ...]
    rejected: tuple[Rejected, ...]


def shots(need: PartNeed) -> int:
    """Shots to reckon with so that nine times in ten enough of them are good."""
    return pours_for_good(need.copies, yield_ratio=need.yield_ratio, confidence_ratio=ENOUGH_CONFIDENCE)


def rounds(need: PartNeed) -> int:
    """Times that all moulds are filled."""
    return ceil(shots(need) / need.moulds)


def silicone_options(need: PartNeed, workshop: Workshop, *, casting: Material | None) -> Judged:
    """Silicones for the mould, judged against the master's surface, the casting material, the undercut and the clock.

    Ranked: fits the pot life; enough on the shelf; ready soonest; cheapest to buy.
    """
    options, rejected = [], []
    for material in _candidates(workshop, SILICONES, need.silicone):
        reason = _against_silicone(need, material, casting)
        option = reason or _tried(partial(_silicone_option, need, workshop, material))
        if isinstance(option, Option):
            options.append(option)
        else:
            rejected.append(Rejected(material_id=material.id, reason=option))
    options.sort(key=lambda o: (not o.fit.fits, not o.enough, o.ready_min, o.cost, o.material.id))
    return Judged(options=tuple(options), rejected=tuple(rejected))


def casting_options(need: PartNeed, workshop: Workshop, wanted: Hardness) -> Judged:
    """Casting materials that reach the wanted hardness, as they are or softened.

    Ranked: fits the pot life; enough on the shelf; without softener; nearest to the feel; soonest; cheapest.
    """
    materials = _candidates(workshop, CASTING_KINDS, need.casting)
    softeners = workshop.catalogue.of_kinds([Kind.SOFTENER])
    ways = ways_to_reach(wanted, materials=materials, softeners=softeners)
    reached = {way.material.id for way in ways}
    other_feel = [
        Rejected(material_id=material.id, reason=f"{hardness_of(material)} is not the feel of {wanted}.")
        for material in materials
        if material.id not in reached
    ]
    options, rejected = [], []
    for way in ways:
        reason = _against_casting(need, way.material)
        option = reason or _tried(partial(_casting_option, need, workshop, way))
        if isinstance(option, Option):
            options.append(option)
        else:
            rejected.append(Rejected(material_id=way.material.id, reason=option))
    options.sort(key=_casting_rank)
    return Judged(options=tuple(options), rejected=(*rejected, *other_feel))


def slower_than(option: Option, options: Sequence[Option]) -> tuple[Material, ...]:
    """Other materials that would do and leave more time to pour; the least slow first."""
    own_min = value_or(option.material, FigureName.POT_LIFE, 0.0)
    longer = {
        other.material.id: other.material
        for other in options
        if not other.softened and value_or(other.material, FigureName.POT_LIFE, 0.0) > LONGER_RATIO * own_min
    }
    return tuple(sorted(longer.values(), key=lambda m: (value_or(m, FigureName.POT_LIFE, 0.0), m.id)))


def slower_like(material: Material, catalogue: Catalogue) -> tuple[Material, ...]:
    """Materials of the same kind and about the same hardness that leave more time to pour; the least slow first."""
    wanted, own_min = hardness_of(material), value_or(material, FigureName.POT_LIFE, 0.0)
    if wanted is None:
        return ()
    ways = ways_to_reach(wanted, materials=catalogue.of_kinds([material.kind]), softeners=())
    longer = [w.material for w in ways if value_or(w.material, FigureName.POT_LIFE, 0.0) > LONGER_RATIO * own_min]
    return tuple(sorted(longer, key=lambda m: (value_or(m, FigureName.POT_LIFE, 0.0), m.id)))


def _casting_rank(option: Option) -> tuple[bool, bool, bool, float, float, float, str]:
    return (
        not option.fit.fits,
        not option.enough,
        option.softened,
        abs(option.off_points),
        option.ready_min,
        option.cost,
        option.material.id,
    )


def _tried(build: Callable[[], Option]) -> Option | str:
    """The option, or the problem that keeps it from being one."""
    try:
        return build()
    except WorkshopError as error:
        return error.problem


def _candidates(workshop: Workshop, kinds: Sequence[Kind], chosen: str | None) -> tuple[Material, ...]:
    if chosen is None:
        return workshop.catalogue.of_kinds(kinds)
    return (workshop.catalogue.get(chosen),)


def _against_silicone(need: PartNeed, material: Material, casting: Material | None) -> str | None:
    """Why this silicone will not do; None if nothing speaks against it."""
    if material.kind not in SILICONES:
        return f"It is a {material.kind.value}, no silicone for a mould."
    surface = judge(first=material.traits, second=need.surface_traits, contact=Contact.CURES_AGAINST)
    if surface.verdict is Verdict.REFUSED:
        return f"{surface.reason} {surface.remedy}"
    if casting is not None:
        against = judge(first=casting.traits, second=material.traits, contact=Contact.CURES_AGAINST)
        if against.verdict is Verdict.REFUSED:
            return f"{against.reason} {against.remedy}"
    most = value_or(material, FigureName.ELONGATION, DEFAULT_ELONGATION) / STRETCH_SAFETY
    if need.stretch_ratio > most:
        return f"The undercut stretches it by {need.stretch_ratio:.0%}; at most {most:.0%} are safe (an estimate)."
    return None


def _against_casting(need: PartNeed, material: Material) -> str | None:
    if material.kind not in CASTING_KINDS:
        return f"It is a {material.kind.value}, no casting material."
    if need.clear and "clear" not in material.traits:
        return "It is not clear."
    return None


def _silicone_option(need: PartNeed, workshop: Workshop, material: Material) -> Option:
    mixes = tuple(
        PlannedMix(what=piece, times=need.moulds, mix=_mixed(workshop, material, volume_ml, ()))
        for piece, volume_ml in need.pieces_ml.items()
    )
    largest_ml = max(planned.mix.volume_ml / planned.mix.batches for planned in mixes)
    pour = Pour(material=material, volume_ml=largest_ml, kit=workshop.kit)
    demould_min = mixes[0].mix.times.demould_min
    steps = _silicone_steps(need, material, demould_min)
    waits = sum(one.step.hands_min + one.step.wait_min for one in steps)
    lines = _lines(workshop, mixes)
    return Option(
        material=material,
        additives=(),
        mixes=mixes,
        steps=steps,
        pour=pour,
        fit=pour_fit(pour, temperature_c=workshop.temperature_c),
        lines=lines,
        ready_min=waits + need.serial_pours * demould_min,
        demould_min=demould_min,
        cost=_cost(lines),
    )


def _casting_option(need: PartNeed, workshop: Workshop, way: FeelWay) -> Option:
    additives = _additives(need, workshop, way)
    poured_ml = need.casting_ml * need.moulds
    mix = _mixed(workshop, way.material, poured_ml, additives)
    openings = ceil(need.moulds / mix.batches)
    pour = Pour(
        material=way.material,
        volume_ml=poured_ml / mix.batches,
        openings=openings,
        additives=additives,
        kit=workshop.kit,
        pour_min=None if need.pour_min is None else need.pour_min * openings,
    )
    steps = _paint_steps(need, workshop, way.material)
    mixes = (PlannedMix(what=f"round of {need.moulds}", times=rounds(need), mix=mix),)
    lines = _lines(workshop, mixes)
    return Option(
        material=way.material,
        additives=additives,
        mixes=mixes,
        steps=steps,
        pour=pour,
        fit=pour_fit(pour, temperature_c=workshop.temperature_c),
        lines=lines,
        ready_min=rounds(need) * mix.times.demould_min,
        demould_min=mix.times.demould_min,
        cost=_cost(lines),
        reached=way.reached,
        off_points=way.off_points,
        softened=way.softener is not None,
    )


def _mixed(workshop: Workshop, material: Material, volume_ml: float, additives: Sequence[Additive]) -> Mix:
    return mix_volume(
        material,
        volume_ml=volume_ml,
        temperature_c=workshop.temperature_c,
        additives=additives,
        kit=workshop.kit,
    )


def _additives(need: PartNeed, workshop: Workshop, way: FeelWay) -> tuple[Additive, ...]:
    additives = [] if way.softener is None else [way.softener]
    wished = ((way.material.colourant, need.colourant_ratio), (way.material.accelerator, need.accelerator_ratio))
    for additive_id, dose_ratio in wished:
        if additive_id is not None and dose_ratio > 0:
            additives.append(Additive(material=workshop.catalogue.get(additive_id), dose_ratio=dose_ratio))
    return tuple(additives)


def _silicone_steps(need: PartNeed, material: Material, demould_min: float) -> tuple[PlannedStep, ...]:
    surface = judge(first=material.traits, second=need.surface_traits, contact=Contact.CURES_AGAINST)
    steps = _planned(surface, before="silicone", demould_min=demould_min)
    if need.serial_pours > 1:
        itself = judge(first=material.traits, second=material.traits, contact=Contact.CURES_AGAINST)
        steps += _planned(itself, before="silicone on silicone", demould_min=demould_min)
    return steps


def casting_steps(need: PartNeed, casting: Material, silicone: Material) -> tuple[PlannedStep, ...]:
    """What must be done to the mould before the casting material goes in.

    Where the copies are painted later, release with silicone oil gives way to one that can be painted over.
    """
    verdict = judge(first=casting.traits, second=silicone.traits, contact=Contact.CURES_AGAINST)
    steps = _planned(verdict, before="casting", demould_min=0.0)
    if need.paint is None:
        return steps
    return tuple(replace(one, step=step(PAINTABLE)) if one.step.id == OILY else one for one in steps)


def _paint_steps(need: PartNeed, workshop: Workshop, casting: Material) -> tuple[PlannedStep, ...]:
    if need.paint is None:
        return ()
    paint = workshop.catalogue.get(need.paint)
    verdict = judge(first=casting.traits, second=paint.traits, contact=Contact.PAINTED_ON)
    if verdict.verdict is Verdict.REFUSED:
        raise BadRequest(verdict.reason, remedy=verdict.remedy)
    return _planned(verdict, before="paint", demould_min=0.0)


def _planned(verdict: Judgement, *, before: str, demould_min: float) -> tuple[PlannedStep, ...]:
    return tuple(
        PlannedStep(before=before, step=_timed(one, demould_min), reason=verdict.reason) for one in verdict.steps
    )


def _timed(one: Step, demould_min: float) -> Step:
    """The step with the demould time that it waits for, if it does."""
    return replace(one, wait=one.wait.scaled_to(demould_min)) if one.waits_for_demould else one


def needs_of(mixes: Sequence[PlannedMix]) -> dict[str, Amount]:
    """Grams of every material that these mixes use up, by id."""
    needs: dict[str, Amount] = {}
    for planned in mixes:
        mix = planned.mix
        amounts = [(mix.material.id, Amount(a_g=mix.part_a_g, b_g=mix.part_b_g))]
        amounts += [(additive.id, Amount(a_g=additive.mass_g)) for additive in mix.additives]
        for key, amount in amounts:
            whole = Amount(a_g=amount.a_g * planned.times, b_g=amount.b_g * planned.times)
            needs[key] = needs.get(key, Amount()) + whole
    return needs


def _lines(workshop: Workshop, mixes: Sequence[PlannedMix]) -> tuple[StockLine, ...]:
    return tuple(
        stock_line(workshop.stock, workshop.catalogue.get(key), need, today=workshop.today)
        for key, need in needs_of(mixes).items()
    )


def _cost(lines: Sequence[StockLine]) -> float:
    return sum(line.buy.cost or 0.0 for line in lines if line.buy is not None)


def at_temperature(option: Option, *, temperature_c: float, slower: Sequence[Material]) -> PourFit:
    """The option's pour in another room, with what would make it fit."""
    return pour_fit(option.pour, temperature_c=temperature_c, slower=slower)
