"""For every part of a job: which silicone, which casting material, why, how much, is it there, will it go."""

from collections.abc import Sequence
from dataclasses import replace

from firstpour.choosing.choice import Chosen, PartChoice, PartNeed, PlannedPour, PlannedStep, ShelfPlan
from firstpour.choosing.choice_findings import (
    clock_findings,
    missing_findings,
    mix_findings,
    step_findings,
    wear_findings,
)
from firstpour.choosing.options import (
    Judged,
    Option,
    at_temperature,
    casting_options,
    casting_steps,
    needs_of,
    rounds,
    shots,
    silicone_options,
    slower_than,
)
from firstpour.materials.cautions import Caution, cautions_for
from firstpour.materials.compatibility import MouldLife, mould_life
from firstpour.materials.feel import Hardness, Stiffness, stiffness_of, wanted_hardness
from firstpour.materials.figures import FigureName
from firstpour.stock.stock import Amount, StockLine, after_taking, stock_lines
from firstpour.units import chance_words
from firstpour.workshop.workshop import Workshop


def choose_materials(needs: Sequence[PartNeed], workshop: Workshop) -> ShelfPlan:
    """Choose silicone and casting material for every part and work out mixes, steps, stock and pours.

    Parts are served from the shelf in their order: what one uses up is not there for the next. `stock` of the answer
    holds one line a material for the whole job.

    Raises
    ------
    BadRequest
        If a part's hardness cannot be read.
    UnknownMaterial
        If a part names a material that is not known.
    """
    shelf, parts, needed = workshop, [], dict[str, Amount]()
    for need in needs:
        part = choose_for_part(need, shelf)
        parts.append(part)
        for key, amount in _needs(part).items():
            needed[key] = needed.get(key, Amount()) + amount
        shelf = _served(part, shelf)
    lines = stock_lines(workshop.stock, needed, catalogue=workshop.catalogue, today=workshop.today)
    findings = tuple(finding for line in lines for finding in line.findings)
    return ShelfPlan(parts=tuple(parts), stock=lines, findings=findings)


def choose_for_part(need: PartNeed, workshop: Workshop) -> PartChoice:
    """The same for one part alone.

    Raises
    ------
    BadRequest
        If its hardness cannot be read.
    UnknownMaterial
        If it names a material that is not known.
    """
    wanted = wanted_hardness(need.hardness)
    castings = casting_options(need, workshop, wanted)
    best_casting = next(iter(castings.options), None)
    silicones = silicone_options(need, workshop, casting=None if best_casting is None else best_casting.material)
    best_silicone = next(iter(silicones.options), None)
    casting = _chosen_casting(need, castings, best_casting, best_silicone, workshop)
    silicone = _chosen_silicone(silicones, best_silicone, workshop)
    reached = wanted if best_casting is None or best_casting.reached is None else best_casting.reached
    stiffness = _stiffness(need, reached)
    life = _life(best_casting, best_silicone)
    lines = _all_lines(best_silicone, best_casting)
    findings = (
        *missing_findings(need, castings, silicones),
        *clock_findings(need, silicone, workshop),
        *clock_findings(need, casting, workshop),
        *wear_findings(need, life),
        *step_findings(need, silicone, casting, workshop),
        *mix_findings(silicone, casting),
        *(finding for line in lines for finding in line.findings),
    )
    return PartChoice(
        name=need.name,
        silicone=silicone,
        casting=casting,
        hardness=reached,
        stiffness=stiffness,
        pours=shots(need),
        rounds=rounds(need),
        mould_life=life,
        stock=lines,
        findings=tuple(dict.fromkeys(findings)),
        cautions=_cautions(need, silicone, casting, workshop),
    )


def _chosen_silicone(judged: Judged, option: Option | None, workshop: Workshop) -> Chosen | None:
    if option is None:
        return None
    return _chosen(judged, option, workshop, steps=option.steps, what="silicone")


def _chosen_casting(
    need: PartNeed, judged: Judged, option: Option | None, silicone: Option | None, workshop: Workshop
) -> Chosen | None:
    if option is None:
        return None
    steps = () if silicone is None else casting_steps(need, option.material, silicone.material)
    return _chosen(judged, option, workshop, steps=steps + option.steps, what="casting")


def _chosen(
    judged: Judged, option: Option, workshop: Workshop, *, steps: tuple[PlannedStep, ...], what: str
) -> Chosen:
    slower = slower_than(option, judged.options)
    rooms_c = sorted({*workshop.other_rooms_c, workshop.temperature_c})
    pours = tuple(
        PlannedPour(what=what, fit=at_temperature(option, temperature_c=room_c, slower=slower)) for room_c in rooms_c
    )
    return Chosen(
        material=option.material,
        why=_why(option, judged),
        additives=option.additives,
        mixes=option.mixes,
        steps=steps,
        pours=pours,
        rejected=judged.rejected,
        demould_min=option.demould_min,
        ready_min=option.ready_min,
    )


def _why(option: Option, judged: Judged) -> tuple[str, ...]:
    reasons = []
    if option.reached is not None:
        softener = next((a for a in option.additives if a.material.kind.value == "softener"), None)
        with_what = "" if softener is None else f" with {softener.dose_ratio:.0%} {softener.material.name}"
        reasons.append(f"It reaches {option.reached}{with_what}.")
    reasons.append(
        f"The pour takes about {option.fit.work_min:.0f} min and ends inside the pot life "
        f"{chance_words(option.fit.chance)} of the time."
    )
    reasons.append(
        "The shelf has enough of it." if option.enough else "Not enough is on the shelf: some must be bought."
    )
    reasons.append(f"Ready after {_hours(option.ready_min)} of steps and cures.")
    others = len(judged.options) - 1
    if others:
        reasons.append(f"{others} more would do, {_next_best(option, judged.options[1])}")
    return tuple(reasons)


def _next_best(best: Option, second: Option) -> str:
    if best.fit.fits and not second.fit.fits:
        reason = "its pour does not fit its pot life"
    elif best.enough and not second.enough:
        reason = "there is not enough of it"
    elif abs(second.off_points) > abs(best.off_points):
        reason = "it is farther from the wanted feel"
    else:
        reason = f"ready after {_hours(second.ready_min)}"
    return f"the next {second.material.name}: {reason}."


def _hours(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.0f} h"


def _stiffness(need: PartNeed, hardness: Hardness) -> Stiffness | None:
    return stiffness_of(hardness, thickness_mm=need.thinnest_mm, length_mm=need.reach_mm, load_n=need.load_n)


def _life(casting: Option | None, silicone: Option | None) -> MouldLife | None:
    if casting is None or silicone is None:
        return None
    return mould_life(casting=casting.material.traits, silicone=silicone.material.traits)


def _all_lines(silicone: Option | None, casting: Option | None) -> tuple[StockLine, ...]:
    return (() if silicone is None else silicone.lines) + (() if casting is None else casting.lines)


def _cautions(
    need: PartNeed, silicone: Chosen | None, casting: Chosen | None, workshop: Workshop
) -> tuple[Caution, ...]:
    traits: set[str] = set(need.surface_traits)
    for chosen in (silicone, casting):
        if chosen is None:
            continue
        traits |= chosen.material.traits
        traits = traits.union(*(additive.material.traits for additive in chosen.additives))
        used = [step.step.uses for step in chosen.steps if step.step.uses is not None]
        traits = traits.union(*(workshop.catalogue.get(key).traits for key in used))
        if workshop.kit.vacuum and FigureName.DEGAS in chosen.material.figures:
            traits.add("vacuum")
    if workshop.kit.pressure:
        traits.add("pressure")
    return cautions_for(traits)


def _needs(part: PartChoice) -> dict[str, Amount]:
    mixes = [mix for chosen in (part.silicone, part.casting) if chosen is not None for mix in chosen.mixes]
    return needs_of(mixes)


def _served(part: PartChoice, workshop: Workshop) -> Workshop:
    stock = workshop.stock
    for key, amount in _needs(part).items():
        stock = after_taking(stock, workshop.catalogue.get(key), amount, today=workshop.today)
    return replace(workshop, stock=stock)
