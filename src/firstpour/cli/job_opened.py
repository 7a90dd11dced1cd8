"""A job file as a command opens it: with the workshop, the shelf and what is in stock."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli.numbers import limited
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.job.job import Job
    from firstpour.workshop.workshop import Workshop

ShelfPath = Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")]
Processes = Annotated[
    int | None,
    limited(1, 256, "Parts worked out at once; as many as there are cores if not given."),
]


def opened(
    job: Path, *, shelf: Path | None, workshop: Path | None, unit: LengthUnit = LengthUnit.MM
) -> "tuple[Job, Workshop]":
    """The job, and the workshop as it is today.

    Raises
    ------
    WorkshopError
        If a file or the folder of the shelf cannot be read.
    """
    from datetime import date

    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.job_toml import read_job
    from firstpour.files.places import existing_shelf
    from firstpour.files.workshop_toml import read_equipment
    from firstpour.stock.store import load_stock
    from firstpour.workshop.workshop import Workshop

    folder = existing_shelf(shelf)
    asked = read_job(job, unit=unit, equipment=read_equipment(workshop))
    here = Workshop(
        catalogue=load_catalogue(folder), stock=load_stock(folder), today=date.today(), equipment=asked.equipment
    )
    return asked, here
