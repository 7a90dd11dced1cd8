"""The route on the clock: every pour of a planned job against its pot life in a room of another temperature."""

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import ValidationError

from firstpour.files.material_entries import PlannedPourEntry, pour_keys
from firstpour.mixing.pour import pour_fit
from firstpour.plan.opened import opened
from firstpour.web.clock_entries import AllPouredEntry, ClockEntry, ClocksEntry, pour_from
from firstpour.web.job_folders import SHOWN, JobFolder
from firstpour.web.refusals import REFUSED, NotThere
from firstpour.web.serving import Opened, Served
from firstpour.web.shown import POURED_FILE

api = APIRouter(prefix="/api/jobs/{job_id}", responses=REFUSED, tags=["plan"])
COLDEST_C, WARMEST_C = 5.0, 40.0
"""Rooms in which somebody mixes: our own choice."""


@api.get("/clocks")
def clocks(
    folder: Opened, serving: Served, temperature_c: Annotated[float, Query(ge=COLDEST_C, le=WARMEST_C)]
) -> ClocksEntry:
    """Each pour of the plan, its work against the pot life, in a room of that temperature; nothing is chosen anew."""
    poured = _poured(folder)
    today = serving.clock().date()
    _, here = opened(folder.job_file, shelf=folder.shelf or serving.shelf, workshop=serving.workshop, today=today)
    told = []
    for one in poured.pours:
        pour = pour_from(one, here.catalogue, here.kit)
        slower = tuple(here.catalogue.get(name) for name in one.slower)
        fit = pour_fit(pour, temperature_c=temperature_c, slower=slower)
        entry = PlannedPourEntry.model_validate({**pour_keys(fit), "what": one.use})
        told.append(ClockEntry(part=one.part, use=one.use, material=pour.material.name, pour=entry))
    return ClocksEntry(temperature_c=temperature_c, clocks=told)


def _poured(folder: JobFolder) -> AllPouredEntry:
    """The pours of the plan.

    Raises
    ------
    NotThere
        If it was not planned, or by another version.
    """
    file = folder.path / SHOWN / POURED_FILE
    try:
        return AllPouredEntry.model_validate_json(file.read_bytes())
    except (OSError, ValidationError) as error:
        raise NotThere("the pours of this job are not worked out yet", remedy="plan the job") from error
