"""One page for a part that is printed directly: its plates, the work on each, what is done at the end, a log."""

from firstpour.files.taken_entries import PlateWorkEntry, PrintedPartEntry
from firstpour.sheets.blocks import Block, Cautions, Page, Table, Ticks
from firstpour.sheets.placed import Moment, cautions_at, first_words
from firstpour.sheets.words import wait_words
from firstpour.units import count_words

ROWS_OF_LOG = 16


def printed_page(part: PrintedPartEntry) -> Page:
    """The page of a part without a mould."""
    blocks: list[Block] = [Cautions(title="Before printing and finishing", items=printing_cautions(part))]
    if part.on_plates:
        blocks.append(_plates(part))
        work = tuple(work_words(one, wait_min(one, part.on_plates[0])) for one in part.plate_work if not one.printing)
        if work:
            title = "Then, on every plate" if len(part.on_plates) > 1 else "Then"
            blocks.append(Ticks(title=title, items=work))
    blocks.append(Ticks(title="Look at every copy", items=LOOK))
    if part.afterwards:
        title = "To every good copy, once all are there"
        blocks.append(Ticks(title=title, items=tuple(work_words(one, one.wait_min) for one in part.afterwards)))
    blocks.append(_log(part))
    copies, plates = count_words(part.copies, "copy", "copies"), count_words(part.plates, "plate", "plates")
    under = f"{copies} on {plates} · printed directly in {part.material}"
    return Page(title=f"{part.name}: print", under=under, blocks=tuple(blocks))


LOOK = (
    "Size, warping, holes, layers that part; good, or what is wrong and where.",
    "A copy that is not good is printed again: one more plate.",
)


def printing_cautions(part: PrintedPartEntry) -> tuple[str, ...]:
    """What can harm in printing and finishing."""
    moments = (Moment.PRINT, Moment.SURFACE, Moment.FINISH)
    return (*first_words(part.cautions), *cautions_at(part.cautions, *moments))


def wait_min(one: PlateWorkEntry, copies: int) -> float:
    """How long it waits with so many copies on the plate."""
    return one.wait_min + copies * one.wait_each_min


def run_min(part: PrintedPartEntry, copies: int) -> float:
    """How long a plate of so many copies prints."""
    return sum(wait_min(one, copies) for one in part.plate_work if one.printing)


def plate_words(part: PrintedPartEntry, copies: int) -> tuple[str, ...]:
    """How a plate is laid and how long it prints."""
    return (
        f"{count_words(copies, 'copy', 'copies')} of {part.file} on {part.printer}, standing as in the file, "
        f"layers of {part.layer_mm:g} mm: {wait_words(run_min(part, copies))}.",
        f"In {part.material}.",
    )


def work_words(one: PlateWorkEntry, waits_min: float) -> str:
    """What is done, with its wait."""
    what = one.text or f"{one.what[:1].upper()}{one.what[1:]}."
    return f"{what} Wait {wait_words(waits_min)}." if waits_min else what


def _plates(part: PrintedPartEntry) -> Table:
    return Table(
        title=f"Print {part.file}, as it stands there, on {part.printer}, layers of {part.layer_mm:g} mm",
        head=("", "Plate", "Copies", "Prints for", "Begun at", "Done at"),
        rows=tuple(
            ("☐", str(number), str(copies), wait_words(run_min(part, copies)), "", "")
            for number, copies in enumerate(part.on_plates, start=1)
        ),
        widths=(0, 0, 0, 0, 1, 1),
    )


def _log(part: PrintedPartEntry) -> Table:
    head = ("Plate", "Date", "Really printed for", "Good", "Outcome: what was wrong, and where")
    rows = min(ROWS_OF_LOG, len(part.on_plates) + 2)
    return Table(
        title="Log, one row a plate",
        head=head,
        rows=tuple((str(k + 1), *[""] * (len(head) - 1)) for k in range(rows)),
        widths=(0, 1, 1, 1, 3),
        row_mm=10.0,
    )
