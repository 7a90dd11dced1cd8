"""The use case: a job worked out, put in order and written, all of it or nothing."""

from pathlib import Path

from firstpour.files.results import results_folder
from firstpour.job.job import Job
from firstpour.plan.by_route import plan_by_route
from firstpour.plan.crew import Alone, Crew
from firstpour.plan.values import Progress
from firstpour.results.order import order_of, with_its_rounds
from firstpour.results.values import SavedPlan
from firstpour.results.write import write_results
from firstpour.sheets.pdf import write_plan_pdf
from firstpour.sheets.run_sheet import run_sheet
from firstpour.workshop.workshop import Workshop


def plan_into(
    job: Job,
    out: Path,
    *,
    progress: Progress,
    workshop: Workshop | None = None,
    crew: Crew | None = None,
    kept: Path | None = None,
    paper: bool = True,
) -> SavedPlan:
    """Work out the job and write it into `out`: all of it or nothing. The folder is tried before the work begins.

    Without `paper` plan.pdf is left to be set from what is written, when it is asked for.

    Raises
    ------
    CannotWrite
        If `out` cannot be written or holds something that is not ours.
    WorkshopError
        As `plan_by_date`.
    """
    with results_folder(out) as folder:
        plan = plan_by_route(job, progress=progress, workshop=workshop, crew=crew, kept=kept)
        order = order_of(plan, workshop, progress=progress, kept=kept)
        plan = with_its_rounds(plan, order)
        today = None if workshop is None else workshop.today
        entry = write_results(plan, order, folder, today=today, progress=progress, crew=crew or Alone(), kept=kept)
        if paper:
            write_plan_pdf(folder, run_sheet(entry))
        return SavedPlan(plan=plan, order=order, entry=entry)
