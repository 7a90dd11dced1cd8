"""Where the bench keeps things, and the plans that are kept there, each as it was made."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firstpour.bench.read import OlderPlan, plan_of
from firstpour.errors import BadRequest
from firstpour.files.results import PLAN_FILE
from firstpour.materials.catalogue import Catalogue
from firstpour.store.opening import changing, reading
from firstpour.store.place import StorePlace
from firstpour.store.plans import KeptPlan, keep, plans_kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where things are kept, and the materials that are known."""

    store: StorePlace
    catalogue: Catalogue


def keep_plan(bench: Bench, plan_file: Path, *, at: datetime) -> int:
    """Keep a written plan (its plan.json, or the folder of it) in the store, and return its number.

    It is kept with a SHA-256 of each part file it was made from, where these still are. The same plan is kept once.

    Raises
    ------
    BadRequest
        If there is no plan there, or one that this version cannot read.
    """
    file = plan_file / PLAN_FILE if plan_file.is_dir() else plan_file
    try:
        content = file.read_text(encoding="utf-8")
        plan = plan_of(content)
    except (OSError, ValueError, OlderPlan) as error:
        why = getattr(error, "strerror", None) or "it is no plan of this version"
        raise BadRequest(
            f"{file} cannot be kept: {why}.", remedy="Plan the job anew, and name its folder."
        ) from error
    sources = sorted({part.source for part in plan.parts if part.source is not None})
    made_from = {name: sha256_of(Path(name)) for name in sources if Path(name).is_file()}
    with changing(bench.store) as connection:
        return keep(
            connection,
            job=plan.job.name,
            due=None if plan.job.due is None else plan.job.due.isoformat(),
            content=content,
            made_from=made_from,
            made_by=plan.made_by,
            folder=str(file.parent.resolve()),
            at=at,
        )


def kept_plans(bench: Bench) -> tuple[KeptPlan, ...]:
    """Every plan that is kept, the oldest first."""
    with reading(bench.store) as connection:
        return () if connection is None else plans_kept(connection)


def sha256_of(file: Path) -> str:
    """The SHA-256 of a file, in hex."""
    return hashlib.sha256(file.read_bytes()).hexdigest()
