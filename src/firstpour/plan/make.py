"""The straight way: from a job to a plan, each stage's result kept as it was."""

from dataclasses import replace
from pathlib import Path

from firstpour.errors import WorkshopError
from firstpour.files.results import results_folder
from firstpour.fill.flow import Flow
from firstpour.job.job import Job
from firstpour.plan.flowing import flow_of
from firstpour.plan.materials import check_names, choose_for_job
from firstpour.plan.part_stages import plan_part
from firstpour.plan.values import STAGES, Plan, Progress, SavedPlan
from firstpour.plan.write import write_results
from firstpour.workshop.workshop import Workshop


def make_plan(job: Job, *, progress: Progress, workshop: Workshop | None = None) -> Plan:
    """Work out every part of the job, and from the `workshop`'s shelf the materials for them.

    Raises
    ------
    WorkshopError
        If a part cannot be used or no valid mould comes out; its problem names the part.
    """
    if workshop is not None:
        check_names(job, workshop)
    parts = []
    for number, request in enumerate(job.parts):
        try:
            parts.append(plan_part(request, job, done=number * STAGES, progress=progress))
        except WorkshopError as error:
            error.problem = error.problem if len(job.parts) == 1 else f"{request.name}: {error.problem}"
            raise
    shelf = None if workshop is None else choose_for_job(job, parts, workshop)
    plan = Plan(job=job, parts=tuple(parts), shelf=shelf)
    return replace(plan, flows=_flows(plan))


def _flows(plan: Plan) -> dict[str, Flow]:
    """The flow of each part's pour, by its name, where its material is known."""
    choices = [(one, plan.choice_of(one.part.name)) for one in plan.parts]
    flows = {
        one.part.name: flow_of(one, choice, temperature_c=plan.job.temperature_c)
        for one, choice in choices
        if choice is not None
    }
    return {name: flow for name, flow in flows.items() if flow is not None}


def plan_into(job: Job, out: Path, *, progress: Progress, workshop: Workshop | None = None) -> SavedPlan:
    """Work out the job and write it into `out`: all of it or nothing. The folder is tried before the work begins.

    Raises
    ------
    CannotWrite
        If `out` cannot be written or holds something that is not ours.
    WorkshopError
        As `make_plan`.
    """
    with results_folder(out) as folder:
        plan = make_plan(job, progress=progress, workshop=workshop)
        return SavedPlan(plan=plan, entry=write_results(plan, folder, progress=progress))
