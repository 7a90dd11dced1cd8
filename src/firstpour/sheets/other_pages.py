"""The pages of a part beside its pours: what is made ready, and opening, trimming and the log."""

from firstpour.choosing.counts import rounds_words
from firstpour.files.material_entries import PartChoiceEntry, PlannedStepEntry
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.files.step_entries import StepEntry
from firstpour.parting.values import MouldKind
from firstpour.sheets.blocks import Block, Cautions, Key, Page, Picture, Table, Ticks
from firstpour.sheets.placed import UNKNOWN_CAUTIONS, Moment, cautions_at, findings_at, first_words
from firstpour.sheets.words import copies_words, told, wait_words
from firstpour.units import count_words

ROWS_OF_LOG = 24
"""The most rows of a log on its page; more are a copy of it."""
FEW_ROWS = 8
"""Up to so many rows leave room for a picture."""
LOG_MM, LOG_ROW_MM = 165.0, 12.0
"""Height that the rows share, and the most that one takes."""
OPEN = {
    MouldKind.TRAYS: "Straps and boards off. Open at the notches, evenly on both sides, along the draw.",
    MouldKind.BEDDING: "Straps and boards off. Part the halves evenly, along the draw.",
    MouldKind.BLOCK: "Straps and boards off. Spread the cut, starting at the gate.",
    MouldKind.OPEN_FACE: "Flex the rim away from the cast all around, then press the copy out from below.",
}


TRIM_GATES = "Cut gate and vents off flush, a little proud on show faces; pare the flash along the parting line."
TRIM_BACK = "Pare the rim of the back, and rub it flat on wet abrasive on a plate."


def ready_page(plan: PlanEntry, part: PartEntry) -> Page:
    """What is printed, and what is done to its surface before any silicone."""
    blocks: list[Block] = []
    cautions = () if part.materials is None else part.materials.cautions
    items = (*first_words(cautions), *cautions_at(cautions, Moment.PRINT, Moment.SURFACE))
    blocks.append(Cautions(title="Before printing, sanding and spraying", items=items or UNKNOWN_CAUTIONS))
    blocks.append(
        Table(
            title="Print",
            head=("", "Piece", "Printer", "Stands on", "Layer", "Takes", "Weighs", "Done"),
            rows=tuple(
                ("☐", one.piece, one.printer, one.footing, f"{one.layer_mm:g} mm", wait_words(one.print_min),
                 f"{one.material_g:.0f} g", "")
                for one in part.prints
            ),
            widths=(0, 0, 0, 0, 0, 0, 0, 1),
        )
    )  # fmt: skip
    steps = first_steps(part)
    if steps:
        blocks.append(
            Table(
                title="The surface that silicone will copy, in this order",
                head=("", "Step", "Hands", "Then wait", "Ready at"),
                rows=tuple(
                    ("☐", one.text, wait_words(one.hands_min), wait_words(one.wait_min) if one.wait_min else "–", "")
                    for one in steps
                ),
                widths=(0, 3, 0, 0, 1),
            )
        )
    picture = next((file for file in part.pictures if file.endswith("-to-print.png")), None)
    if picture is not None:
        blocks.append(Picture(file=picture, alt=f"The pieces of {part.name} to print, as they stand.", share=1.0))
    copies = copies_words(part)
    pours = count_words(len(part.mould.poses), "pour", "pours")
    under = f"{copies} · {part.mould.kind.value} mould · {pours} of silicone"
    return Page(title=f"{part.name}: make ready", under=under, blocks=tuple(blocks))


def first_steps(part: PartEntry) -> list[StepEntry]:
    """The work on the surface that silicone copies, in its order."""
    silicone = None if part.materials is None else part.materials.silicone
    steps: list[StepEntry] = list(part.surface.steps)
    known = {one.id for one in steps}
    return steps + (
        [] if silicone is None else [one for one in silicone.steps if _first(one) and one.id not in known]
    )


def _first(step: PlannedStepEntry) -> bool:
    return step.before == "silicone"


def open_page(plan: PlanEntry, part: PartEntry) -> Page:
    """Open, trim, let cure through, and the log of every cast."""
    choice = part.materials
    casting = None if choice is None else choice.casting
    said = [told(one.what, one.remedy) for one in findings_at(plan, part, Moment.OPEN)]
    items = [
        "The cure has ended by the clock, and a fingernail leaves no mark.",
        OPEN[part.mould.kind],
        *said,
    ]
    blocks: list[Block] = [Ticks(title="Open", items=tuple(items))]
    cautions = () if choice is None else cautions_at(choice.cautions, Moment.FINISH)
    blocks += [Cautions(title="Before trimming and sanding", items=cautions)] if cautions else []
    trim = [TRIM_BACK if part.fill is None else TRIM_GATES]
    steps = (
        []
        if casting is None
        else [one for one in casting.steps if one.before not in ("casting", "the silicone cures")]
    )
    trim += [f"{one.text} Wait {wait_words(one.wait_min)}." if one.wait_min else one.text for one in steps]
    full = casting.mixes[0].full_cure_min if casting is not None and casting.mixes else None
    if full is not None:
        trim.append(f"Full cure {wait_words(full)} after the pour: lay the copy flat and unloaded until then.")
    blocks.append(Ticks(title="Trim and let it cure through", items=tuple(trim)))
    if choice is not None:
        life = choice.mould_life_shots
        lasts = "" if life is None else f" The mould lasts about {life[0]} to {life[1]} shots."
        shots = count_words(choice.pours, "shot", "shots")
        rounds = count_words(choice.rounds, "round", "rounds")
        blocks.append(
            Key(
                text=f"{shots.upper()} IN {rounds.upper()}",
                note=f"for {copies_words(part)}, spoiled ones reckoned in.{_in_rounds(choice)}{lasts} "
                "Look at the first copy with care before the next pour: it is the proof of the mould.",
            )
        )
    to_log = part.copies if choice is None else choice.rounds
    blocks.append(_log(to_log))
    picture = next((file for file in part.pictures if file.endswith("-mould.png")), None)
    if picture is not None and to_log <= FEW_ROWS:
        blocks.append(Picture(file=picture, alt=f"The mould of {part.name}, opened.", share=0.85))
    return Page(title=f"{part.name}: open, trim, log", under="One row a round", blocks=tuple(blocks))


def _in_rounds(choice: PartChoiceEntry) -> str:
    """How many are filled in each round, where the first ones fill fewer moulds; less is mixed for these."""
    words = rounds_words(choice.round_copies)
    return f" Filled are {words}: mix in proportion." if words else ""


def _log(rounds: int) -> Table:
    shown = min(rounds, ROWS_OF_LOG)
    more = "" if shown == rounds else f" (rows for {shown} of {rounds} rounds: copy this page)"
    head = ("No.", "Date", "°C", "A, g", "B, g", "Clock", "Poured", "Opened", "Outcome: good, or what and where")
    return Table(
        title=f"Log{more}",
        head=head,
        rows=tuple((str(k + 1), *[""] * (len(head) - 1)) for k in range(shown)),
        widths=(0, 1, 0.6, 1, 1, 1, 1, 1, 3),
        row_mm=min(LOG_ROW_MM, LOG_MM / max(1, shown)),
    )
