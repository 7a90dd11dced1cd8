"""The command that sets the ways to make the copies side by side."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.job_opened import Processes, ShelfPath, opened
from firstpour.cli.show import duration_words
from firstpour.cli.workshop_commands import WorkshopPath

if TYPE_CHECKING:
    from firstpour.files.route_entries import PartRoutesEntry, RouteEntry
    from firstpour.job.job import Job
    from firstpour.routes.routes import PartRoutes
    from firstpour.workshop.workshop import Workshop

MOST_REFUSED = 8
"""Refusals shown of a part without the details."""
MARKS = {
    "*": "*: no other route is as good in everything and better in something",
    "P": "P: the plan's own",
    "e": "e: its mould is not worked out, an estimate",
}
"""What the marks behind a route's number mean."""


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("route")(route)


def route(
    job: Annotated[Path, typer.Argument(help="A job file (.toml) whose parts have a hardness.", show_default=False)],
    charts: Annotated[
        Path | None, typer.Option(help="Folder for a chart of each part, money and days against copies: SVG and PNG.")
    ] = None,
    shelf: ShelfPath = None,
    processes: Processes = None,
    details: Annotated[
        bool,
        typer.Option("--details", help="Every route that nothing beats; the handful with terms; every refusal."),
    ] = False,
    workshop: WorkshopPath = None,
    as_json: Annotated[bool, show.JSON_OPTION] = False,
) -> None:
    """Set every way to make the copies side by side: printed, or cast in one mould or another."""
    from firstpour.files.route_entries import routes_entry
    from firstpour.plan import crew_of, get_ready, kept_folder, plan_by_date
    from firstpour.plan.route_basis import routes_of

    asked, here = opened(job, shelf=shelf, workshop=workshop)
    with show.progress(asked.name) as told, crew_of(processes) as crew:
        get_ready(crew, told)
        plan = plan_by_date(asked, progress=told, workshop=here, crew=crew, kept=kept_folder())
        told(1, 1, "routes")
        parts = routes_of(plan, here, kept=kept_folder())
        written = () if charts is None else _write_charts(charts, parts, asked, here)
    entry = routes_entry(parts)
    if as_json:
        show.print_json(entry)
    else:
        for part in entry.parts:
            _show_part(part, details=details)
        for path in written:
            show.print_words(f"Chart: {path}")
    failed = [one.finding for one in plan.failed]
    if not as_json:
        show.print_findings(failed)
    show.end(failed)


def _write_charts(
    folder: Path, parts: "tuple[PartRoutes, ...]", job: "Job", workshop: "Workshop"
) -> tuple[Path, ...]:
    """Charts of all parts, written whole; give the files."""
    from firstpour.pictures.route_chart import MOST_DRAWN, ChartKind, route_chart
    from firstpour.routes.routes import curves_of, rates_of
    from firstpour.writing.whole import Over, write_all_whole

    files = {}
    for part in parts:
        if not part.routes:
            continue
        curves = curves_of(part, workshop, rates=rates_of(job), counts=range(1, MOST_DRAWN + 1))
        for kind in ChartKind:
            name = f"{part.name.replace(' ', '-')}-routes.{kind.value}"
            files[folder / name] = route_chart(part, curves, kind)
    write_all_whole(files, over=Over.ANYTHING)
    return tuple(files)


def _show_part(part: "PartRoutesEntry", *, details: bool) -> None:
    copies = "one copy" if part.copies == 1 else f"{part.copies} copies"
    show.print_words(f"{part.name}: {copies}, {part.hardness}", style="bold")
    if not part.routes:
        show.print_words("No route is left: see the refusals.", style="bold red")
    telling = [one for one in part.routes if one.telling]
    shown = part.routes if details else telling
    columns = ["route", "money", "hands", "proof", "days", "chance"]
    rows = [_row(n, one) for n, one in enumerate(shown, start=1)]
    if part.not_printed is not None:
        points = part.not_printed.by_points
        missed = "not possible" if points is None else f"misses by {abs(points):.0f} points"
        rows.insert(0, [f"– print directly: {missed}", *("–" for _ in columns[1:])])
    show.print_table("", columns, rows)
    if marks := marks_said([row[0] for row in rows]):
        show.print_words(f"{'; '.join(marks)}.", indent=2, style="dim")
    if part.not_printed is not None:
        show.print_words(f"– {part.not_printed.reason} {part.not_printed.remedy}", indent=2)
    for number, one in enumerate(shown, start=1):
        if one.telling:
            _show_words(number, one, details=details)
    _show_left_out(part, details=details)
    for words in part.break_even_words:
        show.print_words(f"Break-even: {words}", indent=2)
    for words in part.lead_words:
        show.print_words(f"By number: {words}", indent=2)
    for pick in part.picks if part.pick is None else [part.pick]:
        show.print_words(f"Pick: {pick.why}", indent=2)
    refused = part.refused if details else part.refused[:MOST_REFUSED]
    for no in refused:
        remedy = f" {no.remedy}" if no.remedy and details else ""
        show.print_words(f"Not {no.name}: {no.reason}{remedy}", indent=2)
    if len(refused) < len(part.refused):
        show.print_words(f"{len(part.refused) - len(refused)} more refusals: --details.", style="dim")
    for note in part.notes:
        show.print_words(note, style="dim")


def marks_said(heads: Sequence[str]) -> list[str]:
    """What the marks behind the numbers of the routes mean, those that are there."""
    marks = {mark for head in heads for mark in head.split()[0]}
    return [words for mark, words in MARKS.items() if mark in marks]


def _show_left_out(part: "PartRoutesEntry", *, details: bool) -> None:
    """How many routes are not of the handful, and why."""
    for one in part.left_out:
        such = f" Such as {one.example}; in its stead {one.instead}." if details else ""
        show.print_words(
            f"Left out: {one.count} of {part.candidates}, {one.reason}.{such}",
            indent=2,
            style="" if details else "dim",
        )


def _row(number: int, one: "RouteEntry") -> list[str]:
    marks = ("*" if one.undominated else "") + ("P" if one.planned else "") + ("e" if one.estimated else "")
    money = f"{'≥ ' if one.unpriced else ''}{one.cost:.2f}"
    head = f"{number}{marks} {one.short}"
    return [
        head,
        money,
        duration_words(one.hands_min),
        duration_words(one.first_proof_min),
        f"{one.days:.1f}",
        f"{100 * one.chance:.0f} %",
    ]


def _show_words(number: int, one: "RouteEntry", *, details: bool) -> None:
    show.print_words(
        f"{number}: {one.name} ({', '.join(one.whys)}). {one.hardness or ''}; {one.finish}; {one.rounds_words}; "
        f"{one.per_copy_cost:.2f} a copy",
        indent=2,
    )
    if one.to_buy:
        show.print_words(f"To buy: {'; '.join(one.to_buy)}", indent=4)
    if not details:
        return
    for note in one.notes:
        show.print_words(note, indent=4)
    for cost in one.costs:
        price = "price not known" if cost.each is None else f"× {cost.each:.3g} = {cost.money:.2f}"
        typical = " (typical price)" if cost.typical else ""
        show.print_words(f"{cost.what}: {cost.amount:.3g} {cost.unit} {price}{typical}", indent=4)
    for work in one.work:
        show.print_words(
            f"{work.what}: {work.times} ×, hands {duration_words(work.hands_min)}, waits "
            f"{duration_words(work.wait_min)} in all",
            indent=4,
        )
    if one.would_win:
        show.print_words(f"To be the cheapest: {one.would_win}", indent=4)
