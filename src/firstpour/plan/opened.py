"""A job file opened for work: with the workshop, the shelf and what is in stock."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from firstpour.files.catalogue import load_catalogue
from firstpour.files.job_toml import read_job
from firstpour.files.places import existing_shelf, store_place
from firstpour.files.workshop_toml import read_equipment
from firstpour.job.job import Job
from firstpour.store.learned import learned_in
from firstpour.store.stock_rows import load_stock
from firstpour.units import LengthUnit
from firstpour.workshop.measured_here import as_measured, as_seen
from firstpour.workshop.workshop import Workshop


def opened(
    job: Path, *, shelf: Path | None, workshop: Path | None, today: date, unit: LengthUnit = LengthUnit.MM
) -> tuple[Job, Workshop]:
    """The job, and the workshop as it is today.

    Raises
    ------
    WorkshopError
        If a file or the folder of the shelf cannot be read.
    """
    folder = existing_shelf(shelf)
    asked = read_job(job, unit=unit, equipment=read_equipment(workshop))
    place = store_place(folder)
    learned = learned_in(place)
    asked = replace(asked, equipment=as_seen(asked.equipment, learned))
    here = Workshop(
        catalogue=as_measured(load_catalogue(folder), learned),
        stock=load_stock(place),
        learned=learned,
        today=today,
        equipment=asked.equipment,
    )
    return asked, here
