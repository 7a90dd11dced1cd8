"""What the bench is told besides its steps: clocks of one's own, photos, causes, worn moulds."""

from datetime import datetime
from typing import Annotated

from pydantic import Field

from firstpour.bench.doing import LONGEST_MIN
from firstpour.files.checked import Table
from firstpour.files.entry import Entry


class BenchClockWish(Table):
    """A clock of one's own."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    minutes: Annotated[float, Field(gt=0, le=LONGEST_MIN, allow_inf_nan=False)]


class BenchNewMouldWish(Table):
    """The mould that a new one replaces."""

    instead_of: Annotated[int, Field(ge=1, le=999)]


class BenchPhotoEntry(Entry):
    """A photo that was kept, with the step it belongs to."""

    file: str
    step: str
    at: datetime


class BenchPhotosEntry(Entry):
    """The photos of a session, the oldest first."""

    photos: list[BenchPhotoEntry]


class BenchReasonEntry(Entry):
    """What speaks for a cause (`ratio` above 1) or against it."""

    words: str
    ratio: float


class BenchCauseEntry(Entry):
    """A cause with its share of all, its reasons, and what to try next."""

    cause: str
    name: str
    share: float
    prior_share: float
    reasons_for: list[BenchReasonEntry]
    reasons_against: list[BenchReasonEntry]
    next_try: str


class BenchCausesEntry(Entry):
    """Causes of a spoiled copy, the likeliest first. Shares are estimates that rank what to try, no frequencies."""

    causes: list[BenchCauseEntry]


class BenchPartEntry(Entry):
    """Where the part of a session can be looked at: a job of this server, planned as the session has it."""

    job: str
    part: str = Field(description="Its key in the job.")
