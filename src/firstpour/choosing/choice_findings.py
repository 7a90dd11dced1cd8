"""What is bad news, or must be done first, in a choice of materials."""

from collections.abc import Sequence

from firstpour.choosing.choice import Chosen, PlannedPour
from firstpour.choosing.counts import fillings, rounds
from firstpour.choosing.decisions import Decision, Picked, Rejected
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import Trial
from firstpour.errors import WorkshopError
from firstpour.materials.compatibility import MouldLife
from firstpour.materials.tear import NICK_MM, SAFE_MARGIN, tear_margin
from firstpour.mixing.pour import margin_words
from firstpour.units import chance_words
from firstpour.values import Finding, Severity
from firstpour.workshop.workshop import Workshop


def missing_findings(need: PartNeed, decision: Decision) -> tuple[Finding, ...]:
    """No material will do: an error, with what speaks against the nearest."""
    found = []
    if decision.casting is None:
        found.append(
            _none_left(
                need,
                decision.castings_rejected,
                code="no-casting-material",
                what=f"No casting material will do for {need.hardness}.",
                remedy="ask for another hardness, or enter a material from its data sheet",
            )
        )
    if decision.silicone is None:
        found.append(
            _none_left(
                need,
                decision.silicones_rejected,
                code="no-silicone",
                what="No silicone will do for this mould.",
                remedy="Change what is named first, e.g. seal the master or print it by another process.",
            )
        )
    return tuple(found)


def failed_finding(need: PartNeed, picked: Picked, error: WorkshopError) -> Finding:
    """A material that was decided on does not do for the finished mould: an error."""
    return Finding(
        severity=Severity.ERROR,
        code="material-fails",
        what=f"{picked.material.name} was decided on, but with the finished mould: {error.problem}",
        remedy=error.remedy,
        where=need.name,
    )


def _none_left(need: PartNeed, rejected: Sequence[Rejected], *, code: str, what: str, remedy: str) -> Finding:
    reasons = "; ".join(f"{one.material_id}: {one.reason}" for one in rejected[:4])
    more = len(rejected) - 4
    tail = f" (and {more} more)" if more > 0 else ""
    shown = f"{what} {reasons}{tail}" if reasons else what
    remedy = next((one.remedy for one in rejected if one.remedy), remedy)
    return Finding(severity=Severity.ERROR, code=code, what=shown, remedy=remedy, where=need.name)


def clock_findings(need: PartNeed, chosen: Chosen | None, workshop: Workshop) -> tuple[Finding, ...]:
    """Pours that do not fit their pot life: a warning in this room, a note in the others."""
    if chosen is None:
        return ()
    return tuple(
        _too_short(need, chosen, planned, here=planned.fit.temperature_c == workshop.temperature_c)
        for planned in chosen.pours
        if not planned.fit.fits
    )


def _too_short(need: PartNeed, chosen: Chosen, planned: PlannedPour, *, here: bool) -> Finding:
    fit = planned.fit
    severity = Severity.WARNING if here else Severity.INFO
    if fit.times is None:
        return Finding(
            severity=severity,
            code="room-outside",
            what=f"{planned.what} at {fit.temperature_c:g} °C: {fit.problem}",
            remedy=fit.remedy or "Change the temperature of the room.",
            where=need.name,
        )
    best = fit.changes[0] if fit.changes else None
    remedy = "Nothing tried makes it fit: take a slower material." if best is None else best.text
    return Finding(
        severity=severity,
        code="pot-life-short",
        what=f"At {fit.temperature_c:g} °C, {planned.what}, {chosen.material.name}: {margin_words(fit)} "
        f"{chance_words(fit.chance)} to end in time.",
        remedy=remedy,
        where=need.name,
    )


def tear_findings(need: PartNeed, silicone: Chosen | None) -> tuple[Finding, ...]:
    """An undercut that leaves little tear strength over."""
    margin = None if silicone is None else tear_margin(silicone.material, stretch_ratio=need.stretch_ratio)
    if margin is None or margin >= SAFE_MARGIN:
        return ()
    return (
        Finding(
            severity=Severity.WARNING,
            code="undercut-tears",
            what=f"Opening stretches the mould by {need.stretch_ratio:.0%}; a nick of {NICK_MM:g} mm then takes "
            f"1/{margin:.1f} of its tear strength to run on (an estimate).",
            remedy="Round the lip of the undercut, make the wall thicker or cut a seam there, take a silicone of "
            "higher tear strength, and open slowly with soapy water.",
            where=need.name,
        ),
    )


def bubble_findings(need: PartNeed, silicone: Trial | None) -> tuple[Finding, ...]:
    """There is no vacuum for the silicone: say which bubbles stay, and how they are kept off the part."""
    if silicone is None or silicone.bubble_mm is None:
        return ()
    return (
        Finding(
            severity=Severity.WARNING if silicone.bubbly else Severity.INFO,
            code="no-vacuum",
            what=f"Without vacuum {silicone.material.name} keeps bubbles up to about {silicone.bubble_mm:.1f} mm.",
            remedy="Brush a thin face coat over the part first, then pour a thin stream from high up into the lowest "
            "corner, and let it rise by itself.",
            where=need.name,
        ),
    )


def wear_findings(need: PartNeed, life: MouldLife | None) -> tuple[Finding, ...]:
    """More shots than a mould gives."""
    each = rounds(need)
    if life is None or each <= life.low:
        return ()
    moulds = -(-fillings(need) // life.low)
    return (
        Finding(
            severity=Severity.WARNING,
            code="mould-wears-out",
            what=f"{each} shots a mould; with this pair a mould gives {life.low} to {life.high} (common practice).",
            remedy=f"Make {moulds} moulds, or keep silicone for another one.",
            where=need.name,
        ),
    )


def step_findings(need: PartNeed, silicone: Chosen | None, casting: Chosen | None) -> tuple[Finding, ...]:
    """The steps that keep the cure from being inhibited are said aloud."""
    found = []
    steps = [step for chosen in (silicone, casting) if chosen is not None for step in chosen.steps]
    for before in dict.fromkeys(step.before for step in steps):
        group = [step for step in steps if step.before == before]
        found.append(
            Finding(
                severity=Severity.INFO,
                code="step-first",
                what=f"Before {before}: {group[0].reason}",
                remedy=" ".join(step.step.instruction for step in group),
                where=need.name,
            )
        )
    return tuple(found)


def mix_findings(*chosen: Chosen | None) -> tuple[Finding, ...]:
    """What was found while working out the mixes."""
    return tuple(
        finding for one in chosen if one is not None for planned in one.mixes for finding in planned.mix.findings
    )
