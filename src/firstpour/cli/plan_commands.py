"""Commands on a whole job: the plan, the demo and its sample parts."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.job_opened import Processes, ShelfPath, opened
from firstpour.cli.numbers import limited
from firstpour.cli.plan_shown import results_words, show_plan
from firstpour.cli.workshop_commands import WorkshopPath
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.job.job import Job
    from firstpour.workshop.workshop import Workshop

AsJson = Annotated[bool, show.JSON_OPTION]
Details = Annotated[bool, typer.Option("--details", help="Show every table, not only what one plans by.")]


def register(app: typer.Typer) -> None:
    """Attach the commands."""
    app.command("plan")(plan)
    app.command("demo")(demo)
    app.command("samples")(samples)


def plan(
    job: Annotated[Path, typer.Argument(help="A job file (.toml), or a bare part file.", show_default=False)],
    out: Annotated[Path, typer.Option(help="The folder for the results.", show_default=False)],
    units: Annotated[LengthUnit, typer.Option(help="Unit of a bare part file.")] = LengthUnit.MM,
    shelf: ShelfPath = None,
    processes: Processes = None,
    details: Details = False,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """Work out the whole job and write what is needed to do it."""
    asked, here = opened(job, shelf=shelf, workshop=workshop, unit=units)
    _plan_and_show(asked, out, here, processes=processes, shown=show.Shown.of(as_json, details))


def demo(
    out: Annotated[Path, typer.Option(help="The folder for the results.")] = Path("tide-pool"),
    processes: Processes = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Plan the tide pool of a children's museum: four parts, soft and hard."""
    from firstpour.demo.tide_pool import tide_pool_job
    from firstpour.files.catalogue import load_catalogue
    from firstpour.stock.demo_stock import demo_stock
    from firstpour.workshop.workshop import Workshop

    job, today = tide_pool_job(), date.today()
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=job.begin or today), today=today)
    _plan_and_show(job, out, workshop, processes=processes, shown=show.Shown.of(as_json, details))


def samples(
    out: Annotated[Path, typer.Option(help="The folder for the parts.")] = Path("examples/tide-pool"),
    faces: Annotated[int, limited(5000, 2_000_000, "About how many faces each part has.")] = 20_000,
    as_json: AsJson = False,
) -> None:
    """Write the four parts of the tide pool as STL files, with a job file for them."""
    from firstpour.demo.tide_pool import write_samples

    written = write_samples(out, faces=faces)
    if as_json:
        show.print_json({"files": written})
        return
    for file in written:
        show.print_words(str(file))


def _plan_and_show(job: "Job", out: Path, workshop: "Workshop", *, processes: int | None, shown: show.Shown) -> None:
    from firstpour.plan import crew_of, get_ready, kept_folder
    from firstpour.results import plan_into

    with show.progress(job.name) as told, crew_of(processes) as crew:
        get_ready(crew, told)
        saved = plan_into(job, out, progress=told, workshop=workshop, crew=crew, kept=kept_folder())
    if shown is show.Shown.JSON:
        show.print_json(saved.entry)
    else:
        show_plan(saved.entry, shown)
        show.print_words(f"Results are in {out}: {results_words(saved.entry)}.")
    show.end(saved.findings)
