"""Commands on the part alone."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from firstpour.cli import show
from firstpour.units import LengthUnit

if TYPE_CHECKING:
    from firstpour.part.measure import Measures


def register(app: typer.Typer) -> None:
    """Attach the commands."""
    app.command("measure")(measure)


def measure(
    part: Annotated[Path, typer.Argument(help="The part: STL, OBJ, PLY, 3MF or GLB.", show_default=False)],
    units: Annotated[
        LengthUnit, typer.Option(help="Unit of the file, where it does not say its own.")
    ] = LengthUnit.MM,
    as_json: Annotated[bool, show.JSON_OPTION] = False,
) -> None:
    """Measure a part: volume, area, size, thinnest wall, and what is wrong with it."""
    from firstpour.part.measure import measure_part
    from firstpour.part.read import read_part

    measures = measure_part(read_part(part, unit=units))
    if as_json:
        show.print_json(measures)
    else:
        show.print_lines(_in_words(part.name, measures))
        show.print_findings(measures.findings)
    show.end(measures.findings)


def _in_words(name: str, measures: "Measures") -> list[str]:
    """The measures as short lines."""
    x_mm, y_mm, z_mm = measures.size_mm
    wall = "no two faces lie opposite"
    if measures.thinnest_wall_mm is not None:
        wall = f"about {measures.thinnest_wall_mm:.2f} mm (lines {measures.thinnest_wall_pitch_mm:.2f} mm apart)"
    return [
        name,
        f"  size           {x_mm:.1f} × {y_mm:.1f} × {z_mm:.1f} mm",
        f"  volume         {measures.volume_mm3 / 1000:.2f} ml",
        f"  area           {measures.area_mm2 / 100:.1f} cm²",
        f"  thinnest wall  {wall}",
        f"  bodies         {measures.bodies}",
        f"  faces          {measures.faces}, {'closed' if measures.watertight else 'not closed'}",
    ]
