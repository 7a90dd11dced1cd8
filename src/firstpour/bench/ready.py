"""The steps before any silicone: prints one after the other on each printer, and the work on the surface."""

from collections.abc import Iterator

from firstpour.bench.steps import BenchStep, ClockSet, StepKind, wait_step
from firstpour.files.plan_json import PartEntry, PlanEntry
from firstpour.sheets.blocks import Cautions
from firstpour.sheets.other_pages import first_steps, ready_page
from firstpour.sheets.words import wait_words
from firstpour.store.runs import ClockKind


def ready_steps(plan: PlanEntry, part: PartEntry) -> tuple[BenchStep, ...]:
    """Printing, and the work on the surface that silicone copies, each with its wait."""
    cautions = tuple(text for one in ready_page(plan, part).blocks if isinstance(one, Cautions) for text in one.items)
    found = list(_prints(part, cautions))
    for n, step in enumerate(first_steps(part), start=1):
        sets = ClockSet(kind=ClockKind.WAIT, name=step.name, minutes=step.wait_min) if step.wait_min else None
        found.append(
            BenchStep(
                id=f"ready/surface-{n}",
                kind=StepKind.DO,
                title=step.name,
                items=(step.text,),
                sets=sets,
                hands_min=step.hands_min or None,
            )
        )
        if sets is not None:
            found.append(wait_step(f"ready/surface-{n}-wait", sets.name, (sets.name,), sets.minutes))
    return tuple(found)


def _prints(part: PartEntry, cautions: tuple[str, ...]) -> Iterator[BenchStep]:
    """Every print started and taken off: a printer is free before the next of its prints begins."""
    runs: dict[str, tuple[int, str]] = {}
    for n, one in enumerate(part.prints, start=1):
        if one.printer in runs:
            yield _taken_off(*runs.pop(one.printer))
        yield BenchStep(
            id=f"ready/print-{n}",
            kind=StepKind.DO,
            title=f"Start the print of {one.piece}",
            items=(
                f"On {one.printer}, standing on {one.footing}, layers of {one.layer_mm:g} mm: "
                f"{wait_words(one.print_min)}, {one.material_g:.0f} g.",
            ),
            cautions=cautions if n == 1 else (),
            sets=ClockSet(kind=ClockKind.PRINT, name=_print_name(one.piece), minutes=one.print_min),
        )
        runs[one.printer] = (n, one.piece)
    for number, piece in runs.values():
        yield _taken_off(number, piece)


def _print_name(piece: str) -> str:
    return f"print of {piece}"


def _taken_off(number: int, piece: str) -> BenchStep:
    return BenchStep(
        id=f"ready/printed-{number}",
        kind=StepKind.WAIT,
        title=f"Take {piece} off the printer",
        items=("Look at it: size, warping, holes. Note how long it really took.",),
        waits_for=(_print_name(piece),),
    )
