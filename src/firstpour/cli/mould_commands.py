"""Commands on the mould of one part: its draw direction, and the mould itself."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.cli.numbers import limited
from firstpour.cli.workshop_commands import WorkshopPath
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.files.plan_json import DrawEntry, MouldEntry
    from firstpour.parting.values import MouldKind

PartFile = Annotated[Path, typer.Argument(help="The part: an STL, OBJ, PLY, 3MF or GLB file.", show_default=False)]
Units = Annotated[LengthUnit, typer.Option(help="The unit of the file's coordinates.")]
Direction = Annotated[str | None, typer.Option(help="Draw along x,y,z instead of the best direction.")]
AsJson = Annotated[bool, show.JSON_OPTION]


def register(app: typer.Typer) -> None:
    """Attach the commands."""
    app.command("draw")(draw)
    app.command("mould")(mould)


def draw(
    part: PartFile,
    direction: Direction = None,
    units: Units = LengthUnit.MM,
    keep: Annotated[int, limited(1, 1000, "How many of the best directions to show.")] = 10,
    copy_shore_a: Annotated[
        float | None, limited(1, 99, "Hardness of a soft copy, Shore A: it gives as well; rigid if not given.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Rank the directions along which the mould can open; those with a reason of their own are always shown."""
    import numpy as np

    from firstpour.files.plan_json import DirectionsEntry, draw_entry
    from firstpour.formulas.hardness import gent_modulus_mpa
    from firstpour.part.read import read_likely_part
    from firstpour.parting.draw import draw_along, rank_draws
    from firstpour.parting.draw_findings import draw_findings
    from firstpour.parting.stretch import Give

    wanted = None if direction is None else np.array(show.direction_from(direction, option="--direction"))
    give = Give() if copy_shore_a is None else Give(copy_mpa=gent_modulus_mpa(copy_shore_a))
    solid = read_likely_part(part, unit=units)
    draws = rank_draws(solid, keep=keep, give=give) if wanted is None else (draw_along(solid, wanted, give=give),)
    entries = [draw_entry(one) for one in draws]
    findings = (*solid.findings, *draw_findings(draws[0], give))
    if as_json:
        show.print_json(DirectionsEntry(directions=entries))
    else:
        _show_draws(solid.name, entries)
        show.print_findings(findings)
    show.end(findings)


def _show_draws(name: str, draws: "list[DrawEntry]") -> None:
    columns = ["direction and why", "stretch", "undercut", "seam", "silicone"]
    rows = [
        [
            f"{show.direction_words(one.direction, places=2)}: {one.reason}",
            _stretch_words(one),
            show.amount(one.undercut_mm3, "mm³", places=0),
            show.amount(one.seam_mm, "mm", places=0),
            show.amount(one.silicone_ml, "ml", places=0),
        ]
        for one in draws
    ]
    show.print_table(f"{name}: draw directions, the best first", columns, rows)
    show.print_words(f"Undercuts below about {draws[0].pitch_mm:.2g} mm are not resolved.", style="dim")


def _stretch_words(draw: "DrawEntry") -> str:
    """What the silicone must do: be cut where it is locked, else stretch, and a plug's squeeze in brackets."""
    if draw.locked_loops:
        return f"{draw.locked_loops} locked"
    stretch = f"{100 * draw.stretch_ratio:.0f} %"
    return stretch if draw.squeeze_ratio < 0.005 else f"{stretch}, squeeze {100 * draw.squeeze_ratio:.0f} %"


def mould(
    part: PartFile,
    out: Annotated[Path, typer.Option(help="The folder for the results.", show_default=False)],
    kind: Annotated[str | None, typer.Option(help="trays, bedding, open-face or block; chosen if not given.")] = None,
    direction: Direction = None,
    units: Units = LengthUnit.MM,
    setting: Annotated[
        list[str] | None, typer.Option(help="A mould setting, such as wall_mm=10; repeatable.")
    ] = None,
    workshop: WorkshopPath = None,
    as_json: AsJson = False,
) -> None:
    """Make the mould of one part: the pieces to print, and how much to pour."""
    from firstpour.files.job_toml import settings_from_words
    from firstpour.files.workshop_toml import read_equipment
    from firstpour.job.job import Job, PartRequest
    from firstpour.results import plan_into

    draw_given = None if direction is None else show.direction_from(direction, option="--direction")
    request = PartRequest(name=part.stem, file=part, unit=units, draw=draw_given, kind=_kind(kind))
    settings, equipment = settings_from_words(setting or ()), read_equipment(workshop)
    job = Job(name=part.stem, parts=(request,), settings=settings, equipment=equipment)
    with show.progress("mould") as told:
        saved = plan_into(job, out, progress=told)
    made = saved.entry.parts[0].mould
    if as_json:
        show.print_json(made.model_copy(update={"findings": saved.entry.findings}))
    else:
        show_mould(part.stem, made)
        show.print_findings(saved.findings)
        show.print_words(f"Results are in {out}")
    show.end(saved.findings)


def _kind(word: str | None) -> "MouldKind | None":
    from firstpour.errors import BadRequest
    from firstpour.parting.values import MouldKind

    if word is None:
        return None
    try:
        return MouldKind(word)
    except ValueError as error:
        raise BadRequest(
            f"no kind of mould is called {word!r}", remedy=f"take one of: {', '.join(MouldKind)}"
        ) from error


def show_mould(name: str, mould: "MouldEntry") -> None:
    """The pieces of one mould and its quantities."""
    columns = ["piece", "size mm", "volume"]
    rows = [
        [
            piece.name,
            show.size_words(piece.size_mm),
            show.amount(piece.volume_mm3 / 1e3, "ml"),
        ]
        for piece in mould.pieces
    ]
    title = f"{name}: {mould.kind} mould, draw {show.direction_words(mould.draw)}"
    show.print_table(title, columns, rows)
    show.print_words(
        f"Silicone {show.amount(mould.silicone_ml, 'ml')}, casting material {show.amount(mould.casting_ml, 'ml')} "
        f"a copy, printed {show.amount(mould.print_ml, 'ml')}"
    )
