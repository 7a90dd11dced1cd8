"""The command on the master: which process, which way up, which layer height, and what to do to the print."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.numbers import limited
from firstpour.cli.workshop_commands import WorkshopPath
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.printing.choice import MasterPlan
    from firstpour.printing.printers import Printer

PartFile = Annotated[Path, typer.Argument(help="The part: an STL, OBJ, PLY, 3MF or GLB file.", show_default=False)]


def register(app: typer.Typer) -> None:
    """Attach the command."""
    app.command("master")(master)


def master(
    part: PartFile,
    process: Annotated[str | None, typer.Option(help="filament or vat; the better one if not given.")] = None,
    layer_mm: Annotated[float | None, limited(0.005, 2, "Layer height in mm; chosen if not given.")] = None,
    directions: Annotated[int, limited(1, 5000, "How many print directions to try.")] = 100,
    keep: Annotated[int, limited(1, 1000, "How many of the best to show.")] = 5,
    units: Annotated[LengthUnit, typer.Option(help="The unit of the file's coordinates.")] = LengthUnit.MM,
    picture: Annotated[Path | None, typer.Option(help="Write a picture (PNG): the steps and the layers.")] = None,
    workshop: WorkshopPath = None,
    as_json: Annotated[bool, show.JSON_OPTION] = False,
) -> None:
    """Choose how to print the master: process, direction, layer height, and why."""
    from firstpour.files.print_entries import master_entry
    from firstpour.part.read import read_likely_part
    from firstpour.printing.choose import choose_master

    if picture is not None:
        from firstpour.pictures.sheet import may_draw

        may_draw(picture)
    printers = _printers(process, layer_mm, workshop)
    solid = read_likely_part(part, unit=units)
    with show.progress("master") as told:
        told(0, 1, "trying print directions")
        plan = choose_master(solid, printers, directions=directions)
        if picture is not None:
            from firstpour.pictures.master_picture import master_picture
            from firstpour.pictures.sheet import save_png

            told(0, 1, "drawing")
            save_png(master_picture(solid, plan), picture)
    findings = (*solid.findings, *plan.findings)
    if as_json:
        show.print_json({**master_entry(plan, keep=keep).model_dump(mode="json"), "findings": findings})
    else:
        _show_plan(solid.name, plan, keep)
        show.print_findings(findings)
    show.end(findings)


def _printers(process: str | None, layer_mm: float | None, workshop: Path | None) -> "list[Printer]":
    from firstpour.errors import BadRequest
    from firstpour.files.workshop_toml import read_equipment
    from firstpour.printing.printers import Process
    from firstpour.workshop.equipment import printers_for

    if process is not None and process not in list(Process):
        raise BadRequest(f"no process is called {process!r}", remedy=f"take one of: {', '.join(Process)}")
    chosen = printers_for(read_equipment(workshop).printers, None if process is None else Process(process))
    return [one if layer_mm is None else replace(one, layer_heights_mm=(layer_mm,)) for one in chosen]


def _show_plan(name: str, plan: "MasterPlan", keep: int) -> None:
    best = plan.direction
    footing = "flat on the plate" if best.footing.value == "plate" else "lifted on supports"
    show.print_words(
        f"{name}: print the master on the {plan.chosen.printer.name}, {show.direction_words(best.direction)} up,"
        f" {footing}, layers of {plan.layer_mm:g} mm",
        style="bold",
    )
    for reason in plan.why:
        show.print_words(f"- {reason}")
    columns = ["up", "step", "round", "pull", "support", "height", "time"]
    rows = [
        [
            show.direction_words(one.direction, places=2),
            show.amount(one.step_mm, "mm", places=3),
            show.amount(one.roundness_mm, "mm", places=2),
            show.amount(one.suction_n, "N", places=0),
            show.amount(one.support_mm2, "mm²", places=0),
            show.amount(one.height_mm, "mm", places=0),
            show.amount(one.print_min, "min", places=0),
        ]
        for one in plan.ranked[:keep]
    ]
    show.print_table("Print directions, the best first", columns, rows)
    work = [
        [step.name, show.amount(step.hands_min, "min", places=0), show.amount(step.wait_min, "min", places=0)]
        for step in plan.steps
    ]
    show.print_table("Work on the print (typical times)", ["step", "hands", "wait"], work)
    if plan.process.value == "vat":
        show.print_words(CAUTION, style="dim")


CAUTION = (
    "Uncured resin and its solvents: gloves, eye protection, fresh air, no skin contact; cure waste before throwing"
    " it away. Sanding dust: mask, wet where possible. The data sheets and your local rules come first."
)
