"""The schedule of a job as entries of JSON."""

from datetime import date, datetime

from pydantic import Field

from firstpour.files.entry import Entry, FindingEntry
from firstpour.workshop.hours import Weekday

CHART_FILE = "pictures/order-of-work.svg"
"""The order of work as a picture beside plan.json."""


class TaskEntry(Entry):
    """One task on the workshop's clock, with all that it takes to put what is left in order again."""

    id: str
    name: str
    part: str
    doing: str = Field(description="What kind of work: print, work, pour, wait, demould.")
    hands: bool = Field(description="Somebody is at it from its beginning to its end.")
    watched: bool = Field(description="It goes by itself while somebody is there.")
    start: datetime
    end: datetime
    minutes: float
    low_min: float | None = Field(description="The shortest; null where its length is known.")
    high_min: float | None
    after: list[str] = Field(description="It begins when these have ended, or later.")
    at_once: str | None = Field(description="It begins the moment that this ends.")
    machines: list[str]
    lane: str = Field(description="What it belongs to within its part: prints, surface, mould 1, casting, finish.")
    good_copies: int = Field(description="Copies that come out of the mould with it, spoiled ones not taken off.")
    text: str = Field(description="What is done; empty where the name says it.")


class HoldEntry(Entry):
    """A machine that is taken from the start of one task to the end of another."""

    machine: str
    first: str | None = Field(description="Null: from the beginning on.")
    last: str


class OptionEntry(Entry):
    """The job done otherwise, against the job as it stands."""

    name: str
    first_proof_at: datetime
    all_done_at: datetime
    sooner_days: float
    hands_min: float = Field(description="In all.")
    money: float | None = Field(description="More money for materials; null where a price is not known.")
    proved: str = Field(description="How far it is known to be the best: optimal, within the gap, by rule.")
    note: str = Field(
        default="", description="What else changes, such as rounds of a part on one day; empty: nothing."
    )


class DriverEntry(Entry):
    """What moves the date."""

    what: str
    correlation: float = Field(description="Rank correlation with the end of the last copy.")
    worst_against_best_days: float = Field(description="Between the worst and the best tenth of the runs.")


class RiskEntry(Entry):
    """How sure the date is: the job worked by the rule so many times."""

    runs: int
    p50_at: datetime = Field(description="Half of the runs had ended by then.")
    p90_at: datetime = Field(description="Nine of ten had.")
    chance_ratio: float | None = Field(description="Runs that met the date; null without one.")
    drivers: list[DriverEntry]


class HoursEntry(Entry):
    """When somebody is in the workshop, as the order of work reckons."""

    week: dict[Weekday, list[str]] = Field(description="Stretches of each day, such as 09:00-17:00.")
    days_off: list[date]
    time_zone: str | None = Field(description="Null: the clock of the computer.")


class ScheduleEntry(Entry):
    """The order of work of a job."""

    start: datetime
    due: date | None
    first_proof_at: datetime
    all_done_at: datetime
    proved: str = Field(description="How far it is known to be the best: optimal, within the gap, by rule.")
    gap_ratio: float = Field(description="How far the last copy may lie above the best possible; 0 when optimal.")
    visits: int = Field(description="Times that somebody comes to the bench.")
    hands_min: float
    moulds: dict[str, int]
    least_moulds: dict[str, int] | None = Field(
        description="With so many the date is met; null without a date, or where more do not help."
    )
    risk: RiskEntry
    tasks: list[TaskEntry]
    holds: list[HoldEntry]
    proofs: list[str] = Field(description="Tasks after which one sees whether a mould is good.")
    options: list[OptionEntry]
    hours: HoursEntry | None = Field(default=None, description="Null in older plans.")
    findings: list[FindingEntry]
