"""The steps of a part that is printed directly, from its page of the run sheet: plate by plate, then the finish."""

from firstpour.bench.steps import BenchStep, ClockSet, StepKind, wait_step
from firstpour.files.taken_entries import PlateWorkEntry, PrintedPartEntry
from firstpour.sheets.printed_page import LOOK, plate_words, printing_cautions, run_min, wait_min, work_words
from firstpour.store.runs import ClockKind
from firstpour.units import count_words


def plate_steps(part: PrintedPartEntry, *, number: int, missing: int) -> tuple[BenchStep, ...]:
    """One plate: printed, taken off, worked on; then what became of each copy.

    `missing`: good copies that were still wanted before it.
    """
    copies = copies_on(part, number, missing)
    prefix, name = f"round-{number}", f"plate {number}"
    found = [
        BenchStep(
            id=f"{prefix}/print",
            kind=StepKind.DO,
            title=f"Start {name}: {count_words(copies, 'copy', 'copies')}",
            items=plate_words(part, copies),
            cautions=printing_cautions(part),
            sets=ClockSet(kind=ClockKind.PRINT, name=name, minutes=run_min(part, copies)),
        ),
        BenchStep(
            id=f"{prefix}/printed",
            kind=StepKind.WAIT,
            title=f"Take {name} off the printer",
            items=("Look at it before anything else. Note how long it really took.",),
            waits_for=(name,),
        ),
    ]
    for n, one in enumerate((one for one in part.plate_work if not one.printing), start=1):
        found += _work_steps(f"{prefix}/{n}", one, f"{one.what}, {name}", wait_min(one, copies), copies=copies)
    return (*found, *(_outcome(prefix, number, copy, copies) for copy in range(1, copies + 1)))


def finish_steps(part: PrintedPartEntry) -> tuple[BenchStep, ...]:
    """What is done to every good copy once all are there."""
    return tuple(
        step
        for n, one in enumerate(part.afterwards, start=1)
        for step in _work_steps(f"finish/{n}", one, one.what, one.wait_min, copies=part.copies)
    )


def copies_on(part: PrintedPartEntry, number: int, missing: int) -> int:
    """Copies on a plate: as planned; beyond that those that are missing, as far as they fit."""
    if number <= len(part.on_plates):
        return part.on_plates[number - 1]
    return min(part.most_on_plate, max(1, missing))


def _work_steps(step_id: str, one: PlateWorkEntry, name: str, waits_min: float, *, copies: int) -> list[BenchStep]:
    sets = ClockSet(kind=ClockKind.WAIT, name=name, minutes=waits_min) if waits_min else None
    title = f"{one.what[:1].upper()}{one.what[1:]}"
    found = [
        BenchStep(
            id=step_id,
            kind=StepKind.DO,
            title=title,
            items=(work_words(one, waits_min),),
            sets=sets,
            hands_min=one.hands_min + copies * one.hands_each_min or None,
        )
    ]
    return found if sets is None else [*found, wait_step(f"{step_id}-wait", name, (name,), waits_min)]


def _outcome(prefix: str, number: int, copy: int, copies: int) -> BenchStep:
    return BenchStep(
        id=f"{prefix}/outcome-{copy}",
        kind=StepKind.OUTCOME,
        title=f"What became of copy {copy} of {copies} on plate {number}?",
        items=(LOOK[0],),
    )
