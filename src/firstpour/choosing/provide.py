"""What the materials decided on come to: quantities, mixes, steps, the clock, stock and what to buy."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from firstpour.choosing.choice import Chosen, PartChoice, PlannedPour, ShelfPlan
from firstpour.choosing.choice_findings import (
    bubble_findings,
    clock_findings,
    failed_finding,
    missing_findings,
    mix_findings,
    step_findings,
    tear_findings,
    wear_findings,
)
from firstpour.choosing.counts import rounds_of, shots
from firstpour.choosing.decisions import Decision, Decisions, Picked, Rejected
from firstpour.choosing.filling import MOST_AT_ONCE, moulds_in_one_mix
from firstpour.choosing.need import PartNeed
from firstpour.choosing.preparing import SILICONE_CURES, casting_steps, check_surface
from firstpour.choosing.setting_in import insert_supplies
from firstpour.choosing.supplies import step_amounts, supplies_of
from firstpour.choosing.traits import work_traits
from firstpour.choosing.trial import Trial, casting_trial, needs_of, silicone_trial
from firstpour.errors import WorkshopError
from firstpour.materials.cautions import cautions_for
from firstpour.materials.compatibility import MouldLife, mould_life
from firstpour.materials.feel import Hardness, Stiffness, stiffness_of
from firstpour.materials.material import Kind
from firstpour.materials.steps import time_words
from firstpour.materials.tear import NICK_MM, tear_margin
from firstpour.mixing.pour import margin_words, pour_fit
from firstpour.stock.stock import Amount, after_taking, stock_lines
from firstpour.units import chance_words
from firstpour.values import Finding
from firstpour.workshop.workshop import Workshop

SURE = 0.99
"""Above, the margin says enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Worked:
    """The two trials of a part with its final volumes, and what kept either from coming out."""

    silicone: Trial | None
    casting: Trial | None
    findings: tuple[Finding, ...]


def provide_materials(needs: Sequence[PartNeed], decisions: Decisions, workshop: Workshop) -> ShelfPlan:
    """Work out mixes, steps, pours and stock for materials that are decided on; nothing is decided anew.

    Parts are served from the shelf in their order: what one uses up is not there for the next. `stock` of the answer
    holds one line a material for the whole job.

    Raises
    ------
    BadRequest
        If nothing was decided for a part.
    """
    shelf, parts, needed = workshop, [], dict[str, Amount]()
    for need in needs:
        part = _provided(need, decisions.of(need.name), shelf)
        parts.append(part)
        for key, amount in part.uses.items():
            needed[key] = needed.get(key, Amount()) + amount
        shelf = _served(part, shelf)
    lines = stock_lines(workshop.stock, needed, catalogue=workshop.catalogue, today=workshop.today)
    findings = tuple(finding for line in lines for finding in line.findings)
    mixes = [mix for part in parts for chosen in part.chosen for mix in chosen.mixes]
    supplies = supplies_of(mixes, frozenset().union(*(part.traits for part in parts))) + insert_supplies(needs)
    return ShelfPlan(parts=tuple(parts), stock=lines, supplies=supplies, findings=findings)


def _provided(need: PartNeed, decision: Decision, workshop: Workshop) -> PartChoice:
    worked = _worked(need, decision, workshop)
    silicone = _chosen(
        decision.silicone, worked.silicone, workshop, what="silicone", rejected=decision.silicones_rejected
    )
    casting = _chosen(decision.casting, worked.casting, workshop, what="casting", rejected=decision.castings_rejected)
    if silicone is not None and casting is not None:
        mould = casting_steps(need, casting.material, silicone.material, workshop.kit)
        curing = tuple(one for one in mould if one.before == SILICONE_CURES)
        silicone = replace(silicone, steps=silicone.steps + curing)
        casting = replace(casting, steps=tuple(one for one in mould if one not in curing) + casting.steps)
    if casting is not None:
        at_once = moulds_in_one_mix(need, workshop, casting.material, casting.additives, most=MOST_AT_ONCE)
        casting = replace(casting, at_once=at_once)
    life = _life(worked)
    chosen = tuple(one for one in (silicone, casting) if one is not None)
    traits = work_traits(need, chosen, workshop)
    uses = step_amounts(need, chosen) | needs_of([mix for one in chosen for mix in one.mixes])
    lines = stock_lines(workshop.stock, uses, catalogue=workshop.catalogue, today=workshop.today)
    findings = (
        *missing_findings(need, decision),
        *worked.findings,
        *clock_findings(need, silicone, workshop),
        *clock_findings(need, casting, workshop),
        *tear_findings(need, silicone),
        *bubble_findings(need, worked.silicone),
        *wear_findings(need, life),
        *step_findings(need, silicone, casting),
        *mix_findings(silicone, casting),
        *(finding for line in lines for finding in line.findings),
    )
    margin = None if silicone is None else tear_margin(silicone.material, stretch_ratio=need.stretch_ratio)
    if silicone is not None and margin is not None:
        silicone = replace(silicone, why=(*silicone.why, _tear_words(need, margin)))
    return PartChoice(
        name=need.name,
        silicone=silicone,
        casting=casting,
        hardness=decision.hardness,
        stiffness=_stiffness(need, decision.hardness),
        pours=shots(need),
        round_copies=rounds_of(need),
        mould_life=life,
        surface=need.surface_traits,
        uses=uses,
        stock=lines,
        traits=traits,
        findings=tuple(dict.fromkeys(findings)),
        cautions=cautions_for(traits),
        seen_good=need.seen_good,
        seen_shots=need.seen_shots,
    )


def _worked(need: PartNeed, decision: Decision, workshop: Workshop) -> _Worked:
    """Both materials with the final volumes and the final surface; what no longer goes is said, not replaced."""
    findings: list[Finding] = []
    silicone = casting = None
    if decision.casting is not None:
        picked = decision.casting
        try:
            casting = casting_trial(need, workshop, picked.material, picked.additives)
        except WorkshopError as error:
            findings.append(failed_finding(need, picked, error))
    if decision.silicone is not None:
        picked = decision.silicone
        cast = None if decision.casting is None else decision.casting.material
        try:
            check_surface(need, picked.material)
            silicone = silicone_trial(need, workshop, picked.material, casting=cast)
        except WorkshopError as error:
            findings.append(failed_finding(need, picked, error))
    return _Worked(silicone=silicone, casting=casting, findings=tuple(findings))


def _chosen(
    picked: Picked | None, trial: Trial | None, workshop: Workshop, rejected: tuple[Rejected, ...], *, what: str
) -> Chosen | None:
    if picked is None or trial is None:
        return None
    rooms_c = sorted({*workshop.other_rooms_c, workshop.temperature_c})
    pours = tuple(
        PlannedPour(what=what, fit=pour_fit(trial.pour, temperature_c=room_c, slower=picked.slower))
        for room_c in rooms_c
    )
    return Chosen(
        material=trial.material,
        why=_why(picked, trial),
        additives=trial.additives,
        mixes=trial.mixes,
        steps=trial.steps,
        pours=pours,
        rejected=rejected,
        demould_min=trial.demould_min,
        ready_min=trial.ready_min,
        pour=trial.pour,
        slower=picked.slower,
    )


def _why(picked: Picked, trial: Trial) -> tuple[str, ...]:
    reasons = []
    if picked.reached is not None:
        softener = next((a for a in picked.additives if a.material.kind is Kind.SOFTENER), None)
        with_what = "" if softener is None else f" with {softener.dose_ratio:.0%} {softener.material.name}"
        reasons.append(f"It reaches {picked.reached}{with_what}.")
    sure = trial.fit.chance > SURE
    words = chance_words(trial.fit.chance)
    chance = "" if sure else f" {words[0].upper()}{words[1:]} of such pours end in time (an estimate)."
    reasons.append(margin_words(trial.fit) + chance)
    reasons.append(
        "The shelf has enough of it." if trial.enough else "Not enough is on the shelf: some must be bought."
    )
    reasons.append(f"Ready after {time_words(trial.ready_min)} of steps and cures.")
    return tuple(reasons) + ((picked.others,) if picked.others else ())


def _tear_words(need: PartNeed, margin: float) -> str:
    times = "over 20" if margin > 20 else f"{margin:.1f}"
    return (
        f"Opening stretches it by {need.stretch_ratio:.0%}: {times} times the tear strength that a nick of "
        f"{NICK_MM:g} mm "
        "takes to run on (an estimate)."
    )


def _stiffness(need: PartNeed, hardness: Hardness) -> Stiffness | None:
    return stiffness_of(hardness, thickness_mm=need.thinnest_mm, length_mm=need.reach_mm, load_n=need.load_n)


def _life(worked: _Worked) -> MouldLife | None:
    if worked.casting is None or worked.silicone is None:
        return None
    return mould_life(casting=worked.casting.material.traits, silicone=worked.silicone.material.traits)


def _served(part: PartChoice, workshop: Workshop) -> Workshop:
    stock = workshop.stock
    for key, amount in part.uses.items():
        stock = after_taking(stock, workshop.catalogue.get(key), amount, today=workshop.today)
    return replace(workshop, stock=stock)
