"""The straight way: from a job to a plan, each stage once, its result handed on."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from firstpour.choosing.choice import PartChoice, ShelfPlan
from firstpour.choosing.decide import decide_materials
from firstpour.choosing.decisions import Decision, Decisions
from firstpour.choosing.need import PartNeed
from firstpour.choosing.provide import provide_materials
from firstpour.choosing.trial import Trial, casting_trial, silicone_trial
from firstpour.errors import UnknownMaterial, WorkshopError
from firstpour.job.job import Job, PartRequest
from firstpour.plan.cast_around import around_findings
from firstpour.plan.cavity_room import Room, cavity_room
from firstpour.plan.cavity_table import cavity_table, table_findings
from firstpour.plan.crew import Alone, Crew
from firstpour.plan.flowing import flow_of, flow_of_all
from firstpour.plan.kept import open_kept
from firstpour.plan.look import Looked
from firstpour.plan.needs import minutes_left, need_of, sized_by_block, sized_by_mould
from firstpour.plan.poured import Poured, poured_of
from firstpour.plan.tasks import Task, done, look_task, work_out_task
from firstpour.plan.values import FailedPart, PartPlan, Plan, Progress
from firstpour.plan.work_out import WorkedOut
from firstpour.store.learned import Learned, MadeAs
from firstpour.workshop.workshop import Workshop

STEPS = 3
"""Steps of each part: looked at, worked out, written."""
Made = TypeVar("Made")


def make_plan(
    job: Job,
    *,
    progress: Progress,
    workshop: Workshop | None = None,
    crew: Crew | None = None,
    kept: Path | None = None,
) -> Plan:
    """Work out every part of the job, and from the `workshop`'s shelf the materials for them.

    A part that fails is told in the plan and the rest goes on. `kept` is the folder of results worked out before.

    Raises
    ------
    WorkshopError
        If no part at all can be planned, or a material that the job names is not known.
    """
    crew = crew or Alone()
    if workshop is not None:
        # what is out of date when the work begins is not in stock
        workshop = replace(workshop, equipment=job.equipment, today=job.begin or workshop.today)
        check_names(job, workshop)
    told = _Told(job, progress, crew, kept)
    looks = told.tasks(job.parts, lambda one: look_task(one, job.settings))
    looked = told.stage("read, measured, draw chosen", looks)
    learned = Learned() if workshop is None else workshop.learned
    first = _first_needs(
        job,
        looked,
        due_min=None if workshop is None else minutes_left(job.due, today=workshop.today),
        learned=learned,
    )
    decisions = None if workshop is None or not first else decide_materials(list(first.values()), workshop)
    poured = {one.name: _poured(one, first.get(one.name), decisions, workshop) for one in job.parts}
    going = [one for one in job.parts if one.name in looked]
    names = {task.part: task.name for task in looks}
    rooms = {one.name: _room(one, first.get(one.name), decisions, workshop) for one in going}
    works = told.tasks(
        going,
        lambda one: work_out_task(
            looked[one.name],
            names[one.name],
            one,
            job.settings,
            poured[one.name].materials,
            job.equipment.printers,
            poured[one.name].mix,
            rooms[one.name],
        ),
    )
    worked = told.stage("mould worked out", works)
    names = {task.part: task.name for task in works}
    parts = [
        _part_plan(one, looked[one.name], worked[one.name], poured[one.name], names[one.name])
        for one in going
        if one.name in worked
    ]
    if not parts:
        raise _all_failed(_in_order(told.failed, job))
    parts = [replace(one, seen=learned.seen(_made(one, decisions))) for one in parts]
    needs = _last_needs(parts, looked)
    shelf = _provide(needs, decisions, workshop)
    parts = [replace(one, choice=_choice(shelf, one.request.name)) for one in parts]
    parts = [_compared(one, worked[one.request.name], needs, decisions, workshop, job) for one in parts]
    known = {one.request.name: one for one in parts}
    parts = [replace(one, said=(*one.said, *around_findings(one, known, decisions))) for one in parts]
    return Plan(job=job, parts=tuple(parts), failed=_in_order(told.failed, job), shelf=shelf, learned=learned)


def check_names(job: Job, workshop: Workshop) -> None:
    """See that the shelf knows every material that the job names, before any work begins.

    Raises
    ------
    UnknownMaterial
        If it does not; the problem names the part.
    """
    for request in job.parts:
        for material_id in (request.silicone, request.casting, request.paint, request.print_in):
            if material_id is None:
                continue
            try:
                workshop.catalogue.get(material_id)
            except UnknownMaterial as error:
                error.problem = f"{request.name}: {error.problem}"
                raise


class _Told:
    """Runs a stage over the parts, tells how far it is, and collects what failed."""

    def __init__(self, job: Job, progress: Progress, crew: Crew, kept: Path | None) -> None:
        self._progress, self._done, self._total = progress, 0, STEPS * len(job.parts)
        self._crew, self._folder, self._kept = crew, kept, open_kept(kept)
        self.failed: list[FailedPart] = []

    def tasks(
        self, parts: Sequence[PartRequest], make: Callable[[PartRequest], Task[Made]]
    ) -> tuple[Task[Made], ...]:
        """A task for each part; one that cannot even begin has failed."""
        tasks = []
        for one in parts:
            try:
                tasks.append(make(one))
            except WorkshopError as error:
                self._fail(FailedPart.told(one.name, error))
        return tuple(tasks)

    def stage(self, what: str, tasks: Sequence[Task[Made]]) -> dict[str, Made]:
        """What came of each task that did not fail, by the name of its part: kept from before, or worked out."""
        made: dict[str, Made] = {}
        self._progress(self._done, self._total, ", ".join(task.part for task in tasks))
        for task in tasks:
            found = self._kept.get(task.name)
            if found is not None:
                made[task.part] = found
                self._step(f"{task.part}: {what}")
        left = [task for task in tasks if task.part not in made]
        for number, result in self._crew.run(done, [(task, self._folder) for task in left]):
            if isinstance(result, FailedPart):
                self._fail(result)
            else:
                made[left[number].part] = result
                self._step(f"{left[number].part}: {what}")
        return {task.part: made[task.part] for task in tasks if task.part in made}

    def _fail(self, failed: FailedPart) -> None:
        self.failed.append(failed)
        self._step(f"{failed.name} is left out: {failed.problem}")

    def _step(self, doing: str) -> None:
        self._done += 1
        self._progress(self._done, self._total, doing)


def _first_needs(
    job: Job, looked: Mapping[str, Looked], *, due_min: float | None, learned: Learned
) -> dict[str, PartNeed]:
    """What every part whose hardness is given needs, by its name, with volumes reckoned by its block."""
    return {
        one.name: need_of(
            looked[one.name],
            one,
            sized_by_block(looked[one.name], job.settings),
            due_min=due_min,
            seen=learned.seen(MadeAs(part=one.name)),
        )
        for one in job.parts
        if one.name in looked and one.hardness is not None
    }


def _decision(need: PartNeed | None, decisions: Decisions | None) -> Decision | None:
    """What was decided for a part's need; None where nothing was."""
    return None if need is None or decisions is None else decisions.of(need.name)


def _poured(
    request: PartRequest, need: PartNeed | None, decisions: Decisions | None, workshop: Workshop | None
) -> Poured:
    """The materials of one part as its mould sees them."""
    decision = _decision(need, decisions)
    casting: Trial | None = None
    silicone: Trial | None = None
    if need is not None and workshop is not None and decision is not None:
        if decision.casting is not None:
            casting = casting_trial(need, workshop, decision.casting.material, decision.casting.additives)
        if decision.silicone is not None:
            silicone = silicone_trial(need, workshop, decision.silicone.material, casting=None)
    return poured_of(request, decision, casting, silicone)


def _provide(
    needs: Mapping[str, PartNeed], decisions: Decisions | None, workshop: Workshop | None
) -> ShelfPlan | None:
    """Quantities, clock and stock of the materials decided on."""
    if decisions is None or workshop is None:
        return None
    return provide_materials(list(needs.values()), decisions, workshop) if needs else None


def _last_needs(parts: Sequence[PartPlan], looked: Mapping[str, Looked]) -> dict[str, PartNeed]:
    """What every part whose hardness is given needs, with the mould's volumes and the gate's minutes."""
    return {
        one.request.name: need_of(
            looked[one.request.name],
            one.request,
            sized_by_mould(one.mould),
            master=one.printing.printer.process,
            master_steps=one.printing.steps,
            pour_min=None if one.flow is None or one.flow.fill_s is None else one.flow.fill_s / 60.0,
            seen=one.seen,
        )
        for one in parts
        if one.request.hardness is not None
    }


def _made(one: PartPlan, decisions: Decisions | None) -> MadeAs:
    """How the copies of a part will be made."""
    decided = None if decisions is None or one.request.hardness is None else decisions.of(one.request.name)
    casting = None if decided is None or decided.casting is None else decided.casting.material
    return MadeAs(part=one.request.name, way=one.mould.kind.value, material=None if casting is None else casting.id)


def _room(
    request: PartRequest, need: PartNeed | None, decisions: Decisions | None, workshop: Workshop | None
) -> Room:
    """How many cavities the materials decided on allow, and how they are filled."""
    decision = _decision(need, decisions)
    return cavity_room(request, need, decision, workshop)


def _compared(
    one: PartPlan,
    worked: WorkedOut,
    needs: Mapping[str, PartNeed],
    decisions: Decisions | None,
    workshop: Workshop | None,
    job: Job,
) -> PartPlan:
    """The part with the table of its cavities, where it has several."""
    if not worked.cavity_options or one.request.cavities == 1:
        return one
    need = needs.get(one.request.name)
    rows = cavity_table(worked.cavity_options, one, need, _decision(need, decisions), workshop, job)
    return replace(one, cavities=rows, said=(*one.said, *table_findings(rows)))


def _part_plan(request: PartRequest, looked: Looked, worked: WorkedOut, poured: Poured, name: str) -> PartPlan:
    looked = worked.laid or looked
    flow = flow_of_all(worked.members, poured) if worked.members else flow_of(looked.part, worked.fill, poured)
    cast_bubble_mm = None if flow is None else flow.smallest_left_mm
    *silicones, cast = worked.pours
    pours = [replace(one, bubble_mm=poured.silicone_bubble_mm) for one in silicones]
    return PartPlan(
        request=request,
        part=looked.part,
        measures=looked.measures,
        draws=looked.draws,
        fill=worked.fill,
        flow=flow,
        mould=worked.mould,
        pours=(*pours, replace(cast, bubble_mm=cast_bubble_mm)),
        printing=worked.printing,
        inserts=worked.inserts,
        members=worked.members,
        cavity_options=worked.cavity_options,
        choice=None,
        worked_name=name,
        said=poured.findings,
    )


def _choice(shelf: ShelfPlan | None, name: str) -> PartChoice | None:
    """What the shelf chose for the part of that name."""
    choices: Iterator[PartChoice] = iter(shelf.parts if shelf is not None else ())
    return next((choice for choice in choices if choice.name == name), None)


def _in_order(failed: Sequence[FailedPart], job: Job) -> tuple[FailedPart, ...]:
    """What failed in the order of the parts, whenever it did."""
    order = [one.name for one in job.parts]
    return tuple(sorted(failed, key=lambda one: order.index(one.name)))


def _all_failed(failed: Sequence[FailedPart]) -> WorkshopError:
    """Nothing was planned: the failure of the only part, or of each."""
    told = failed[0].problem if len(failed) == 1 else "; ".join(f"{one.name}: {one.problem}" for one in failed)
    error = WorkshopError(told, remedy="; ".join(dict.fromkeys(one.remedy for one in failed)))
    error.code = failed[0].code
    return error
