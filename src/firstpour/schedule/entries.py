"""The schedule of a job as entries of JSON."""

from datetime import date, datetime

from pydantic import Field

from firstpour.files.entry import Entry, FindingEntry, finding_entries
from firstpour.schedule.make import JobSchedule


class TaskEntry(Entry):
    """One task on the workshop's clock."""

    id: str
    name: str
    part: str
    doing: str = Field(description="What kind of work: print, work, pour, wait, demould.")
    hands: bool = Field(description="Somebody is at it from its beginning to its end.")
    start: datetime
    end: datetime
    machines: list[str]
    text: str = Field(description="What is done; empty where the name says it.")


class OptionEntry(Entry):
    """The job done otherwise, both in order by the same rule."""

    name: str
    first_proof_at: datetime
    all_done_at: datetime
    sooner_days: float = Field(description="Against the job as it stands, put in order by the same rule.")
    hands_min: float


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
        description="With so many the rule meets the date; null without a date, or where more do not help."
    )
    tasks: list[TaskEntry]
    options: list[OptionEntry]
    findings: list[FindingEntry]


def schedule_entry(made: JobSchedule) -> ScheduleEntry:
    """The entry of a schedule, tasks in the order in which they begin."""
    return ScheduleEntry(
        start=made.start,
        due=made.due,
        first_proof_at=made.first_proof_at,
        all_done_at=made.all_done_at,
        proved=made.proved.value,
        gap_ratio=made.gap_ratio,
        visits=made.visits,
        hands_min=made.hands_min,
        moulds=dict(made.moulds),
        least_moulds=None if made.least_moulds is None else dict(made.least_moulds),
        tasks=[
            TaskEntry(
                id=one.task.id,
                name=one.task.name,
                part=one.task.part,
                doing=one.task.doing.value,
                hands=one.task.attended,
                start=one.start,
                end=one.end,
                machines=list(one.task.uses),
                text=one.task.text,
            )
            for one in made.tasks
        ],
        options=[OptionEntry.model_validate(one) for one in made.options],
        findings=finding_entries(made.findings),
    )
