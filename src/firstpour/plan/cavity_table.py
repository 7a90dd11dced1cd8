"""The table of cavities of a part that was planned: every number that fits, with its clock and its days."""

from dataclasses import replace

from firstpour.cavities.lay import Option
from firstpour.cavities.table import DAY_MIN, CavityRow, best_row, copies_a_day
from firstpour.choosing.counts import full_mixes, rounds
from firstpour.choosing.decisions import Decision
from firstpour.choosing.need import PartNeed
from firstpour.choosing.trial import Trial, casting_trial
from firstpour.errors import WorkshopError
from firstpour.fill.values import MadeAs
from firstpour.job.job import Job
from firstpour.materials.feel import wanted_hardness
from firstpour.materials.steps import step
from firstpour.mould.basin import gates_of
from firstpour.parting.values import MouldKind
from firstpour.plan.cavity_room import in_one_mix
from firstpour.plan.needs import minutes_left
from firstpour.plan.route_basis import need_in, own_mould, planned_of, with_cavities
from firstpour.plan.values import PartPlan
from firstpour.routes.cast import cast_routes
from firstpour.routes.outcome import Outcome, outcome
from firstpour.routes.routes import rates_of
from firstpour.routes.work import Presence
from firstpour.units import MM3_PER_ML
from firstpour.values import Finding, Severity
from firstpour.workshop.hours import Hours
from firstpour.workshop.workshop import Workshop

OTHER = "other-cavities"
"""Code of the finding that another number of cavities is better."""


def cavity_table(
    options: tuple[Option, ...],
    one: PartPlan,
    need: PartNeed | None,
    decision: Decision | None,
    workshop: Workshop | None,
    job: Job,
) -> tuple[CavityRow, ...]:
    """One row a number of cavities; `need` is that of the mould that was made.

    Its own row has the days and the money of the route that the plan follows. Those of the others are reckoned like
    them, prints by the plastic of the trays and silicone by the block: estimates of our own.
    """
    made = next(option for option in options if option.cavities == one.mould.cavities)
    rows: list[CavityRow] = []
    for option in options:
        trial, basin = _trial(one, need, decision, workshop, option.cavities)
        row = CavityRow(
            cavities=option.cavities,
            block_mm=option.block_mm,
            silicone_ml=option.silicone_ml,
            print_min=one.printing.print_min * option.print_ml / made.print_ml,
            waste_g=None,
            pour_min=None,
            rounds=None,
            copies_a_day=None,
            days=None,
            cost=None,
            in_one_mix=None,
            in_time=None,
            made=option is made,
            basin=basin,
        )
        if trial is not None and need is not None and workshop is not None:
            asked = replace(need, cavities=option.cavities, basin=basin)
            least_a_day = max((one.copies_a_day or 0.0 for one in rows), default=0.0)
            row = _timed(row, asked, trial, workshop, part_mm3=one.measures.volume_mm3, least_a_day=least_a_day)
            row = _told(row, _outcome(one, job, option, made, workshop, basin=basin), job, workshop)
        rows.append(row)
    return tuple(rows)


def _trial(
    one: PartPlan, need: PartNeed | None, decision: Decision | None, workshop: Workshop | None, count: int
) -> tuple[Trial | None, bool]:
    """The pour of so many cavities, and whether from one basin: asked for, or where one mix fills them only so."""
    if need is None or workshop is None or decision is None or decision.casting is None:
        return None, False
    picked, trial, basin = decision.casting, None, False
    for basin in _ways(one, count):
        asked = replace(need, cavities=count, basin=basin)
        try:
            trial = casting_trial(asked, workshop, picked.material, picked.additives)
        except WorkshopError:
            trial = None
        if trial is not None and in_one_mix(trial):
            return trial, basin
    return trial, basin


def _ways(one: PartPlan, count: int) -> tuple[bool, ...]:
    """Gates by themselves, or from one basin; the last is told of where none goes."""
    asked = one.request.basin
    if count == one.mould.cavities:
        return (one.mould.basin is not None,)
    if count == 1 or asked is False or not _may_have_basin(one):
        return (False,)
    return (True,) if asked else (False, True)


def _may_have_basin(one: PartPlan) -> bool:
    """Whether the gates leave straight along the draw; whether vents stand in the way is seen when it is made."""
    gates = gates_of(one.mould.channels)
    tried = any(finding.code == "basin-not-made" for finding in one.mould.findings)
    upright = all(gate.made_as is MadeAs.LOOSE_ROD for gate in gates)
    return one.mould.kind is MouldKind.TRAYS and bool(gates) and upright and not tried


def _timed(
    row: CavityRow, need: PartNeed, trial: Trial, workshop: Workshop, *, part_mm3: float, least_a_day: float
) -> CavityRow:
    """The row with its clock: what a round takes in hands and cure, and how many of them go into a day.

    `least_a_day` is what a smaller number gives: some cavities may be left empty.
    """
    mix = trial.mixes[0].mix
    at_once = need.cavities * need.moulds
    pour_min = trial.fit.work_min * mix.batches
    out = step("demould-copy").hands.likely_min * at_once
    hands_min = pour_min + out + need.moulds * step("close-mould").hands.likely_min
    a_day = copies_a_day(
        at_once, hands_min=hands_min, cure_min=trial.demould_min, open_min=_open_min(workshop.equipment.hours)
    )
    good_g = need.copies * part_mm3 / MM3_PER_ML * mix.density_g_ml
    return replace(
        row,
        waste_g=max(0.0, full_mixes(need) * mix.total_g - good_g),
        pour_min=pour_min,
        rounds=rounds(need),
        copies_a_day=max(a_day, least_a_day),
        in_one_mix=in_one_mix(trial),
    )


def _outcome(
    one: PartPlan, job: Job, option: Option, made: Option, workshop: Workshop, *, basin: bool
) -> Outcome | None:
    """The route of the plan with so many cavities; None where its materials make none."""
    choice = one.choice
    if choice is None or choice.silicone is None or choice.casting is None:
        return None
    silicone, casting = choice.silicone.material.id, choice.casting.material.id
    need = need_in(one, job, one.mould.kind)
    way = with_cavities(own_mould(one, replace(need, basin=basin, silicone=silicone, casting=casting)), option, made)
    found = cast_routes([way], wanted_hardness(need.hardness), workshop, planned=planned_of(one, way))
    recipe = next((recipe for recipe in found.recipes if recipe.planned), None)
    if recipe is None:
        return None
    presence = Presence.of(workshop.equipment.hours, begins=job.first_day(workshop.today))
    return outcome(recipe, need.copies, presence=presence, rates=rates_of(job))


def _told(row: CavityRow, found: Outcome | None, job: Job, workshop: Workshop) -> CavityRow:
    """The row with its days and its money, and whether it meets the date."""
    if found is None:
        return row
    left_min = minutes_left(job.due, today=job.first_day(workshop.today))
    in_time = None if left_min is None else found.days * DAY_MIN <= left_min
    return replace(row, days=found.days, cost=found.money, in_time=in_time)


def _open_min(hours: Hours) -> float:
    """Minutes from the first opening to the last closing of the shortest day on which somebody is there."""
    days = [windows[-1].end_min - windows[0].start_min for windows in hours.week.values() if windows]
    return float(min(days, default=0))


def table_findings(rows: tuple[CavityRow, ...]) -> tuple[Finding, ...]:
    """Say which number of cavities is the best for the date, where the mould has another."""
    best, made = best_row(rows), next((row for row in rows if row.made), None)
    if best is None or made is None or best.days is None or made.days is None:
        return ()
    if made.in_one_mix is False:
        return (_too_many(made), *_better(best, made))
    return _better(best, made)


def _too_many(made: CavityRow) -> Finding:
    return Finding(
        severity=Severity.WARNING,
        code="cavities-beyond-a-mix",
        what=f"one mix does not fill {made.cavities} cavities before it thickens",
        remedy="give basin = true, mix again between them, pour with another pair of hands, or give "
        'cavities = "most"',
    )


def _better(best: CavityRow, made: CavityRow) -> tuple[Finding, ...]:
    if best.made or best.days is None or made.days is None:
        return ()
    late = made.in_time is False and best.in_time is True
    why = "in time for the date" if best.in_time else "as soon" if best.days >= made.days else "sooner"
    return (
        Finding(
            severity=Severity.WARNING if late else Severity.INFO,
            code="other-cavities",
            what=f"with {made.cavities} cavities the last copy is there after about {made.days:.1f} days; with "
            f"{best.cavities} after {best.days:.1f}, {why}, for {best.silicone_ml:.0f} instead of "
            f"{made.silicone_ml:.0f} ml of silicone",
            remedy=f"give cavities = {best.cavities}, if that counts for more",
        ),
    )
