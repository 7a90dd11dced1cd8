"""What the bench is sent and what it answers."""

from datetime import datetime
from typing import Annotated

from pydantic import Field

from firstpour.bench.clocks import ClockState
from firstpour.bench.defects import DefectKind, Place
from firstpour.bench.steps import StepKind
from firstpour.bench.weighing import Verdict
from firstpour.files.checked import Table
from firstpour.files.entry import Entry, FindingEntry
from firstpour.store.runs import ClockKind

Grams = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
StepId = Annotated[str, Field(min_length=1, max_length=200)]
Note = Annotated[str, Field(max_length=500)]


class BenchClockEntry(Entry):
    """A clock by the server's absolute times; `left_s` is below 0 once it is over."""

    id: int
    kind: ClockKind
    name: str
    started_at: datetime
    ends_at: datetime
    warn_at: datetime | None
    left_s: float
    state: ClockState


class BenchMouldEntry(Entry):
    """A mould with the shots it has given, and how many it is reckoned to last."""

    number: int
    shots: int
    good: int
    life_low_shots: int | None
    life_high_shots: int | None
    in_use: bool


class BenchWeighEntry(Entry):
    """What goes on the scale, and how far B may lie off its ratio to A."""

    material_id: str
    name: str
    a_g: float
    b_g: float
    additives_g: dict[str, float]
    tolerance_ratio: float
    scale_step_g: float


class BenchStepEntry(Entry):
    """What to do now."""

    id: str
    kind: StepKind
    title: str
    items: list[str]
    cautions: list[str]
    weigh: BenchWeighEntry | None
    waits_for: list[str] = Field(description="Names of the clocks that must have ended before it is done.")
    mould: int | None


class BenchDatesEntry(Entry):
    """The last copy of the whole job, put in order anew after what was just said."""

    job: str
    before: datetime | None = Field(description="As it was told last, at first by the plan.")
    all_done_at: datetime | None = Field(description="Null where it cannot be worked out.")
    first_proof_at: datetime | None = Field(description="The next proof of a mould; null where each is proved.")
    rounds: int = Field(description="Rounds or plates of this part, those that are done counted in.")
    not_known: str = Field(description="Why there is no date; empty where there is one.")


class BenchSessionEntry(Entry):
    """A session as it stands at `now`."""

    now: datetime = Field(description="The server's clock.")
    session: str = Field(description="How it is called in addresses.")
    job: str
    part: str
    copies: int
    good: int
    spoiled: int
    round: int
    stage: str
    step: BenchStepEntry | None = Field(description="None once all copies are there.")
    step_number: int
    steps_in_stage: int
    next_title: str | None
    clocks: list[BenchClockEntry]
    moulds: list[BenchMouldEntry]
    entries: int = Field(description="How much was logged; the last of it can be taken back.")
    findings: list[FindingEntry]
    done: bool
    dates: BenchDatesEntry | None = Field(default=None, description="Told after an outcome, and after taking back.")
    defect_kinds: list[DefectKind] = Field(description="What may be wrong with a copy.")
    defect_places: list[Place] = Field(description="Where it may sit.")


class BenchLineEntry(Entry):
    """A session in the list."""

    session: str
    job: str
    part: str
    begun_at: datetime
    stage: str
    next: str
    good: int
    copies: int
    done: bool


class BenchSessionsEntry(Entry):
    """The sessions that are not done, the oldest first."""

    now: datetime
    sessions: list[BenchLineEntry]
    findings: list[FindingEntry] = Field(description="Sessions whose plan this version does not read.")


class BenchWeighedEntry(Entry):
    """A weighing judged, and how the session then stands."""

    verdict: Verdict
    add_g: float
    ratio_error_ratio: float
    advice: list[str]
    findings: list[FindingEntry] = Field(description="Where the shelf holds less than was weighed.")
    session: BenchSessionEntry


class BenchBeginWish(Table):
    """A part of the job's plan to begin with, by its key."""

    part: Annotated[str, Field(min_length=1, max_length=200)]
    moulds: Annotated[int, Field(ge=1, le=99)] | None = None
    temperature_c: Annotated[float, Field(ge=-20, le=60)] | None = None


class BenchDoneWish(Table):
    """The step that is done: refused where the session has moved on meanwhile."""

    step: StepId
    note: Note = ""


class BenchWeighWish(Table):
    """What the scale showed."""

    step: StepId
    a_g: Grams
    b_g: Grams = 0.0


class BenchDefect(Table):
    """One defect of a copy and its place."""

    kind: DefectKind
    place: Place = Place.ANYWHERE


class BenchOutcomeWish(Table):
    """What came out of the mould; good without a defect."""

    step: StepId
    defects: Annotated[tuple[BenchDefect, ...], Field(max_length=13)] = ()
    note: Note = ""
