"""Commands on a whole job: the plan, the demo and its sample parts."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from firstpour.cli import show
from firstpour.cli.materials_shown import SAID_HERE, show_materials
from firstpour.cli.workshop_commands import WorkshopPath
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.files.plan_json import PlanEntry
    from firstpour.job.job import Job
    from firstpour.workshop.workshop import Workshop

AsJson = Annotated[bool, show.JSON_OPTION]
Details = Annotated[bool, typer.Option("--details", help="Show every table, not only what one plans by.")]
Processes = Annotated[
    int | None,
    typer.Option(min=1, help="Parts worked out at once; as many as there are cores if not given."),
]
SHOWN_REASONS = 3
CAUTION = "Silicones, resins and their dusts can harm: the data sheet and your local rules come first."


def register(app: typer.Typer) -> None:
    """Attach the commands."""
    app.command("plan")(plan)
    app.command("demo")(demo)
    app.command("samples")(samples)


def plan(
    job: Annotated[Path, typer.Argument(help="A job file (.toml), or a bare part file.", show_default=False)],
    out: Annotated[Path, typer.Option(help="The folder for the results.", show_default=False)],
    units: Annotated[LengthUnit, typer.Option(help="Unit of a bare part file.")] = LengthUnit.MM,
    shelf: Annotated[Path | None, typer.Option("--shelf", help="The folder of your own shelf.")] = None,
    processes: Processes = None,
    details: Details = False,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """Work out the whole job and write what is needed to do it."""
    from firstpour.errors import BadRequest
    from firstpour.files.catalogue import load_catalogue
    from firstpour.files.job_toml import read_job
    from firstpour.files.places import shelf_folder
    from firstpour.files.workshop_toml import read_equipment
    from firstpour.stock.store import load_stock
    from firstpour.workshop.workshop import Workshop

    if shelf is not None and not shelf.is_dir():
        raise BadRequest(f"there is no shelf folder {shelf}", remedy="give the folder that firstpour shelf add made")
    folder = shelf_folder(shelf)
    asked = read_job(job, unit=units, equipment=read_equipment(workshop))
    here = Workshop(
        catalogue=load_catalogue(folder), stock=load_stock(folder), today=date.today(), equipment=asked.equipment
    )
    _plan_and_show(asked, out, here, processes=processes, shown=show.Shown.of(as_json, details))


def demo(
    out: Annotated[Path, typer.Option(help="The folder for the results.")] = Path("tide-pool"),
    processes: Processes = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Plan the tide pool of a children's museum: four parts, soft and hard."""
    from firstpour.demo.tide_pool import tide_pool_job
    from firstpour.files.catalogue import load_catalogue
    from firstpour.stock.demo_stock import demo_stock
    from firstpour.workshop.workshop import Workshop

    today = date.today()
    workshop = Workshop(catalogue=load_catalogue(None), stock=demo_stock(today=today), today=today)
    _plan_and_show(tide_pool_job(), out, workshop, processes=processes, shown=show.Shown.of(as_json, details))


def samples(
    out: Annotated[Path, typer.Option(help="The folder for the parts.")] = Path("examples/tide-pool"),
    faces: Annotated[int, typer.Option(help="About how many faces each part has.")] = 20_000,
    as_json: AsJson = False,
) -> None:
    """Write the four parts of the tide pool as STL files, with a job file for them."""
    from firstpour.demo.tide_pool import write_samples

    written = write_samples(out, faces=faces)
    if as_json:
        show.print_json({"files": written})
        return
    for file in written:
        show.print_words(str(file))


def _plan_and_show(job: "Job", out: Path, workshop: "Workshop", *, processes: int | None, shown: show.Shown) -> None:
    from firstpour.plan import crew_of, kept_folder, plan_into

    with show.progress(job.name) as told, crew_of(processes) as crew:
        saved = plan_into(job, out, progress=told, workshop=workshop, crew=crew, kept=kept_folder())
    if shown is show.Shown.JSON:
        show.print_json(saved.entry)
    else:
        show_plan(saved.entry)
        show_materials(saved.entry)
        show.print_findings([each for each in saved.plan.findings if each.code not in SAID_HERE])
        show.print_words(CAUTION)
        show.print_words(f"Results are in {out}: plan.json, pictures, pieces.")
    show.end(saved.plan.findings)


def show_plan(saved: "PlanEntry") -> None:
    """What to print and what to pour."""
    show.print_words(f"{saved.job.name}: {_copies(sum(part.copies for part in saved.parts))}", style="bold")
    if saved.job.due is not None:
        show.print_words(f"Due {saved.job.due.isoformat()}; this plan has no dates yet.", style="dim")
    columns = ["part", "copies", "mould", "draw", "undercut", "silicone", "cast each"]
    rows = [
        [
            part.name,
            str(part.copies),
            str(part.mould.kind),
            show.direction_words(part.mould.draw, places=2),
            show.amount(part.chosen_draw.undercut_mm3, "mm³"),
            show.amount(part.mould.silicone_ml, "ml"),
            show.amount(part.mould.casting_ml, "ml"),
        ]
        for part in saved.parts
    ]
    show.print_table("Moulds", columns, rows)
    _show_fills(saved)
    _show_masters(saved)
    _show_prints(saved)
    totals = saved.totals
    show.print_words(
        f"In all: {show.amount(totals.silicone_ml, 'ml')} of silicone for one mould of each part, "
        f"{show.amount(totals.casting_ml, 'ml')} of casting material for all copies, "
        f"{show.amount(totals.print_ml, 'ml')} to print."
    )


def _show_fills(saved: "PlanEntry") -> None:
    rows = []
    for part in saved.parts:
        if part.fill is None:
            rows.append([part.name, "open-face: into the open back", "", "", "", ""])
            continue
        best = part.fill["directions"][0] if part.fill["directions"] else None
        filled = None if part.flow is None else part.flow["fill_s"]
        rows.append(
            [
                part.name,
                "as fixed" if best is None else _standing(best),
                show.direction_words(tuple(part.fill["up"]), places=2),
                f"{len(part.fill['vents_mm'])}",
                show.amount(part.fill["trapped_vented_mm3"], "mm³"),
                "" if filled is None else _seconds(filled),
            ]
        )
    show.print_table("The pour", ["part", "mould stands", "up", "vents", "air left", "fills in"], rows)


def _show_masters(saved: "PlanEntry") -> None:
    rows = []
    for part in saved.parts:
        best, tray = part.master["directions"][0], part.master["in_tray"]
        rows.append(
            [
                part.name,
                part.master["process"],
                show.direction_words(tuple(part.master["direction"]), places=2),
                f"{part.master['layer_mm']:.3g}",
                f"{best['step_mm']:.3f}",
                "" if tray is None else f"{tray['step_mm']:.3f}",
                f"{best['roundness_mm']:.2f}",
            ]
        )
    columns = ["part", "printed", "up", "layer", "step", "in tray", "round"]
    show.print_table("The master by itself, its steps on show faces beside those in a tray; mm", columns, rows)
    for part in saved.parts:
        show.print_words(f"{part.name}: {'; '.join(part.master['why'][:SHOWN_REASONS])}", indent=2)


def _standing(pour: dict[str, Any]) -> str:
    """How the closed mould stands, in words."""
    words = {"flat": "flat", "on-edge": "on edge", "turned": "turned, in a cradle"}
    return words.get(pour["kind"], f"tilted {pour['tilt_deg']:.0f}°")


def _seconds(seconds: float) -> str:
    """Seconds, or minutes where there are many.

    >>> _seconds(8.4), _seconds(200)
    ('8 s', '3.3 min')
    """
    return f"{seconds:.0f} s" if seconds < 100 else f"{seconds / 60:.1f} min"


def _show_prints(saved: "PlanEntry") -> None:
    rows = [
        [
            f"{part.name}: {piece.name}",
            show.size_words(piece.size_mm),
            f"{piece.volume_mm3 / 1e3:.0f}",
        ]
        for part in saved.parts
        for piece in part.mould.pieces
        if piece.role != "silicone"
    ]
    show.print_table("To print", ["piece", "size mm", "ml"], rows)


def _copies(count: int) -> str:
    return "one copy" if count == 1 else f"{count} copies"
