"""What must be done before a pour or before painting: the steps that the rules ask for on this surface."""

from dataclasses import replace

from firstpour.choosing.choice import PlannedStep
from firstpour.choosing.need import PartNeed
from firstpour.choosing.setting_in import insert_steps
from firstpour.errors import BadRequest
from firstpour.materials.catalogue import Catalogue
from firstpour.materials.compatibility import Contact, Judgement, Verdict, judge
from firstpour.materials.material import Material
from firstpour.materials.steps import On, Step, step
from firstpour.mixing.bench_kit import BenchKit

OILY, PAINTABLE = "release-mould", "release-paintable"
POT_CURE = "pot-cure"
SILICONE_CURES = "the silicone cures"
"""What `before` says of a step that is done to the mould while it sets."""
UNDER_PRESSURE = "sets under pressure"
"""The trait of a casting material that sets in a pressure pot."""


def check_surface(need: PartNeed, silicone: Material) -> None:
    """Refuse a silicone that the finished surface of the master stops.

    Raises
    ------
    BadRequest
        If a rule refuses it.
    """
    verdict = judge(first=silicone.traits, second=need.surface_traits, contact=Contact.CURES_AGAINST)
    if verdict.verdict is Verdict.REFUSED:
        raise BadRequest(verdict.reason, remedy=verdict.remedy)


def silicone_steps(need: PartNeed, material: Material, demould_min: float) -> tuple[PlannedStep, ...]:
    """What must be done to the master, and to the first half, before this silicone is poured."""
    surface = judge(first=material.traits, second=need.surface_traits, contact=Contact.CURES_AGAINST)
    steps = _planned(surface, before="silicone", demould_min=demould_min)
    if need.serial_pours > 1:
        itself = judge(first=material.traits, second=material.traits, contact=Contact.CURES_AGAINST)
        steps += _planned(itself, before="silicone on silicone", demould_min=demould_min)
    return steps


def casting_steps(need: PartNeed, casting: Material, silicone: Material, kit: BenchKit) -> tuple[PlannedStep, ...]:
    """What must be done to the mould before the casting material goes in.

    Where the copies are painted later, release with silicone oil gives way to one that can be painted over. A copy
    that sets in the pressure pot asks the mould for more, and so do inserts.
    """
    traits = casting.traits | ({UNDER_PRESSURE} if kit.pressure else set())
    verdict = judge(first=traits, second=silicone.traits, contact=Contact.CURES_AGAINST)
    steps = tuple(_as_it_cures(one) for one in _planned(verdict, before="casting", demould_min=0.0))
    steps += insert_steps(need)
    if need.paint is None:
        return steps
    return tuple(replace(one, step=step(PAINTABLE)) if one.step.id == OILY else one for one in steps)


def _as_it_cures(one: PlannedStep) -> PlannedStep:
    """The step told for the time at which it is due: a mould cures under pressure, or it never did."""
    return replace(one, before=SILICONE_CURES) if one.step.id == POT_CURE else one


def paint_steps(need: PartNeed, catalogue: Catalogue, casting: Material) -> tuple[PlannedStep, ...]:
    """What must be done to the copy before and while it is painted.

    Raises
    ------
    BadRequest
        If the paint will not hold.
    """
    if need.paint is None:
        return ()
    paint = catalogue.get(need.paint)
    verdict = judge(first=casting.traits, second=paint.traits, contact=Contact.PAINTED_ON)
    if verdict.verdict is Verdict.REFUSED:
        raise BadRequest(verdict.reason, remedy=verdict.remedy)
    planned = _planned(verdict, before="paint", demould_min=0.0)
    return tuple(replace(one, step=_with_paint(one.step, paint)) for one in planned)


def _with_paint(one: Step, paint: Material) -> Step:
    """The step with the paint of the job, if it is the painting itself."""
    return replace(one, uses=paint.id) if one.on is On.COPY and one.uses_g_dm2 > 0 else one


def _planned(verdict: Judgement, *, before: str, demould_min: float) -> tuple[PlannedStep, ...]:
    return tuple(
        PlannedStep(before=before, step=_timed(one, demould_min), reason=verdict.reason) for one in verdict.steps
    )


def _timed(one: Step, demould_min: float) -> Step:
    """The step with the demould time that it waits for, if it does."""
    return replace(one, wait=one.wait.scaled_to(demould_min)) if one.waits_for_demould else one
