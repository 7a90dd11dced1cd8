"""The command that puts a whole job in order: what is done on which day."""

from datetime import datetime
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.job_opened import Processes, ShelfPath, opened
from firstpour.cli.order_shown import show_dates, show_drivers
from firstpour.cli.workshop_commands import WorkshopPath

if TYPE_CHECKING:
    from firstpour.files.schedule_entries import ScheduleEntry, TaskEntry
    from firstpour.pictures.route_chart import ChartKind


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("schedule")(schedule)


def schedule(
    job: Annotated[Path, typer.Argument(help="A job file (.toml) whose parts have a hardness.", show_default=False)],
    begin: Annotated[
        datetime | None,
        typer.Option(
            "--begin",
            formats=["%Y-%m-%d"],
            help="The day on which the work begins; without it that of the job, or tomorrow.",
        ),
    ] = None,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", help="Write the tasks that need you as a calendar file (.ics).")
    ] = None,
    chart: Annotated[
        Path | None, typer.Option("--chart", help="Draw the order of work as a picture (.svg or .png).")
    ] = None,
    shelf: ShelfPath = None,
    processes: Processes = None,
    workshop: WorkshopPath = None,
    as_json: Annotated[bool, show.JSON_OPTION] = False,
) -> None:
    """Put a whole job in order around your hours: what to do on which day, the first proof, the last copy."""
    from firstpour.plan import crew_of, get_ready, kept_folder, plan_by_route
    from firstpour.schedule.calendar_file import calendar_bytes
    from firstpour.schedule.chart import chart_bytes
    from firstpour.schedule.entries import schedule_entry
    from firstpour.schedule.hours_ahead import first_moment
    from firstpour.schedule.make import schedule_plan
    from firstpour.writing.whole import Over, write_whole

    kind = _chart_kind(chart)
    asked, here = opened(job, shelf=shelf, workshop=workshop)
    day = asked.first_day(here.today) if begin is None else begin.date()
    start = first_moment(day, asked.equipment.hours)
    with show.progress(asked.name) as told, crew_of(processes) as crew:
        get_ready(crew, told)
        plan = plan_by_route(asked, progress=told, workshop=here, crew=crew, kept=kept_folder())
        made = schedule_plan(plan, start=start, progress=told, workshop=here, kept=kept_folder())
    if calendar is not None:
        write_whole(
            calendar, calendar_bytes(made, name=asked.name, now=datetime.now().astimezone()), over=Over.ANYTHING
        )
    if chart is not None:
        write_whole(chart, chart_bytes(made, name=asked.name, kind=kind), over=Over.ANYTHING)
    failed = [one.finding for one in plan.failed]
    if as_json:
        show.print_json(schedule_entry(made))
    else:
        _show(schedule_entry(made))
        if calendar is not None:
            show.print_words(f"Calendar: {calendar}")
        if chart is not None:
            show.print_words(f"Chart: {chart}")
        show.print_findings([*failed, *made.findings])
    show.end([*failed, *made.findings])


def _chart_kind(chart: Path | None) -> "ChartKind":
    from firstpour.errors import BadRequest
    from firstpour.pictures.route_chart import ChartKind

    if chart is None:
        return ChartKind.SVG
    ending = chart.suffix.lower().removeprefix(".")
    if ending not in set(ChartKind):
        raise BadRequest(f"a chart cannot be written as {chart.name}", remedy="end its name in .svg or .png")
    return ChartKind(ending)


def _show(entry: "ScheduleEntry") -> None:
    show_dates(entry)
    show_drivers(entry)
    show.print_words("In brackets: what goes by itself.", style="dim")
    for day, tasks in groupby(entry.tasks, key=lambda one: one.start.date()):
        show.print_words(f"{day:%a %d %b %Y}", style="bold")
        for task in tasks:
            show.print_words(task_words(task), indent=2, style="" if task.hands else "dim")
    _show_options(entry)


def _show_options(entry: "ScheduleEntry") -> None:
    """What would buy time, side by side with the job as it stands; what buys none is only named."""
    from firstpour.sheets.order_words import MONEY_NOTE, OPTION_HEAD, no_sooner_words, option_rows

    if rows := option_rows(entry):
        show.print_table("What would buy time", OPTION_HEAD, rows)
        show.print_words(MONEY_NOTE, style="dim")
    if words := no_sooner_words(entry):
        show.print_words(words)


def task_words(task: "TaskEntry") -> str:
    """A line of a day: when and what; in brackets what goes by itself."""
    from firstpour.sheets.order_words import from_to_words

    words = f"{from_to_words(task)} {task.part}: {task.name}"
    return words if task.hands else f"({words})"
