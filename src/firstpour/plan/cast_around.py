"""What is said where one part is cast around a copy of another: bond, cure, and copies enough."""

from collections.abc import Mapping

from firstpour.choosing.choice import PartChoice
from firstpour.choosing.decisions import Decisions, Picked
from firstpour.job.job import PartRequest
from firstpour.materials.bonding import Bond, bonding
from firstpour.materials.compatibility import Contact, Verdict, judge
from firstpour.plan.values import PartPlan
from firstpour.values import Finding, Severity


def around_findings(one: PartPlan, parts: Mapping[str, PartPlan], decisions: Decisions | None) -> tuple[Finding, ...]:
    """The findings of a part that is cast around another; nothing for any other part."""
    core = one.request.around
    if core is None:
        return ()
    if core not in parts:
        return (_missing(core),)
    short = _short(one.request, parts[core].request, one.choice)
    outer, inner = _casting(one.request.name, decisions), _casting(core, decisions)
    if outer is None or inner is None:
        return short
    return (*_cure(outer, inner, core), _bond(outer, inner, core), *short)


def _casting(name: str, decisions: Decisions | None) -> Picked | None:
    decided = () if decisions is None else decisions.parts
    return next((one.casting for one in decided if one.name == name), None)


def _missing(core: str) -> Finding:
    return Finding(
        severity=Severity.ERROR,
        code="no-core",
        what=f"it is cast around {core}, which could not be planned",
        remedy=f"see what is said of {core} first",
    )


def _bond(outer: Picked, inner: Picked, core: str) -> Finding:
    """Whether the two hold on to each other."""
    found = bonding(outer=outer.material.traits, inner=inner.material.traits)
    bonds = found.bond is Bond.CHEMISTRY
    return Finding(
        severity=Severity.INFO if bonds else Severity.WARNING,
        code="bond",
        what=f"{outer.material.name} around {core} of {inner.material.name}: {found.bond}, for {found.reason}",
        remedy=found.remedy,
    )


def _cure(outer: Picked, inner: Picked, core: str) -> tuple[Finding, ...]:
    """Whether the outer one sets against the inner at all."""
    said = judge(first=outer.material.traits, second=inner.material.traits, contact=Contact.CURES_AGAINST)
    if said.verdict is not Verdict.REFUSED:
        return ()
    return (
        Finding(
            severity=Severity.ERROR,
            code="core-stops-cure",
            what=f"{outer.material.name} does not set against {core} of {inner.material.name}: {said.reason}",
            remedy=said.remedy,
        ),
    )


def _short(outer: PartRequest, inner: PartRequest, choice: PartChoice | None) -> tuple[Finding, ...]:
    """Whether spoiled shots are reckoned in."""
    if choice is None or choice.pours <= inner.copies:
        return ()
    return (
        Finding(
            severity=Severity.WARNING,
            code="cores-short",
            what=f"{choice.pours} shots are reckoned for {outer.copies} copies, spoiled ones with them, each around "
            f"a copy of {inner.name}, of which {inner.copies} are made",
            remedy=f"give {inner.name} copies = {choice.pours}",
        ),
    )
