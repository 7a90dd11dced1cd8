"""The schedule as a chart in time."""

from firstpour.pictures.gantt_chart import Bar, Marks, gantt_chart
from firstpour.pictures.route_chart import ChartKind
from firstpour.schedule.make import JobSchedule
from firstpour.schedule.values import Doing


def chart_bytes(made: JobSchedule, *, name: str, kind: ChartKind) -> bytes:
    """The chart of a job named `name`: rows part by part, in the order of the work."""
    place = {task.id: number for number, task in enumerate(made.network.tasks)}
    ordered = sorted(made.tasks, key=lambda one: place[one.task.id])
    bars = [
        Bar(
            row=f"{one.task.part}, {one.task.lane}",
            start=one.start,
            end=one.end,
            hands=one.task.attended,
            printing=one.task.doing is Doing.PRINT,
        )
        for one in ordered
    ]
    marks = Marks(first_proof_at=made.first_proof_at, all_done_at=made.all_done_at, due=made.due)
    return gantt_chart(name, bars, marks, kind)
