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
    """The job, and the workshop as it is today: `plan.opened`."""
    from datetime import date

    from firstpour.plan.opened import opened as opened_on

    return opened_on(job, shelf=shelf, workshop=workshop, today=date.today(), unit=unit)
