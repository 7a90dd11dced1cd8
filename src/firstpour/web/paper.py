"""plan.pdf of a job planned here: set from plan.json when it is first asked for, so that no changed wish waits."""

import os
from functools import lru_cache
from pathlib import Path

from pydantic import ValidationError

from firstpour.files.plan_json import PlanEntry
from firstpour.sheets.pdf import PLAN_PDF, plan_pdf
from firstpour.sheets.run_sheet import run_sheet
from firstpour.web.entries import Doing
from firstpour.web.job_folders import JobFolder

LAST_SET = 8
"""Papers held in memory, about half a megabyte each."""


def unwritten_paper(folder: JobFolder) -> bytes | None:
    """The paper of the plan that the job has now; None where it lies there written, or no plan of this version does.

    Raises
    ------
    CannotWrite
        If it cannot be set, say for a picture that is not there.
    """
    if os.path.lexists(folder.results / PLAN_PDF):
        return None
    try:
        return _set_from(folder.result_file(Doing.PLAN).read_bytes(), folder.results)
    except (FileNotFoundError, ValidationError):
        return None


@lru_cache(maxsize=LAST_SET)
def _set_from(plan: bytes, results: Path) -> bytes:
    return plan_pdf(run_sheet(PlanEntry.model_validate_json(plan)), folder=results)
