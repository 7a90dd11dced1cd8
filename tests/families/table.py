"""The table of families and their contact sheet, as printed and as kept in the docs."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw

from families.catalogue import FAMILIES
from families.trial import Row

PASS_RATIO, SMOOTH_RATIO, MOST_S = 0.95, 0.90, 8.0
"""What the families must reach: passes, smooth seams, seconds at 50,000 faces on two cores."""
CELL_PX, COLUMNS, SHOWN_MM = (300, 276), 5, 50.0
HEADS = ("family", "mm", "kind", "draw", "seam", "stretch", "silicone ml", "vents", "air mm³", "s", "failed")


def cells(row: Row) -> tuple[str, ...]:
    """A row as words, one for each of `HEADS`."""
    failed = sorted({check for check, _ in row.faults} | {"error" for _ in row.errors[:1]})
    if row.problem:
        dashes = ("–",) * 7
        return (row.family, f"{row.size_mm:g}", *dashes, f"{row.seconds:.1f}", "no mould")
    return (
        row.family,
        f"{row.size_mm:g}",
        row.kind,
        " ".join(f"{value:.2f}".replace("-0.00", "0.00") for value in row.draw),
        seam(row),
        row.stretch or "none",
        f"{row.silicone_ml:.0f}",
        str(row.vents),
        "–" if row.air_mm3 is None else f"{row.air_mm3:.0f}",
        f"{row.seconds:.1f}",
        ", ".join(failed) or "–",
    )


def seam(row: Row) -> str:
    """How the mould parts: through a smooth seam, the part's outline, or cut open by hand."""
    return "cut open" if row.kind == "block" else "outline" if row.outline else "smooth"


def line(row: Row) -> str:
    """One row for the terminal."""
    widths = (17, 4, 9, 18, 8, 7, 5, 3, 5, 6, 10)
    return " ".join(cell.ljust(width) for cell, width in zip(cells(row), widths, strict=True)).rstrip()


def troubles(row: Row) -> list[str]:
    """What is wrong with a row, in words."""
    problem = [f"no mould: {row.problem}"] if row.problem else []
    return [*problem, *row.errors, *(f"{check}: {what}" for check, what in row.faults)]


def summary(rows: Sequence[Row]) -> str:
    """How many pass, how many seams are smooth, what fails most, the longest time."""
    made = [row for row in rows if not row.problem]
    smooth = sum(seam(row) == "smooth" for row in made)
    blocks = sum(seam(row) == "cut open" for row in made)
    failed = Counter(check for row in rows for check in {check for check, _ in row.faults})
    failed.update({"error": sum(bool(row.errors) for row in rows), "no mould": len(rows) - len(made)})
    most = ", ".join(f"{check} {count}" for check, count in failed.most_common() if count)
    return (
        f"{sum(row.passes for row in rows)} of {len(rows)} pass; {smooth} of {len(made)} seams are smooth, "
        f"{blocks} cut open by hand; "
        f"longest plan {max(row.seconds for row in rows):.1f} s. Failed: {most or 'none'}."
    )


def good_enough(rows: Sequence[Row]) -> bool:
    """Whether enough pass."""
    made = [row for row in rows if not row.problem]
    passes = sum(row.passes for row in rows) >= PASS_RATIO * len(rows)
    return passes and sum(seam(row) == "smooth" for row in made) >= SMOOTH_RATIO * max(1, len(made))


def _of_size(rows: Sequence[Row], size_mm: float) -> str:
    """How many of one size pass."""
    of_size = [row for row in rows if row.size_mm == size_mm]
    return f"At {size_mm:g} mm {sum(row.passes for row in of_size)} of {len(of_size)} pass"


def write_docs(rows: Sequence[Row], docs: Path) -> None:
    """Write families.md with the table, and the contact sheet beside the other pictures."""
    sheet = contact_sheet([row for row in rows if row.size_mm == SHOWN_MM] or rows)
    (docs / "pictures").mkdir(exist_ok=True)
    sheet.save(docs / "pictures" / "families.png", optimize=True)
    lines = ["| " + " | ".join(HEADS) + " |", "|" + "---|" * len(HEADS)]
    lines += ["| " + " | ".join(cells(row)) + " |" for row in rows]
    text = PAGE.format(
        summary=summary(rows),
        by_size="; ".join(_of_size(rows, size) for size in sorted({row.size_mm for row in rows})),
        table="\n".join(lines),
        families="\n".join(f"- **{family.name}**: {family.good_for}" for family in FAMILIES.values()),
    )
    (docs / "families.md").write_text(text, encoding="utf-8")


PAGE = """# Families of parts that moulds are tried on

Written by `make families ARGS=--docs`; the shapes are in `tests/families`, none of them is shipped. Each is made at
20, 50 and 120 mm with some 1,500, 8,000 and 50,000 faces and planned as `firstpour plan` does. What was written is
then read back with general-purpose libraries and checked by code apart from the one that made it.

{summary} {by_size}.

![Every family's mould](pictures/families.png)

## The checks

| check | what it does with the written files |
|---|---|
| measure | each piece through our own `measure`: closed, no error |
| balance | halves, part and channels fill the block and share nothing; volumes said are volumes written |
| open | nothing stands or lies over the level that silicone is poured to |
| ring | no half closes a ring around the part, or a finding says so |
| lift | each half moved off along the draw meets no more part than the undercut told |
| sprue | each half moved off clears the sprue; a plug along the draw widens by no more than a quarter |
| tray | cured silicone moved out of its rigid tray meets nothing but the part's own undercut |
| bedding | the rigid master moved out of its bedding meets nothing |
| wall | silicone is nowhere thinner than 1.5 mm, within 2.6 mm of the seam aside; 8 mm from the part to the outside |
| groove | where a groove of the part itself is narrower than 1.5 mm, a finding says so |
| channel | gate and vents neither run through the part, nor pierce it, nor come nearer than 1.5 mm |
| vent | a vent a tenth of the part away from the gate, or a finding that says why not, tried anew |
| flood | a flood of grid points through each mouth reaches the cavity |
| air | air that stays in the cast, by a flood on a grid (too much: again on finer ones), is no more than was said |
| silicone-air | air that stays while each half is poured, or a finding that tells of it |

## The table

Seam: smooth, through the part's outline, or none: a block that is cut open by hand. Air: what stays in the cast by
the flood of the checks. Seconds: the whole plan with its pictures, on the machine that wrote this page, busy with
other work.

{table}

## What has no smooth seam

- **lattice**: a cage closes rings of silicone round its bars along every draw. A caster pours a block and cuts it
  open through the windows, or casts the bars flat and joins them.
- **hook**: across its bend, where the rest parts, the two holes of its plate close rings of silicone; along the holes
  the bend is locked. A caster cuts a block open and each ring through, or fills the holes, parts it across the bend
  and drills the copies. The plan lays no loose pins across the draw.
- **spring**, where its seam goes through the outline or a block is cut: its turns cross along every draw. Two halves
  whose seam steps from turn to turn are better where one is found (decision 0078); the block is cut along the wire.

## The families

{families}
"""


def contact_sheet(rows: Sequence[Row]) -> Image.Image:
    """The picture of the opened mould of each row, small, side by side."""
    down = -(-len(rows) // COLUMNS)
    sheet = Image.new("RGB", (COLUMNS * CELL_PX[0], down * CELL_PX[1]), "white")
    pen = ImageDraw.Draw(sheet)
    for number, row in enumerate(rows):
        left, top = number % COLUMNS * CELL_PX[0], number // COLUMNS * CELL_PX[1]
        if row.picture and Path(row.picture).exists():
            with Image.open(row.picture) as opened:
                small = opened.convert("RGB")
            small.thumbnail((CELL_PX[0] - 8, CELL_PX[1] - 26), Image.Resampling.LANCZOS)
            sheet.paste(small, (left + 4, top + 22))
        words = f"{row.family}, {row.size_mm:g} mm" + (", no mould" if row.problem else f", {row.kind}")
        pen.text((left + 8, top + 5), words, fill="black")
    return sheet
