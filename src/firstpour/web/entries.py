"""What the routes are sent and what they answer, besides what plan.json and the commands' JSON hold already."""

from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from firstpour.cavities.values import MOST_CAVITIES
from firstpour.files.checked import Day, Flag, Name, Share, Table
from firstpour.files.checked import Vector as GivenVector
from firstpour.files.entry import Entry, Vector
from firstpour.files.job_tables import Count, MaterialId, Rate
from firstpour.files.workshop_tables import Celsius
from firstpour.job.job import Making, Preference
from firstpour.parting.values import MouldKind
from firstpour.printing.printers import Process
from firstpour.units import LengthUnit
from firstpour.web.refusals import ErrorEntry

MOST_FACES_MARKED = 2_000_000
Feel = Annotated[str, Field(min_length=1, max_length=40)]
FaceNumber = Annotated[int, Field(ge=0, lt=2**31)]
Places = Annotated[tuple[GivenVector, ...], Field(max_length=20)]


class Doing(StrEnum):
    """What a run works out."""

    PLAN = "plan"
    ROUTES = "routes"
    SCHEDULE = "schedule"


class RunState(StrEnum):
    """How far a run is."""

    IDLE = "idle"
    QUEUED = "queued"
    WORKING = "working"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


class AboutEntry(Entry):
    """The server and what it holds."""

    version: str
    jobs: int = Field(description="How many jobs there are; with none the page shows how to begin.")
    paired: bool = Field(description="Whether this device may use the rest; else it pairs at /pair.")
    this_machine: bool = Field(description="The browser runs on the machine of the server.")
    lan: bool = Field(description="Other devices can be let in.")
    now: datetime = Field(description="The server's clock: every timer counts from it.")
    part_kinds: list[str] = Field(description="Endings of part files that are read.")
    largest_upload_bytes: int


class ResultEntry(Entry):
    """Something worked out for a job."""

    there: bool
    current: bool = Field(description="Nothing that was asked has changed since.")
    at: datetime | None


class AskedPartEntry(Entry):
    """One part as asked for; null where Firstpour chooses."""

    key: str = Field(description="Names the part in addresses and in file names.")
    name: str
    source: str | None = Field(description="Its file; null for a sample part.")
    unit: LengthUnit
    copies: int
    hardness: str | None
    kind: MouldKind | None
    process: Process | None
    route: Making | None
    print_in: str | None = Field(description="What the copies are printed in, where they are printed directly.")
    silicone: str | None
    casting: str | None
    paint: str | None
    clear: bool
    moulds: int
    cavities: int | Literal["most", "date"]
    colourant_ratio: float
    accelerator_ratio: float
    silicone_accelerator_ratio: float
    draw: Vector | None
    up: Vector | None
    gates_mm: list[Vector]
    vents_mm: list[Vector]
    marks: int = Field(description="How many rules mark its faces.")
    chosen_route: str | None = Field(description="The route that was chosen for it here and can be taken back.")


class OpenJobEntry(Entry):
    """A job with what was asked and how far it is."""

    id: str
    name: str
    begin: date | None = Field(description="The day on which the work begins; null: tomorrow.")
    due: date | None
    prefer: Preference | None
    hands_per_h: float | None
    printer_per_h: float | None
    temperature_c: float
    changed_at: datetime
    own_shelf: bool = Field(description="It is planned from a shelf of its own, as the demo is.")
    parts: list[AskedPartEntry]
    plan: ResultEntry
    routes: ResultEntry
    schedule: ResultEntry
    state: RunState


class ListedJobEntry(Entry):
    """A line of the list of jobs; `problem` tells of one that cannot be opened."""

    id: str
    name: str
    due: date | None
    parts: int
    copies: int
    changed_at: datetime
    planned: bool
    state: RunState
    problem: ErrorEntry | None = None


class JobsEntry(Entry):
    """All jobs, the last changed first."""

    jobs: list[ListedJobEntry]


class PartWishes(Table):
    """Changes of one part; null takes a wish back, what is not given stays."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Name | None = None
    units: LengthUnit | None = None
    copies: Count | None = None
    hardness: Feel | None = None
    kind: MouldKind | None = None
    process: Process | None = None
    route: Making | None = None
    print_in: MaterialId | None = None
    silicone: MaterialId | None = None
    casting: MaterialId | None = None
    paint: MaterialId | None = None
    clear: Flag | None = None
    moulds: Annotated[int, Field(ge=1, le=100)] | None = None
    cavities: Annotated[int, Field(ge=1, le=MOST_CAVITIES)] | Literal["most", "date"] | None = None
    colourant_ratio: Share | None = None
    accelerator_ratio: Share | None = None
    silicone_accelerator_ratio: Share | None = None
    draw: GivenVector | None = None
    up: GivenVector | None = None
    gates_mm: Places | None = None
    vents_mm: Places | None = None


class JobWishes(Table):
    """Changes of a job; null takes a wish back, what is not given stays. `parts`: by key."""

    name: Name | None = None
    begin: Day | None = None
    due: Day | None = None
    prefer: Preference | None = None
    hands_per_h: Rate | None = None
    printer_per_h: Rate | None = None
    temperature_c: Celsius | None = None
    parts: dict[str, PartWishes] = Field(default_factory=dict, max_length=200)


class MarksWish(Table):
    """The faces that show, are hidden, are kept clear, numbered as in the mesh that was sent. A later list wins."""

    show: Annotated[tuple[FaceNumber, ...], Field(max_length=MOST_FACES_MARKED)] = ()
    hidden: Annotated[tuple[FaceNumber, ...], Field(max_length=MOST_FACES_MARKED)] = ()
    keep_clear: Annotated[tuple[FaceNumber, ...], Field(max_length=MOST_FACES_MARKED)] = ()


class RouteWish(Table):
    """The route that a part shall take, by its name among the routes of the job."""

    route: Annotated[str, Field(min_length=1, max_length=400)]


class PartProgressEntry(Entry):
    """How far one part is."""

    key: str
    name: str
    done: list[str] = Field(description="Stages that are done, in words.")
    failed: str | None = Field(description="Why it is left out.")


class ProgressEntry(Entry):
    """How far the work on a job is: all of it each time, so that nothing is lost when an event is."""

    run: int = Field(description="Counts the runs of the server; 0 where nothing was started.")
    doing: Doing | None
    state: RunState
    ahead: int = Field(description="Runs of other jobs that go first.")
    done: int
    total: int
    words: str = Field(description="What is being done now.")
    parts: list[PartProgressEntry]
    error: ErrorEntry | None


class StartEntry(Entry):
    """Something was begun; the progress tells when it is done."""

    run: int
    doing: Doing


class ScheduleWish(Table):
    """From which day on to put the job in order; tomorrow without it."""

    begin: Day | None = None


class FileEntry(Entry):
    """A file to take away."""

    path: str
    bytes: int


class FilesEntry(Entry):
    """The files of a job's results."""

    files: list[FileEntry]
